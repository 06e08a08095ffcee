"""Learners over a term: groups, a new phone, and the deletion of all that is a learner's."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from typing import Final

from django.contrib.sessions.models import Session
from django.db import transaction
from django.http import Http404

from pacewright.core.plain_text import clean_line
from pacewright.desk.clean_fields import short_name
from pacewright.desk.models import GUEST, LONGEST_NAME, Exercise, Ground, Group, KeptLog, Member
from pacewright.desk.models_class import LONGEST_TITLE
from pacewright.exceptions import ValueComplaint

MOST_GROUPS: Final = 500


def title_of(typed: str, what: str) -> str:
    """The title of a group or an exercise.

    Raises
    ------
    ValueComplaint
        There is none, or it is too long.
    """
    return short_name(typed, LONGEST_TITLE, f"{what} has no name")


def learner_name(typed: str) -> str:
    """The name of a learner.

    Raises
    ------
    ValueComplaint
        There is none, or it is too long.
    """
    return short_name(typed, LONGEST_NAME, "this is not a name")


def new_group(owner: Member, name: str, term: str) -> Group:
    """Keep a new group.

    Raises
    ------
    ValueComplaint
        There is no name, or there are too many groups.
    """
    if owner.groups.count() >= MOST_GROUPS:
        raise ValueComplaint(f"there are {MOST_GROUPS} groups already", "Delete one first")
    return Group.objects.create(
        owner=owner, name=title_of(name, "the group"), term=clean_line(term)[:LONGEST_TITLE]
    )


def group_named(owner: Member, typed: str) -> Group | None:
    """The group whose identity was typed or chosen; None where nothing was.

    Raises
    ------
    Http404
        There is none of theirs.
    """
    if not typed:
        return None
    try:
        identity = uuid.UUID(typed)
    except ValueError:
        raise Http404 from None
    found = owner.groups.filter(pk=identity).first()
    if found is None:
        raise Http404
    return found


def learner_of(owner: Member, identity: uuid.UUID) -> Member:
    """A learner of the desk.

    Raises
    ------
    Http404
        There is none.
    """
    found = Member.objects.filter(pk=identity, role=GUEST).select_related("group").first()
    if found is None or not owner.is_owner:
        raise Http404
    return found


def delete_learner(member: Member) -> int:
    """Delete a learner: logs, cards, walkers, links and sessions; give how many logs went."""
    logs = int(member.logs.count())
    delete_learners([member])
    return logs


def delete_learners(members: Sequence[Member]) -> list[str]:
    """Delete learners with all that is theirs, in one go; give their names."""
    from pacewright.desk.notebook.ground_keeping import throw_ground

    for ground in Ground.objects.filter(owner__in=members):
        throw_ground(ground)
    with transaction.atomic():
        end_sessions(*members)
        for member in members:
            member.delete()
    return [str(member.name) for member in members]


def end_sessions(*members: Member) -> None:
    """End every session of members, so that no browser is let in as them any more."""
    gone = {str(member.pk) for member in members}
    for session in Session.objects.all():
        if session.get_decoded().get("member") in gone:
            session.delete()


def delete_exercise(exercise: Exercise) -> None:
    """Delete an exercise with its cards and the logs written in it."""
    with transaction.atomic():
        KeptLog.objects.filter(entries__exercise=exercise).delete()
        exercise.delete()
