"""What is kept is bounded: 5 kB of requests no longer make hundreds of megabytes, and a guest has a share."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest
from django.test import Client

from pacewright.desk.models import Edit, KeptLog, Member
from pacewright.desk.notebook import kept_bytes as shares
from pacewright.desk.notebook.keeping import keep_change, keep_changes, state_of, undo_last
from pacewright.desk.notebook.kept_bytes import MOST_GUEST_BYTES, MOST_UNDO, MOST_UNDO_BYTES, kept_bytes
from pacewright.exceptions import OutputComplaint

MakeLog = Callable[..., KeptLog]
MANY = [(str(k % 360), str(50 + k % 40), "beside the fence, dry ground") for k in range(1500)]


def undo_bytes(log: KeptLog) -> int:
    edits = Edit.objects.filter(log=log)
    return sum(len(json.dumps(one.change)) + len(json.dumps(one.inverse)) for one in edits)


def test_an_empty_removal_keeps_no_page(guest_member: Member, make_log: MakeLog) -> None:
    log = make_log(guest_member, MANY)
    keep_changes(log.pk, [(f"key-number-{k}", {"kind": "remove", "ids": []}) for k in range(200)])
    assert undo_bytes(log) < 20_000


@pytest.mark.parametrize(
    "ids", [["r0"], ["r1", "r2"], ["r3"], ["r0", "r1", "r2", "r3"], ["r0", "r2"], ["r9"]]
)
def test_rows_taken_away_come_back_where_they_were(
    owner_member: Member, make_log: MakeLog, ids: list[str]
) -> None:
    log = make_log(owner_member, MANY[:4])
    keep_change(log.pk, "key-of-strike", {"kind": "strike", "id": "r1", "struck": True})
    before = state_of(KeptLog.objects.get(pk=log.pk))
    keep_change(log.pk, "key-of-removal", {"kind": "remove", "ids": ids})
    undo_last(log.pk, "key-of-undo")
    assert state_of(KeptLog.objects.get(pk=log.pk)) == before


def test_whole_pages_put_in_place_again_and_again_stay_bounded(
    owner_member: Member, make_log: MakeLog
) -> None:
    log = make_log(owner_member, MANY)
    rows = [{**row, "notes": ""} for row in log.rows]
    for k in range(30):
        rows[0]["count"] = str(k)
        keep_change(log.pk, f"key-number-{k}", {"kind": "replace", "rows": rows})
    assert undo_bytes(log) < MOST_UNDO_BYTES + 400_000
    undo_last(log.pk, "key-of-undo")
    assert KeptLog.objects.get(pk=log.pk).rows[0]["count"] == "28"


def test_old_steps_are_let_go_of_and_still_made_once(owner_member: Member, make_log: MakeLog) -> None:
    log = make_log(owner_member)
    put = {"kind": "put", "id": "a", "azimuth": "5", "notes": ""}
    keep_changes(log.pk, [(f"key-number-{k}", {**put, "count": str(k + 9)}) for k in range(MOST_UNDO + 40)])
    assert Edit.objects.filter(log=log, is_undone=False).count() == MOST_UNDO
    assert keep_change(log.pk, "key-number-0", {**put, "count": "9"}).is_repeated


def test_a_guest_keeps_so_much_and_the_page_says_so(
    guest: Client, guest_member: Member, make_log: MakeLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shares, "MOST_GUEST_BYTES", 1_000_000)
    log = make_log(guest_member, [])
    refused, sent = [], 0
    while not refused and sent < 40:
        rows = [{"id": f"p{sent}-{k}", "azimuth": "5", "count": "50", "notes": "x" * 900} for k in range(100)]
        change = {"key": f"key-number-{sent}", "kind": "paste", "rows": rows}
        body = json.dumps({"changes": [change]})
        told = guest.post(f"/logs/{log.pk}/changes", body, content_type="application/json").json()
        refused, sent = told["refused"], sent + 1
    assert "A guest keeps at most 1 MB at this desk, this would be more" in refused[0]["complaint"]
    assert kept_bytes(guest_member) < 1_100_000
    assert len(KeptLog.objects.get(pk=log.pk).rows) == 100 * (sent - 1)


def test_what_is_deleted_makes_room_again(guest_member: Member, make_log: MakeLog, monkeypatch) -> None:
    monkeypatch.setattr(shares, "MOST_GUEST_BYTES", 400_000)
    log = make_log(guest_member, MANY)
    with pytest.raises(OutputComplaint, match="keeps at most"):
        for _ in range(4):
            make_log(guest_member, MANY)
    assert kept_bytes(guest_member) < 440_000
    KeptLog.objects.filter(owner=guest_member).delete()
    assert make_log(guest_member, MANY).pk != log.pk


def test_the_owner_keeps_what_the_disk_holds(owner_member: Member, monkeypatch) -> None:
    shares.SHARES.spend(owner_member, 10 * MOST_GUEST_BYTES)
