"""Bring a backup back: what is not there is added, what is there stays as it is, and it is all or nothing."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from django.db import Error, models, transaction

from pacewright.desk.backing_up import counted, ground_name, kinds_of
from pacewright.desk.backup_records import (
    KINDS,
    Record,
    broken,
    check_edit,
    check_log,
    check_walker,
    values_of,
)
from pacewright.desk.class_backup import CLASS_CHECKS
from pacewright.desk.ground_keeping import put_ground_back
from pacewright.desk.keeping import MOST_GUEST_LOGS
from pacewright.desk.models import GUEST, OWNER, Edit, Ground, KeptLog, KeptWalker, Member, WalkerPast
from pacewright.desk.walker_keeping import MOST_GUEST_WALKERS
from pacewright.exceptions import Complaint, FormatComplaint, OutputComplaint
from pacewright.files.backup_zip import Backup, read_backup

_CHECKS: Final[dict[type[models.Model], Any]] = {
    KeptLog: check_log,
    Edit: check_edit,
    KeptWalker: check_walker,
    **CLASS_CHECKS,
}


def restore(member: Member, data: bytes) -> list[str]:
    """Add what a backup holds and the desk does not, and say what became of it.

    A record that is there already is never written over, even where it was changed since. A guest takes
    everything back as their own; for the owner, what belonged to guests belongs to them again.

    Raises
    ------
    Complaint
        It is no backup, or not whole; then nothing of it is kept.
    """
    back = _Restoring(member, read_backup(data))
    try:
        with transaction.atomic():
            return back.run()
    except (Complaint, Error) as refused:
        back.take_files_away()
        if isinstance(refused, Complaint):
            raise
        raise FormatComplaint(
            "the records of this backup contradict each other", "Give the file that the desk made"
        ) from None


class _Restoring:
    """One restoring: who asks, the backup, which new identity each old one has, and what was added."""

    def __init__(self, member: Member, backup: Backup) -> None:
        self.member, self.backup = member, backup
        self.identities: dict[tuple[type[models.Model], Any], Any] = {}
        self.new: set[Any] = set()
        self.added: list[str] = []
        self.there: list[str] = []
        self.said: list[str] = []
        self.demos: dict[Any, Any] = {}
        self.written: list[Path] = []

    def run(self) -> list[str]:
        """Add everything, in the order in which one record may name another."""
        groups_of_new = self._members()
        for kind in kinds_of(self.member):
            self._kind(kind, self._records(kind))
        for guest, group in groups_of_new:
            guest.group_id = self.identities.get((KINDS["groups"], group))
            guest.save(update_fields=["group"])
        self._check_guest()
        return self._told()

    def take_files_away(self) -> None:
        """Remove the terrain files of a restoring that came to nothing."""
        for path in self.written:
            path.unlink(missing_ok=True)

    def _records(self, kind: str) -> list[Any]:
        found = self.backup.manifest.get(kind, [])
        if not isinstance(found, list):
            raise broken(KINDS[kind])
        return found

    def _members(self) -> list[tuple[Member, Any]]:
        """Find who the members of the backup are here; a guest who is not known is added by the owner."""
        records = self.backup.manifest.get("members", [])
        if not isinstance(records, list):
            raise broken(Member)
        new = []
        for record in records:
            values = values_of(Member, record)
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

    def _kind(self, kind: str, records: list[Any]) -> None:
        model = KINDS[kind]
        made = [one for record in records if (one := self._made(kind, model, record)) is not None]
        moments = [
            field.attname
            for field in model._meta.concrete_fields
            if getattr(field, "auto_now", False) or getattr(field, "auto_now_add", False)
        ]
        stated = [{name: getattr(one, name) for name in moments} for one in made]
        model._default_manager.bulk_create(made, batch_size=200)
        # Making a record sets its moments to now: they are put back to what they were.
        for one, at in zip(made, stated, strict=True):
            for name, moment in at.items():
                if moment is not None:
                    setattr(one, name, moment)
        if moments and made:
            model._default_manager.bulk_update(made, moments, batch_size=200)

    def _made(self, kind: str, model: type[models.Model], record: Any) -> models.Model | None:
        """Give the record to be added; None where it is there, or belongs to one that is."""
        values = values_of(model, record)
        is_part = model in (Edit, WalkerPast)
        if is_part and not self._belongs_to_new(model, values):
            return None
        if not is_part:
            identity = values.get("id")
            values["id"] = self._identity(model, identity)
            self.identities[model, identity] = values["id"]
            if model._default_manager.filter(pk=values["id"]).exists():
                self.there.append(kind)
                return None
        self._point_to_new(model, values)
        if model is Ground and values.get("is_demo") and not self._is_first_demo(values):
            self.there.append(kind)
            return None
        check = _CHECKS.get(model)
        if check is not None:
            check(values)
        if not is_part and self._clashes(model, values):
            self.there.append(kind)
            return None
        return self._with_files(kind, model, values, record)

    def _is_first_demo(self, values: Record) -> bool:
        """Tell whether an owner has no land of the demo yet; one that has it keeps it, and logs lie on it."""
        owner = values["owner_id"]
        known = Ground.objects.filter(owner_id=owner, is_demo=True).first()
        here = self.demos.setdefault(owner, known.pk if known is not None else values["id"])
        is_first = bool(here == values["id"])
        if not is_first:
            self._forget(values["id"], here)
        return is_first

    def _forget(self, identity: Any, instead: Any = None) -> None:
        """Let what names a record that does not come in name another, or none."""
        for key, here in list(self.identities.items()):
            if here == identity:
                self.identities[key] = instead

    def _identity(self, model: type[models.Model], identity: Any) -> Any:
        """Give the identity a record gets here: its own, unless that is another member's."""
        if identity is None:
            raise broken(model, "id")
        taken = model._default_manager.filter(pk=identity).first()
        of_another = taken is not None and getattr(taken, "owner_id", self.member.pk) not in self._mine()
        return uuid.uuid5(self.member.pk, str(identity)) if of_another else identity

    def _mine(self) -> set[Any]:
        mine = {self.member.pk}
        if self.member.is_owner:
            mine |= {here for (model, _), here in self.identities.items() if model is Member}
        return mine

    def _belongs_to_new(self, model: type[models.Model], values: Record) -> bool:
        """Tell whether the log of a change, or the walker of a state, was added just now."""
        part_of = "log_id" if model is Edit else "walker_id"
        whole = KeptLog if model is Edit else KeptWalker
        return self.identities.get((whole, values.get(part_of))) in self.new

    def _point_to_new(self, model: type[models.Model], values: Record) -> None:
        """Put the identities of this desk in the place of those in the backup."""
        for field in model._meta.concrete_fields:
            if not field.is_relation:
                continue
            old = values.get(field.attname)
            here = self.identities.get((field.related_model, old))
            if here is None and field.related_model is Member:
                here = self.member.pk
            if here is None and not field.null:
                raise broken(model, field.attname)
            values[field.attname] = here

    def _clashes(self, model: type[models.Model], values: Record) -> bool:
        """Tell whether another record stands where only one may."""
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
        self, kind: str, model: type[models.Model], values: Record, record: Mapping[str, Any]
    ) -> models.Model | None:
        if model is Ground and not values.get("is_demo") and not self._ground(values, str(record.get("id"))):
            return None
        if model is KeptLog and record.get("came_as") is not None:
            name = record["came_as"]
            if not isinstance(name, str) or name not in self.backup.files:
                raise broken(model, "came_as")
            values["came_as"] = self.backup.files[name]
        if "id" in values:
            self.new.add(values["id"])
        self.added.append(kind)
        return model(**values)

    def _ground(self, values: Record, old: str) -> bool:
        """Put a terrain file in its place; tell whether it could be."""
        data = self.backup.files.get(ground_name(old))
        name = values.get("name", "")
        if not self.member.is_owner:
            self._leave_ground(
                values, f"The ground {name} was left out: only the owner of the desk brings one in."
            )
            return False
        if data is None:
            self._leave_ground(values, f"The ground {name} is not in this backup. Hand its file in again.")
            return False
        try:
            path = put_ground_back(values["id"], data)
        except Complaint as complaint:
            self._leave_ground(values, f"The ground {name} was not taken: {complaint.what}. {complaint.do}.")
            return False
        if path is not None:
            self.written.append(path)
        return True

    def _leave_ground(self, values: Record, sentence: str) -> None:
        self.said.append(sentence)
        self._forget(values["id"])

    def _check_guest(self) -> None:
        if self.member.is_owner:
            return
        if self.member.logs.count() > MOST_GUEST_LOGS or self.member.walkers.count() > MOST_GUEST_WALKERS:
            raise OutputComplaint(
                f"a guest of this desk keeps at most {MOST_GUEST_LOGS} logs and {MOST_GUEST_WALKERS} walkers",
                "Delete some for good, under Books",
            )

    def _told(self) -> list[str]:
        added, there = counted(self.added), counted(self.there)
        said = [f"Added: {added}." if added else "Nothing was added: all of it is here."]
        if there:
            said.append(f"Here already, and left as they stand: {there}.")
        return [*said, *self.said]
