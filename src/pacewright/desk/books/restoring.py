"""Bring a backup back: what is not there is added, what is there stays, what cannot be kept is listed."""

from __future__ import annotations

import uuid
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from django.db import Error, models, transaction

from pacewright.core.plain_text import clean_line
from pacewright.desk.books.backing_up import counted, kinds_of, most_manifest_bytes
from pacewright.desk.books.backup_check import say_skipped
from pacewright.desk.books.backup_records import (
    KINDS,
    Record,
    broken,
    checked_values,
    ground_name,
    is_part_model,
    photo_name,
    related_fields,
    values_of,
)
from pacewright.desk.models import GUEST, OWNER, Edit, Ground, KeptLog, KeptWalker, Member, PagePhoto
from pacewright.desk.notebook.ground_keeping import put_ground_back
from pacewright.desk.notebook.keeping import MOST_GUEST_LOGS
from pacewright.desk.photographs.keeping import AS_SENT, FLAT, put_photo_back
from pacewright.desk.walkers.keeping import MOST_GUEST_WALKERS
from pacewright.exceptions import Complaint, FormatComplaint, OutputComplaint
from pacewright.files.backup_zip import Backup, read_backup

_BATCH: Final = 100
_MOST_TOLD: Final = 10
_CONTRADICTS: Final = FormatComplaint("it contradicts another record", "Give the file that the desk made")
_TWICE: Final = FormatComplaint("it stands in the backup twice", "Give the file that the desk made")


def restore(member: Member, data: bytes) -> list[str]:
    """Add what a backup holds and the desk does not, and say what became of it.

    A record that is there already is never written over, even where it was changed since. One that is not
    as the desk keeps it is skipped and told of; the rest comes back. A guest takes everything back as their
    own; for the owner, what belonged to guests belongs to them again.

    Raises
    ------
    Complaint
        It is no backup, or is damaged; then nothing of it is kept.
    """
    back = _Restoring(member, read_backup(data, most_manifest_bytes(member)))
    try:
        with transaction.atomic():
            return back.run()
    except BaseException:
        back.take_files_away()
        raise


