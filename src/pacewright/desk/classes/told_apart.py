"""Two learners of one name are told apart the same way on every page: whoever joined later bears a number."""

from __future__ import annotations

import uuid
from collections import Counter
from collections.abc import Iterable

from pacewright.desk.models import GUEST, Member


def told_apart(members: Iterable[Member]) -> dict[uuid.UUID, str]:
    """The name each learner is shown by, by identity: `Tam Rook`, and `Tam Rook (2)` who came later.

    Parameters
    ----------
    members
        Of the page; all learners of the desk who share a name with one of them count.
    """
    asked = list(members)
    sharing = Member.objects.filter(name__in={one.name for one in asked}, role=GUEST)
    met: Counter[str] = Counter()
    shown: dict[uuid.UUID, str] = {one.pk: one.name for one in asked}
    for pk, name in sharing.order_by("joined_at", "pk").values_list("pk", "name"):
        met[name] += 1
        if pk in shown and met[name] > 1:
            shown[pk] = f"{name} ({met[name]})"
    return shown


def with_shown(members: Iterable[Member]) -> list[Member]:
    """Members for a page, each with the name it is shown by as `shown`."""
    found = list(members)
    names = told_apart(found)
    for one in found:
        one.shown = names[one.pk]
    return found
