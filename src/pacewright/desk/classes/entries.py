"""Take a card, write down how the walk ended, hand in; and the class as it stands at this moment."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final

from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils import timezone

from pacewright.core.plain_text import clean_line
from pacewright.core.plausible import MINUTES, TAPED_M, TYPED
from pacewright.course.card_heading import card_heading
from pacewright.course.course import Card, Course
from pacewright.desk.classes.courses import course_of
from pacewright.desk.classes.handing_in import changed_since
from pacewright.desk.classes.members import learner_name
from pacewright.desk.classes.out import Whereabouts, whereabouts
from pacewright.desk.classes.told_apart import told_apart
from pacewright.desk.models import Entry, Exercise, KeptLog, Member
from pacewright.desk.notebook.keeping import new_log
from pacewright.desk.notebook.page_changes import CELLS, PageState
from pacewright.desk.photographs.reading import is_from_paper
from pacewright.desk.serving.access import new_guest
from pacewright.desk.walkers.keeping import change_walker, new_walker
from pacewright.exceptions import MissingComplaint, ValueComplaint

LONGEST_NUMBER: Final = 20
LONGEST_WORD: Final = 80
FINISH_NUMBERS: Final = ("along_m", "off_m", "minutes")
PACE_COUNTS: Final = (30.0, 200.0)
"""Paces to 100 m that anybody walks; outside stands a count of single steps, or a slip."""


@dataclass(frozen=True, slots=True)
class LiveRow:
    """One learner of an exercise as things stand.

    Attributes
    ----------
    entry, name, card
        Who, and which card.
    start, minute
        Where and when the card starts.
    rows
        Rows typed that are not struck out.
    changed_at
        When the log was last changed; None where nothing was typed.
    is_late
        True where it was changed after it was handed in, by revision.
    where
        Out since when, back, or overdue.
    from_paper
        Whether rows of its log were read from a photographed card.
    """

    entry: Entry
    name: str
    card: int
    start: str
    minute: str
    rows: int
    changed_at: datetime | None
    is_late: bool
    where: Whereabouts
    from_paper: bool


def live_rows(exercise: Exercise) -> list[LiveRow]:
    """Every learner of an exercise, by the number of the card."""
    course, now = course_of(exercise.course), timezone.now()
    cards = {card.number: card for card in course.cards}
    found = exercise.entries.select_related("member", "log__walker").annotate(
        typed_at=Max("log__edits__at"), from_paper=is_from_paper()
    )
    entries = list(found.order_by("card"))
    names = told_apart(entry.member for entry in entries)
    return [
        _live(entry, names[entry.member_id], cards.get(entry.card), whereabouts(entry, course, now))
        for entry in entries
    ]


def _live(entry: Any, name: str, card: Card | None, where: Whereabouts) -> LiveRow:
    rows = [] if entry.log is None else [row for row in entry.log.rows if not row["struck"]]
    return LiveRow(
        entry=entry,
        name=name,
        card=entry.card,
        start=card.start if card else "",
        minute=f"{card.start_minute:g}" if card else "",
        rows=sum(1 for row in rows if any(row[name].strip() for name in CELLS)),
        changed_at=entry.typed_at,
        is_late=bool(changed_since(entry)),
        where=where,
        from_paper=entry.from_paper,
    )


def next_free_card(exercise: Exercise) -> int | None:
    """The lowest card that nobody has, or None where all are taken."""
    taken = set(exercise.entries.values_list("card", flat=True))
    return next((c.number for c in course_of(exercise.course).cards if c.number not in taken), None)


def take_card(member: Member, exercise: Exercise, number: int) -> Entry:
    """A learner's entry with this card, made unless the learner has one in the exercise already.

    Raises
    ------
    ValueComplaint
        The exercise is closed, the card is taken, or the learner is still out with another.
    MissingComplaint
        The course has no such card.
    """
    with transaction.atomic():
        had = Entry.objects.filter(exercise=exercise, member=member).first()
        if had is not None:
            return had
        if not exercise.is_open:
            raise ValueComplaint(f"{exercise.title} is closed", "Ask the instructor to open it again")
        out = _open_entry(member)
        if out is not None:
            raise ValueComplaint(
                f"you still have card {out.card} of {out.exercise.title}", "Hand it in, then take another"
            )
        return _new_entry(member, exercise, number)


def _open_entry(member: Member) -> Entry | None:
    found = Entry.objects.filter(member=member, exercise__is_open=True, handed_at__isnull=True)
    return found.select_related("exercise").first()


def _new_entry(member: Member, exercise: Exercise, number: int) -> Entry:
    course = course_of(exercise.course)
    card = course.card(number)
    taken = ValueComplaint(
        f"card {number} is taken already", "Look at the number on the paper card, and tell the instructor"
    )
    if Entry.objects.filter(exercise=exercise, card=number).exists():
        raise taken
    if member.group_id is None and exercise.group_id is not None:
        Member.objects.filter(pk=member.pk).update(group_id=exercise.group_id)
    try:
        with transaction.atomic():
            log = new_log(member, _first_page(member, exercise, course, card), member.walkers.first())
            return Entry.objects.create(exercise=exercise, member=member, card=number, log=log)
    except IntegrityError:
        # Two who asked for one card at the same moment: the database lets one of them have it.
        raise taken from None


def _first_page(member: Member, exercise: Exercise, course: Course, card: Card) -> PageState:
    heading = [
        f"title: {exercise.title}, card {card.number}",
        f"walker: {member.name}",
        f"date: {timezone.localdate().isoformat()}",
        *card_heading(course, card),
    ]
    return PageState("\n".join(heading), ())


def written_log(entry: Entry) -> KeptLog:
    """The log of an entry; a new one where it was deleted."""
    if entry.log is None:
        course = course_of(entry.exercise.course)
        page = _first_page(entry.member, entry.exercise, course, course.card(entry.card))
        entry.log = new_log(entry.member, page, entry.member.walkers.first())
        entry.save(update_fields=["log"])
    return entry.log


def add_on_paper(exercise: Exercise, typed_name: str, number: int) -> Entry:
    """The entry of a learner who hands in paper: one of the group by that name, or a new one.

    Raises
    ------
    Complaint
        There is no name, or the card is not to be had.
    """
    name = learner_name(typed_name)
    with transaction.atomic():
        member = _of_the_group(exercise, name)
        if member is None:
            member = new_guest(name)
            Member.objects.filter(pk=member.pk).update(group_id=exercise.group_id)
            member.refresh_from_db()
        return _new_entry(member, exercise, number)


def _of_the_group(exercise: Exercise, name: str) -> Member | None:
    """The one member of the group who bears this name and has no card yet."""
    if exercise.group is None:
        return None
    without = exercise.group.members.exclude(entries__exercise=exercise)
    found = [member for member in without if member.name.casefold() == name.casefold()]
    return found[0] if len(found) == 1 else None


def write_finish(entry: Entry, form: Mapping[str, Any]) -> None:
    """Keep what was typed of how a walk ended, as typed; what cannot be kept does not hold up the rest.

    Raises
    ------
    ValueComplaint
        A cell is longer than any number or word of this course, or names a post that it does not have.
    """
    course = course_of(entry.exercise.course)
    words = [f"word_{leg}" for leg in proved_posts(course, course.card(entry.card)).values()]
    names = ("ends_at", *FINISH_NUMBERS, *words)
    refused = keep_cells(entry, {name: str(form.get(name, "")) for name in names})
    for complaint in refused.values():
        raise complaint


def keep_cells(
    entry: Entry, typed: Mapping[str, Any], *, is_draft: bool = False
) -> dict[str, ValueComplaint]:
    """Keep cells of the finish, and the pace count as far as it is typed.

    Parameters
    ----------
    entry
        Of the learner; brought up to date.
    typed
        By the name of the cell: `ends_at`, `along_m`, `off_m`, `minutes`, `pace_count`, or `word_` with the
        leg that ends there.
    is_draft
        True for what is kept while it is typed: only until the card is handed in.

    Returns
    -------
    dict
        Why a cell could not be kept, by its name.

    Raises
    ------
    ValueComplaint
        A draft, and the card was handed in.
    """
    course = course_of(entry.exercise.course)
    posts = {f"word_{leg}": name for name, leg in proved_posts(course, course.card(entry.card)).items()}
    refused = {}
    with transaction.atomic():
        now = Entry.objects.select_for_update().get(pk=entry.pk)
        if is_draft and now.handed_at is not None:
            raise ValueComplaint("this was handed in", "Ask the instructor to open it again")
        for name, text in typed.items():
            try:
                _keep_cell(now, course, posts, name, str(text))
            except ValueComplaint as complaint:
                refused[name] = complaint
        now.save(update_fields=["ends_at", *FINISH_NUMBERS, "words", "pace_typed"])
    entry.refresh_from_db()
    return refused


def _keep_cell(entry: Entry, course: Course, posts: Mapping[str, str], name: str, text: str) -> None:
    if name == "ends_at":
        ends_at = text.strip()
        if ends_at and all(post.name != ends_at for post in course.posts):
            raise ValueComplaint(f"the course has no post called {ends_at[:60]}", "Choose one from the list")
        entry.ends_at = ends_at
    elif name in FINISH_NUMBERS:
        setattr(entry, name, _short(text, LONGEST_NUMBER))
    elif name == "pace_count":
        entry.pace_typed = _short(text, LONGEST_NUMBER)
    elif name in posts:
        others = {post: word for post, word in entry.words.items() if post != posts[name]}
        word = _short(text, LONGEST_WORD)
        entry.words = {**others, posts[name]: word} if word else others
    else:
        raise ValueComplaint(f"this card has no {name[:40]}", "Load the page again")


def _short(typed: str, most: int) -> str:
    text = clean_line(typed)
    if len(text) > most:
        raise ValueComplaint(f"{text[:most]}... is too long", f"Write at most {most} letters")
    return text


def proved_posts(course: Course, card: Card) -> dict[str, int]:
    """The posts of a card where a word is to be copied, each with the leg that first ends there."""
    found: dict[str, int] = {}
    if course.kind == "posts":
        names = [*(leg.ends for leg in card.legs[:-1]), card.ends]
        for leg, name in enumerate(names, start=1):
            if name and course.post(name).word:
                found.setdefault(name, leg)
    return found


def finish_doubts(entry: Entry) -> list[str]:
    """Say what of the finish is not understood; it stands as typed, and counts for nothing until it is."""
    told = {"along_m": entry.along_m, "off_m": entry.off_m, "minutes": entry.minutes}
    names = {"along_m": "metres along", "off_m": "metres off", "minutes": "minutes"}
    doubts = [
        f"{text} is not a number of {names[name]}."
        for name, text in told.items()
        if text and not _is_plausible(name, typed_number(text))
    ]
    if bool(entry.along_m) != bool(entry.off_m):
        doubts.append("Of a taped place both numbers are needed: metres along and metres off.")
    return doubts


def _is_plausible(name: str, value: float | None) -> bool:
    return value is not None and (MINUTES if name == "minutes" else TAPED_M).holds(value)


def typed_number(text: str) -> float | None:
    """The number that was typed, or None where it is none; a decimal comma is read as well."""
    try:
        value = float(text.strip().replace(",", ".").replace("\u2212", "-"))
    except ValueError:
        return None
    return value if TYPED.holds(value) else None


def write_pace_count(entry: Entry, typed: str) -> None:
    """Keep the learner's own pace count, in paces to 100 m, and let the log stand in it.

    Raises
    ------
    Complaint
        It is none; what was typed stays to be mended.
    """
    from pacewright.files.walker_toml import write_walker

    value = typed_number(typed)
    least, most = PACE_COUNTS
    if value is None or not least <= value <= most:
        keep_cells(entry, {"pace_count": typed})
        raise ValueComplaint(
            f"{typed.strip()[:20] or 'nothing'} is not a pace count",
            f"Write how many paces (double steps) you walk in 100 m, from {least:g} to {most:g}",
        )
    log = written_log(entry)
    with transaction.atomic():
        kept = log.walker or entry.member.walkers.first()
        walker = replace(_walker_so_far(entry, kept), per_100_m=value)
        toml = write_walker(walker).decode("utf-8")
        if kept is None:
            kept = new_walker(entry.member, toml)
        else:
            change_walker(kept.pk, "pace count told with a card", toml=toml)
        KeptLog.objects.filter(pk=log.pk).update(walker=kept)
        Entry.objects.filter(pk=entry.pk).update(pace_typed="")


def _walker_so_far(entry: Entry, kept: Any) -> Any:
    from pacewright.core.pace.walker import Walker
    from pacewright.desk.walkers.keeping import walker_in

    return Walker(name=entry.member.name) if kept is None else walker_in(kept)


def asked_card(typed: str) -> int:
    """The number of a card that was typed.

    Raises
    ------
    MissingComplaint
        It is none.
    """
    bare = typed.strip()
    if not (bare.isdecimal() and len(bare) < 6):
        raise MissingComplaint("there is no number of a card", "Write the number that stands on the card")
    return int(bare)