class _Restoring:
    """One restoring: who asks, the backup, which new identity each old one has, and what was added."""

    def __init__(self, member: Member, backup: Backup) -> None:
        self.member, self.backup = member, backup
        self.identities: dict[tuple[type[models.Model], Any], Any] = {}
        self.new: set[Any] = set()
        self.added: Counter[str] = Counter()
        self.there: Counter[str] = Counter()
        self.skipped: list[tuple[str, Any, Complaint]] = []
        self.said: list[str] = []
        self.demos: dict[Any, Any] = {}
        self.written: list[Path] = []
        logs, walkers = (0, 0) if member.is_owner else (member.logs.count(), member.walkers.count())
        self.room = {KeptLog: MOST_GUEST_LOGS - logs, KeptWalker: MOST_GUEST_WALKERS - walkers}

    def run(self) -> list[str]:
        """Add everything, in the order in which one record may name another."""
        groups_of_new = self._members()
        for kind in kinds_of(self.member):
            records = self._records(kind)
            for at in range(0, len(records), _BATCH):
                self._batch(kind, records[at : at + _BATCH])
        for guest, group in groups_of_new:
            guest.group_id = self.identities.get((KINDS["groups"], group))
            guest.save(update_fields=["group"])
        return self._told()

    def take_files_away(self) -> None:
        """Remove the files of a restoring that came to nothing."""
        for path in self.written:
            path.unlink(missing_ok=True)

    def _records(self, kind: str) -> list[Any]:
        found = self.backup.manifest.get(kind, [])
        if isinstance(found, list):
            return found
        self.skipped.append((kind, None, FormatComplaint("they are no list", "Give another backup")))
        return []

    def _members(self) -> list[tuple[Member, Any]]:
        """Find who the members of the backup are here; a guest who is not known is added by the owner."""
        new = []
        for record in self._records("members"):
            try:
                values = values_of(Member, record)
            except Complaint as complaint:
                self.skipped.append(("members", record, complaint))
                continue
            identity, group = values.get("id"), values.pop("group_id", None)
            here = self.member
            if self.member.is_owner and values.get("role") != OWNER:
                known = Member.objects.filter(pk=identity).first()
                here = known or self._new_guest(values)
                if known is None:
                    new.append((here, group))
            self.identities[Member, identity] = here.pk
        return new

    def _new_guest(self, values: Record) -> Member:
        guest = Member.objects.create(**{**values, "role": GUEST})
        if "joined_at" in values:
            Member.objects.filter(pk=guest.pk).update(joined_at=values["joined_at"])
        return guest

    def _batch(self, kind: str, records: list[Any]) -> None:
        """Add some records of a kind; where the database refuses them together, one by one."""
        model = KINDS[kind]
        made: list[tuple[models.Model, Any]] = []
        for record in records:
            try:
                one = self._made(kind, model, record)
            except Complaint as complaint:
                self.skipped.append((kind, record, complaint))
                continue
            if one is not None:
                made.append((one, record))
        if self._create(model, [one for one, _ in made]):
            self.added[kind] += len(made)
            return
        for one, record in made:
            if self._create(model, [one]):
                self.added[kind] += 1
            else:
                self.new.discard(one.pk)
                self._forget(one.pk)
                self.skipped.append((kind, record, _CONTRADICTS))

    def _create(self, model: type[models.Model], made: list[models.Model]) -> bool:
        moments = [
            field.attname
            for field in model._meta.concrete_fields
            if getattr(field, "auto_now", False) or getattr(field, "auto_now_add", False)
        ]
        stated = [{name: getattr(one, name) for name in moments} for one in made]
        try:
            with transaction.atomic():
                model._default_manager.bulk_create(made)
                # Making a record sets its moments to now: they are put back to what they were.
                for one, at in zip(made, stated, strict=True):
                    for name, moment in at.items():
                        if moment is not None:
                            setattr(one, name, moment)
                if moments and made:
                    model._default_manager.bulk_update(made, moments)
        except (Error, OverflowError):
            for one, at in zip(made, stated, strict=True):
                for name, moment in at.items():
                    setattr(one, name, moment)
            return False
        return True

    def _made(self, kind: str, model: type[models.Model], record: Any) -> models.Model | None:
        """The record to be added; None where it is there, or belongs to one that is."""
        if is_part_model(model):
            values = values_of(model, record)
            if not self._belongs_to_new(model, values):
                return None
            values = checked_values(model, record)
            self._point_to_new(model, values)
            return model(**values)
        values = checked_values(model, record)
        identity = values["id"]
        values["id"] = self._identity(model, identity)
        if values["id"] in self.new:
            raise _TWICE
        if model._default_manager.filter(pk=values["id"]).exists():
            self.identities[model, identity] = values["id"]
            self.there[kind] += 1
            return None
        self._point_to_new(model, values)
        if (
            model is Ground and values.get("is_demo") and not self._is_first_demo(identity, values)
        ) or self._clashes(model, values):
            self.there[kind] += 1
            return None
        return self._with_files(model, identity, values, record)

    def _is_first_demo(self, identity: Any, values: Record) -> bool:
        """Whether an owner has no land of the demo yet; one that has it keeps it, and logs lie on it."""
        owner = values["owner_id"]
        known = Ground.objects.filter(owner_id=owner, is_demo=True).first()
        here = self.demos.setdefault(owner, known.pk if known is not None else values["id"])
        self.identities[Ground, identity] = here
        return bool(here == values["id"])

    def _forget(self, here: Any) -> None:
        """Let what names a record that does not come in name none."""
        self.identities = {key: one for key, one in self.identities.items() if one != here}

    def _identity(self, model: type[models.Model], identity: Any) -> Any:
        """The identity a record gets here: its own, unless that is another member's."""
        taken = model._default_manager.filter(pk=identity).first()
        of_another = taken is not None and getattr(taken, "owner_id", self.member.pk) not in self._mine()
        return uuid.uuid5(self.member.pk, str(identity)) if of_another else identity

    def _mine(self) -> set[Any]:
        mine = {self.member.pk}
        if self.member.is_owner:
            mine |= {here for (model, _), here in self.identities.items() if model is Member}
        return mine

    def _belongs_to_new(self, model: type[models.Model], values: Record) -> bool:
        """Whether the log of a change, or the walker of a state, was added just now."""
        part_of = "log_id" if model is Edit else "walker_id"
        whole = KeptLog if model is Edit else KeptWalker
        return self.identities.get((whole, values.get(part_of))) in self.new

    def _point_to_new(self, model: type[models.Model], values: Record) -> None:
        """Put the identities of this desk in the place of those in the backup."""
        for field in related_fields(model):
            old = values.get(field.attname)
            here = self.identities.get((field.related_model, old))
            if here is None and field.related_model is Member:
                here = self.member.pk
            if here is None and not field.null:
                raise broken(model, field.attname)
            values[field.attname] = here

    def _clashes(self, model: type[models.Model], values: Record) -> bool:
        """Whether another record stands where only one may."""
        for constraint in model._meta.constraints:
            names = getattr(constraint, "fields", ())
            fields = [model._meta.get_field(name).attname for name in names]
            if (
                fields
                and model._default_manager.filter(**{name: values.get(name) for name in fields}).exists()
            ):
                return True
        return False

    def _with_files(
        self, model: type[models.Model], identity: Any, values: Record, record: Mapping[str, Any]
    ) -> models.Model | None:
        if not self.member.is_owner and model in self.room:
            self._take_room(model)
        if model is KeptLog and record.get("came_as") is not None:
            name = record["came_as"]
            if not isinstance(name, str) or name not in self.backup.files:
                raise broken(model, "came_as")
            values["came_as"] = self.backup.files[name]
        if model is Ground and not values.get("is_demo") and not self._ground(values, str(identity)):
            return None
        if model is PagePhoto and not self._photo(values, str(identity)):
            return None
        self.identities[model, identity] = values["id"]
        self.new.add(values["id"])
        return model(**values)

    def _take_room(self, model: type[models.Model]) -> None:
        if self.room[model] <= 0:
            raise OutputComplaint(
                f"a guest of this desk keeps at most {MOST_GUEST_LOGS} logs and {MOST_GUEST_WALKERS} walkers",
                "Delete some for good, under Books",
            )
        self.room[model] -= 1

    def _photo(self, values: Record, old: str) -> bool:
        """Put the pictures of a page in their place; tell whether there is one."""
        held = 0
        for kind in (FLAT, AS_SENT):
            data = self.backup.files.get(photo_name(old, kind))
            if data is None:
                continue
            path = put_photo_back(values["id"], kind, data)
            if path is not None:
                self.written.append(path)
                held += len(data)
        values["kept_bytes"] = held
        if not held:
            self.said.append(f"The photograph {values.get('name', '')} is not in this backup.")
        return bool(held)

    def _ground(self, values: Record, old: str) -> bool:
        """Put a terrain file in its place; tell whether it could be."""
        data = self.backup.files.get(ground_name(old))
        name = values.get("name", "")
        if not self.member.is_owner:
            self.said.append(f"The ground {name} was left out: only the owner of the desk brings one in.")
            return False
        if data is None:
            self.said.append(f"The ground {name} is not in this backup. Hand its file in again.")
            return False
        try:
            path = put_ground_back(values["id"], data)
        except Complaint as complaint:
            self.said.append(f"The ground {name} was not taken: {complaint.sentence}")
            return False
        if path is not None:
            self.written.append(path)
        return True

    def _told(self) -> list[str]:
        added, there = counted(self.added), counted(self.there)
        said = [f"Added: {added}." if added else "Nothing was added: all of it is here."]
        if there:
            said.append(f"Here already, and left as they stand: {there}.")
        said += [f"Skipped. {sentence}" for sentence in say_skipped(self.skipped)]
        missing = self.backup.manifest.get("left_out")
        if isinstance(missing, list):
            said += [f"Not in this backup: {clean_line(str(one))[:300]}" for one in missing[:_MOST_TOLD]]
        return [*said, *self.said]
