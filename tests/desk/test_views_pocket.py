"""A log goes to a phone and comes back: no row twice, nothing written over."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from django.test import override_settings

from pacewright.desk.models import KeptLog
from pacewright.desk.notebook.keeping import keep_change
from support.desk_class import phone

HEAD = "# title: Fen side\n# azimuth: magnetic degrees\n# count: paces\nazimuth,count,notes\n"
ROWS = "305,240,\n38,185,[at Split oak]\n"


def send(client: Any, text: str, phone_id: str = "kq3x81ab2c") -> Any:
    return client.post("/from-phone", {"phone_id": phone_id, "text": text}, follow=True)


def cells() -> list[list[str]]:
    (log,) = KeptLog.objects.all()
    return [[row["azimuth"], row["count"], row["notes"]] for row in log.rows]


def test_a_log_from_the_phone_is_kept_once_and_goes_on_where_it_ended(owner):
    assert "Taken in: 2 rows" in send(owner, HEAD + ROWS).content.decode()
    assert "here already, row for row" in send(owner, HEAD + ROWS).content.decode()
    assert "1 new row taken in" in send(owner, HEAD + ROWS + "52,330,\n").content.decode()
    assert cells() == [["305", "240", ""], ["38", "185", "[at Split oak]"], ["52", "330", ""]]


def test_what_was_changed_on_the_desk_meanwhile_is_never_written_over(owner):
    send(owner, HEAD + ROWS)
    log = KeptLog.objects.get()
    put = {"kind": "put", "id": log.rows[0]["id"], "azimuth": "305", "count": "241", "notes": ""}
    keep_change(log.pk, "changed-here", put)
    said = send(owner, HEAD + ROWS + "52,330,\n").content.decode()
    assert "Taken in: 3 rows" in said and "stays beside it" in said
    assert sorted(one.rows[0]["count"] for one in KeptLog.objects.all()) == ["240", "241"]


def test_a_log_that_went_out_comes_back_to_itself(owner, owner_member, make_log):
    log = make_log(owner_member, [("305", "240")])
    page = owner.get(f"/logs/{log.pk}/pocket")
    assert page["Content-Disposition"].startswith("attachment") and ".html" in page["Content-Disposition"]
    found = re.search(r'<script[^>]*id="carried"[^>]*>(.*?)</script>', page.content.decode("utf-8"), re.S)
    carried = json.loads(found[1])
    assert carried["desk"].startswith("http://") and carried["logs"][0]["id"] == log.pk.hex
    said = send(owner, carried["logs"][0]["text"] + "38,185,\n", carried["logs"][0]["id"])
    assert "1 new row taken in" in said.content.decode()
    assert [row[0] for row in cells()] == ["305", "38"]


def test_another_member_s_log_is_not_written_on(owner, owner_member, guest, guest_member, make_log):
    log = make_log(owner_member, [("305", "240")])
    send(guest, HEAD + "305,240,\n38,185,\n", log.pk.hex)
    assert len(KeptLog.objects.get(pk=log.pk).rows) == 1
    assert KeptLog.objects.get(owner=guest_member).rows[1]["azimuth"] == "38"
    assert guest.get(f"/logs/{log.pk}/pocket").status_code == 404


@pytest.fixture
def on_network():
    with override_settings(IS_ON_NETWORK=True, NETWORK_HOST="192.0.2.7"):
        yield


def test_the_square_leads_a_phone_straight_to_the_pocket_page(owner, owner_member, make_log, on_network):
    log = make_log(owner_member, [("305", "240")])
    shown = owner.post(f"/logs/{log.pk}/pocket/phone").content.decode()
    assert re.search(r"<svg[^>]*><path", shown)
    link = re.search(r'http://192\.0\.2\.7:80(/open/[^<&?]+\?to=[^<&"]+)', shown)[1]
    new = phone()
    # Looked at first, as a camera's preview does: that spends nothing.
    assert "Get the pocket page" in new.get(link).content.decode()
    page = new.post(link, follow=True)
    assert page["Content-Disposition"].startswith("attachment") and b'id="carried"' in page.content
    assert phone().post(link).status_code == 403


def test_a_link_leads_nowhere_but_to_a_pocket_page_or_home(owner, owner_member, make_log, on_network):
    log = make_log(owner_member, [("305", "240")])
    shown = owner.post(f"/logs/{log.pk}/pocket/phone").content.decode()
    path = re.search(r"(/open/[^<&?]+)\?to=", shown)[1]
    assert phone().post(f"{path}?to=//192.0.2.9/logs")["Location"] == "/"


def test_a_square_for_one_s_own_log_alone(guest, guest_member, owner_member, make_log, on_network):
    assert guest.post(f"/logs/{make_log(owner_member, [('305', '240')]).pk}/pocket/phone").status_code == 404
    shown = guest.post(f"/logs/{make_log(guest_member, [('305', '240')]).pk}/pocket/phone").content.decode()
    link = re.search(r'(/open/[^<&?]+\?to=[^<&"]+)', shown)[1]
    new = phone()
    assert new.post(link)["Location"].endswith("/pocket")
    assert new.get("/devices").status_code == 404


def test_without_the_network_the_page_says_how_to_start(owner, owner_member, make_log):
    log = make_log(owner_member, [("305", "240")])
    assert "pacewright desk --network" in owner.post(f"/logs/{log.pk}/pocket/phone").content.decode()


@pytest.mark.parametrize(
    ("phone_id", "text", "says"),
    [("", HEAD + ROWS, "came from no pocket page"), ("kq3x81ab2c", "no log at all", "azimuth")],
)
def test_what_is_no_log_is_refused_in_a_sentence(owner, phone_id, text, says):
    answer = send(owner, text, phone_id)
    assert answer.status_code == 422 and says in answer.content.decode()
    assert not KeptLog.objects.exists()
