"""Everything a member keeps as one file: what other programs can read, and what brings it all back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from django.conf import settings
from django.db import transaction

from pacewright.desk.backup_records import KINDS, OF_A_GUEST, Record, record_of
from pacewright.desk.file_names import slug
from pacewright.desk.ground_keeping import ground_bytes
from pacewright.desk.log_files import log_csv
from pacewright.desk.models import (
    Edit,
    Entry,
    Ground,
    KeptWalker,
    Member,
    WalkerPast,
)
from pacewright.exceptions import OutputComplaint
from pacewright.files.backup_zip import MOST_MANIFEST_BYTES, manifest_bytes, write_backup

MOST_GROUND_BYTES: Final = 40_000_000
"""Of all grounds together: a backup must not be larger than what can be handed in again."""


@dataclass(frozen=True, slots=True)
class Inventory:
    """What a backup holds: how many of each kind in words, and the grounds too large to go in."""

    said: str
    grounds_left_out: tuple[str, ...]


def inventory(member: Member) -> Inventory:
    """Give what a member's backup would hold."""
    kinds = [kind for kind in kinds_of(member) for _ in range(held_by(member, kind).count())]
    _, left_out = _ground_files(member)
    return Inventory(counted(kinds) or "nothing yet", tuple(left_out))


_COUNTED: Final = {
    "logs": "logs",
    "walkers": "walkers",
    "grounds": "grounds",
    "courses": "courses",
    "exercises": "exercises",
    "entries": "cards of learners",
}


def kinds_of(member: Member) -> tuple[str, ...]:
    """Give the kinds of record that a member's backup holds: a guest has nothing of the class."""
    return tuple(KINDS) if member.is_owner else OF_A_GUEST


def held_by(member: Member, kind: str) -> Any:
    """Give the records of a kind that a member may put away: the owner those of the whole desk."""
    model = KINDS[kind]
    if member.is_owner:
        return model._default_manager.all().order_by("pk")
    through = {Edit: "log__owner", WalkerPast: "walker__owner", Entry: "member"}.get(model, "owner")
    return model._default_manager.filter(**{through: member}).order_by("pk")


def backup_of(member: Member) -> bytes:
    """Give everything of a member's, of an owner's the whole desk, as the bytes of a zip.

    Raises
    ------
    OutputComplaint
        It is more than can be handed in again.
    """
    with transaction.atomic():
        manifest: dict[str, Any] = {"members": [record_of(one) for one in _members(member)]}
        files: dict[str, bytes] = {}
        for kind in kinds_of(member):
            manifest[kind] = [record_of(one) for one in held_by(member, kind)]
        _add_logs(member, manifest["logs"], files)
        _add_walkers(member, files)
    grounds, _ = _ground_files(member)
    files |= grounds
    if len(manifest_bytes(manifest)) > MOST_MANIFEST_BYTES:
        # What can be done without first: the steps that undo would take back.
        manifest["edits"] = []
    data = write_backup(manifest, files)
    if len(data) > settings.MOST_FILE_BYTES or len(manifest_bytes(manifest)) > MOST_MANIFEST_BYTES:
        raise OutputComplaint(
            "the desk holds more than one backup can bring back",
            "Copy the data folder itself while the desk is closed",
        )
    return data


def _members(member: Member) -> Iterable[Member]:
    return Member.objects.order_by("joined_at", "pk") if member.is_owner else [member]


def _add_logs(member: Member, records: list[Record], files: dict[str, bytes]) -> None:
    """Put each log in as the CSV that the commands read, and say in its record which file it came as."""
    logs = {str(log.pk): log for log in held_by(member, "logs")}
    for number, record in enumerate(records, start=1):
        log = logs[record["id"]]
        name = f"logs/{number:04d}-{slug(log.title)}"
        files[f"{name}.csv"] = log_csv(log)
        if log.came_as is not None:
            came_as = bytes(log.came_as)
            is_same = came_as == files[f"{name}.csv"]
            record["came_as"] = f"{name}.csv" if is_same else f"{name}.came-as.csv"
            files[record["came_as"]] = came_as


def _add_walkers(member: Member, files: dict[str, bytes]) -> None:
    walkers: Iterable[KeptWalker] = held_by(member, "walkers")
    for number, walker in enumerate(walkers, start=1):
        name = f"walkers/{number:03d}-{slug(walker.name, 'walker')}"
        files[f"{name}.toml"] = walker.toml.encode("utf-8")
        if walker.trials_csv:
            files[f"{name}.trials.csv"] = walker.trials_csv.encode("utf-8")


def _ground_files(member: Member) -> tuple[dict[str, bytes], list[str]]:
    """Give the terrain files that go in, and the names of those that are too large together."""
    files: dict[str, bytes] = {}
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
        files[ground_name(str(ground.pk))] = data
    return files, left_out


def ground_name(identity: str) -> str:
    """Give the name of a terrain file in a backup."""
    return f"grounds/{identity}.tif"


def counted(kinds: Iterable[str]) -> str:
    """Write how many of each kind.

    >>> counted(["logs", "logs", "walkers"])
    '2 logs, 1 walker'
    """
    said = []
    for kind, count in Counter(kinds).items():
        words = _COUNTED.get(kind)
        if words is not None:
            said.append(f"{count} {words if count != 1 else _ONE[words]}")
    return ", ".join(said)


_ONE: Final = {words: words.replace("cards", "card").removesuffix("s") for words in _COUNTED.values()}
_ONE["cards of learners"] = "card of a learner"
