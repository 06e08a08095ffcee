"""Everything a member keeps as one file: what other programs can read, and what brings it all back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.conf import settings
from django.db import transaction

from pacewright.core.plain_text import slug
from pacewright.desk.books.backup_check import find_faults
from pacewright.desk.books.backup_records import (
    COUNTED,
    KINDS,
    OF_A_GUEST,
    ground_name,
    photo_name,
    record_of,
)
from pacewright.desk.models import Edit, Entry, Ground, KeptLog, KeptWalker, Member, PagePhoto, WalkerPast
from pacewright.desk.notebook.ground_keeping import ground_bytes
from pacewright.desk.notebook.log_files import log_csv, typed_csv
from pacewright.desk.photographs.keeping import AS_SENT, FLAT, photo_bytes
from pacewright.exceptions import Complaint, OutputComplaint
from pacewright.files.backup_zip import (
    MOST_GUEST_MANIFEST_BYTES,
    MOST_MANIFEST_BYTES,
    Draft,
    read_backup,
)

MOST_GROUND_BYTES: Final = 40_000_000
"""Of all grounds together: a backup must not be larger than what can be handed in again."""
MOST_PHOTO_BYTES: Final = 16_000_000
"""Of all photographs of pages together; what has no room is left out, its page laid flat last."""
MOST_LOG_BYTES: Final = 200_000_000
"""Of all logs as they came in: a desk that holds more keeps the logs themselves, not their old layout."""
_FORM_BYTES: Final = 10_000
"""What a form that hands a file in adds to it."""
_CHUNK: Final = 50


@dataclass(frozen=True, slots=True)
class Inventory:
    """What a backup holds: how many of each kind in words, and the grounds too large to go in."""

    said: str
    grounds_left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MadeBackup:
    """A backup that was made and read back.

    Attributes
    ----------
    data
        The file.
    left_out
        Sentences: what had no room in it.
    faults
        Sentences: which records a restore would skip, and why.
    """

    data: bytes
    left_out: tuple[str, ...]
    faults: tuple[str, ...]


def inventory(member: Member) -> Inventory:
    """What a member's backup would hold."""
    kinds = {kind: held_by(member, kind).count() for kind in kinds_of(member)}
    _, left_out = _grounds_that_fit(member)
    return Inventory(counted(kinds) or "nothing yet", tuple(left_out))


def kinds_of(member: Member) -> tuple[str, ...]:
    """The kinds of record that a member's backup holds: a guest has nothing of the class."""
    return tuple(KINDS) if member.is_owner else OF_A_GUEST


def held_by(member: Member, kind: str) -> Any:
    """The records of a kind that a member may put away: the owner those of the whole desk."""
    model = KINDS[kind]
    if member.is_owner:
        return model._default_manager.all().order_by("pk")
    through = {Edit: "log__owner", WalkerPast: "walker__owner", Entry: "member"}.get(model, "owner")
    return model._default_manager.filter(**{through: member}).order_by("pk")


def most_manifest_bytes(member: Member) -> int:
    """How large the records of a member's backup may be together."""
    return MOST_MANIFEST_BYTES if member.is_owner else MOST_GUEST_MANIFEST_BYTES


def backup_of(member: Member) -> MadeBackup:
    """Everything of a member's, of an owner's the whole desk, read back as a restore would.

    Raises
    ------
    OutputComplaint
        It is more than can be handed in again, or it cannot be read back.
    """
    left_out: list[str] = []
    with Draft(most_manifest_bytes(member)) as draft, transaction.atomic():
        for one in _members(member):
            _put(draft, "members", record_of(one))
        for kind in kinds_of(member):
            if kind == "logs":
                left_out += _add_logs(member, draft)
            elif kind != "edits":
                for record in _records(member, kind):
                    _put(draft, kind, record_of(record))
        _add_walkers(member, draft)
        left_out += _add_grounds(member, draft)
        left_out += _add_photos(member, draft)
        # Last, for it can be done without first: the steps that undo would take back.
        left_out += _add_edits(member, draft)
        data = draft.finish(left_out=left_out)
    if len(data) > settings.MOST_FILE_BYTES - _FORM_BYTES:
        raise _too_much()
    return MadeBackup(data, tuple(left_out), _read_back(member, data))


def _read_back(member: Member, data: bytes) -> tuple[str, ...]:
    try:
        return find_faults(read_backup(data, most_manifest_bytes(member)), kinds_of(member))
    except Complaint as complaint:
        raise OutputComplaint(
            f"the backup was made, and cannot be read back: {complaint.what}",
            "Copy the data folder itself while the desk is closed, and report this",
        ) from None


def _records(member: Member, kind: str) -> Iterator[Any]:
    """Read by portions that end with their query: PostgreSQL's cursor, left open by a backup that is refused
    half-way, would be closed whenever the interpreter gets to it, amid somebody else's transaction."""
    asked = held_by(member, kind)
    portion = list(asked[:_CHUNK])
    while portion:
        yield from portion
        portion = list(asked.filter(pk__gt=portion[-1].pk)[:_CHUNK])


