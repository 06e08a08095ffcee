"""Everything of a member's is put away in one file."""

from __future__ import annotations

import gc
import json
from collections.abc import Callable

import pytest
from django.db import transaction

from pacewright.desk.books.backing_up import backup_of
from pacewright.desk.books.backup_records import record_of
from pacewright.desk.models import KeptLog, Member
from pacewright.exceptions import OutputComplaint


def test_a_backup_refused_half_way_leaves_no_query_open(
    owner_member: Member, make_log: Callable[..., KeptLog], monkeypatch: pytest.MonkeyPatch
) -> None:
    for _ in range(3):
        make_log(owner_member, [("10", "100")])
    # On PostgreSQL a cursor left open is closed when its refusal is forgotten: amid another's transaction.
    size = sum(len(json.dumps(record_of(one))) for one in KeptLog.objects.all())
    monkeypatch.setattr("pacewright.desk.books.backing_up.MOST_MANIFEST_BYTES", 10_000 + size // 2)
    with pytest.raises(OutputComplaint, match="more here than one backup") as refused:
        backup_of(owner_member)
    with transaction.atomic():
        del refused
        gc.collect()
        assert KeptLog.objects.count() == 3