def _put(draft: Draft, kind: str, record: Mapping[str, Any]) -> None:
    if not draft.add_record(kind, record):
        raise _too_much()


def _too_much() -> OutputComplaint:
    return OutputComplaint(
        "there is more here than one backup can bring back",
        "Copy the data folder itself while the desk is closed",
    )


def _members(member: Member) -> Iterable[Member]:
    return Member.objects.order_by("joined_at", "pk") if member.is_owner else [member]


def _add_logs(member: Member, draft: Draft) -> list[str]:
    """Put each log in as the CSV that the commands read, and say in its record which file it came as."""
    without: list[str] = []
    logs: Iterable[KeptLog] = _records(member, "logs")
    for number, log in enumerate(logs, start=1):
        record = record_of(log)
        name = f"logs/{number:04d}-{slug(log.title)}"
        came_as = None if log.came_as is None else bytes(log.came_as)
        written = log_csv(log)
        if came_as is None:
            is_in = draft.add_file(f"{name}.csv", written)
        elif came_as == written:
            is_in = draft.add_file(f"{name}.csv", written, MOST_LOG_BYTES)
            record["came_as"] = f"{name}.csv"
        else:
            is_in = draft.add_file(f"{name}.came-as.csv", came_as, MOST_LOG_BYTES)
            record["came_as"] = f"{name}.came-as.csv"
            draft.add_file(f"{name}.csv", written if is_in else typed_csv(log))
        if came_as is not None and not is_in:
            del record["came_as"]
            without.append(log.title)
            if came_as == written:
                draft.add_file(f"{name}.csv", typed_csv(log))
        _put(draft, "logs", record)
    if not without:
        return []
    logs_said = "1 log" if len(without) == 1 else f"{len(without)} logs"
    return [f"The files that {logs_said} came in as, {_few(without)}; the logs themselves are in it."]


def _few(names: list[str]) -> str:
    shown = ", ".join(name or "without a title" for name in names[:5])
    return shown + (f" and {len(names) - 5} more" if len(names) > 5 else "")


def _add_walkers(member: Member, draft: Draft) -> None:
    walkers: Iterable[KeptWalker] = _records(member, "walkers")
    for number, walker in enumerate(walkers, start=1):
        name = f"walkers/{number:03d}-{slug(walker.name, 'walker')}"
        draft.add_file(f"{name}.toml", walker.toml.encode("utf-8"))
        if walker.trials_csv:
            draft.add_file(f"{name}.trials.csv", walker.trials_csv.encode("utf-8"))


def _add_edits(member: Member, draft: Draft) -> list[str]:
    for edit in _records(member, "edits"):
        if not draft.add_record("edits", record_of(edit)):
            draft.drop_records("edits")
            return ["The steps that undo would take back; every log is in it as it stands now."]
    return []


def _grounds_that_fit(member: Member) -> tuple[list[Ground], list[str]]:
    """The grounds whose files go in, and the names of those that are too large together."""
    fit: list[Ground] = []
    left_out: list[str] = []
    room = MOST_GROUND_BYTES
    grounds: Iterable[Ground] = held_by(member, "grounds")
    for ground in grounds:
        data = ground_bytes(ground)
        if data is None:
            continue
        if len(data) > room:
            left_out.append(ground.name)
            continue
        room -= len(data)
        fit.append(ground)
    return fit, left_out


def _add_grounds(member: Member, draft: Draft) -> list[str]:
    fit, left_out = _grounds_that_fit(member)
    for ground in fit:
        data = ground_bytes(ground)
        if data is None or not draft.add_file(ground_name(str(ground.pk)), data):
            left_out.append(ground.name)
    return [f"Grounds that are too large: {_few(left_out)}. Keep their files yourself."] if left_out else []


def _add_photos(member: Member, draft: Draft) -> list[str]:
    """Put the pages laid flat in, then the photographs as they were sent, as far as there is room."""
    room, left_out = MOST_PHOTO_BYTES, 0
    for kind in (FLAT, AS_SENT):
        photos: Iterable[PagePhoto] = _records(member, "photographs")
        for photo in photos:
            data = photo_bytes(photo, kind)
            if data is None:
                continue
            if len(data) > room or not draft.add_file(photo_name(str(photo.pk), kind), data):
                left_out += 1
                continue
            room -= len(data)
    if not left_out:
        return []
    pictures = "1 picture" if left_out == 1 else f"{left_out} pictures"
    return [f"Of photographed pages {pictures}: keep the photographs yourself; all rows are in it."]


def counted(kinds: Mapping[str, int]) -> str:
    """Write how many of each kind.

    >>> counted({"logs": 2, "edits": 9, "walkers": 1})
    '2 logs, 1 walker'
    """
    told = [(count, COUNTED[kind]) for kind, count in kinds.items() if kind in COUNTED and count]
    return ", ".join(f"{count} {one if count == 1 else many}" for count, (one, many) in told)
