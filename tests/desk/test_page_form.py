"""A whole page sent as a plain form: what differs from what was served, and nothing else, is a change."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

import pytest
from django.db import connection
from django.http import QueryDict
from django.test import Client
from django.test.utils import CaptureQueriesContext

from pacewright.desk.models import KeptLog, Member
from pacewright.desk.notebook.keeping import keep_change
from pacewright.desk.notebook.page_changes import MOST_ROWS
from pacewright.desk.notebook.page_form import form_changes

MakeLog = Callable[..., KeptLog]


def served_form(client: Client, log: KeptLog) -> dict[str, Any]:
    """The fields that a browser without scripts would send back unchanged."""
    context = client.get(f"/logs/{log.pk}").context
    fields: dict[str, Any] = {"key": context["form_key"], "row": []}
    fields["heading"] = fields["was-heading"] = log.heading.replace("\n", "\r\n")
    for mark in context["marks"]:
        fields["row"].append(mark.id)
        for name in ("azimuth", "count", "notes"):
            fields[f"{mark.id}-{name}"] = fields[f"{mark.id}-was-{name}"] = getattr(mark, name)
        if mark.other:
            fields[f"{mark.id}-other"] = json.dumps(mark.other)
    for identity in context["blanks"]:
        fields["row"].append(identity)
        fields.update({f"{identity}-{name}": "" for name in ("azimuth", "count", "notes")})
    return fields


def sent(client: Client, log: KeptLog, fields: dict[str, Any]) -> list[tuple[str, str, str, bool]]:
    """Send a form and give the rows that are kept then."""
    assert client.post(f"/logs/{log.pk}/page", fields).status_code == 302
    log.refresh_from_db()
    return [(row["azimuth"], row["count"], row["notes"], row["struck"]) for row in log.rows]


def test_a_form_that_nobody_touched_changes_nothing(
    owner: Client, owner_member: Member, make_log: MakeLog
) -> None:
    log = make_log(owner_member, [("305", "240"), ("38", "185", "[at Split oak]")])
    sent(owner, log, served_form(owner, log))
    assert log.revision == 0
    assert log.edits.count() == 0


def test_rows_typed_into_the_blanks_are_kept_in_their_order(
    owner: Client, owner_member: Member, make_log: MakeLog
) -> None:
    log = make_log(owner_member)
    fields = served_form(owner, log)
    first, _, third = fields["row"]
    fields |= {
        f"{first}-azimuth": "305",
        f"{first}-count": "240",
        f"{third}-azimuth": "38",
        f"{third}-count": "9",
    }
    kept = sent(owner, log, fields)
    assert kept == [("305", "240", "", False), ("38", "9", "", False)]


def test_a_form_sent_twice_is_kept_once(owner: Client, owner_member: Member, make_log: MakeLog) -> None:
    log = make_log(owner_member, [("305", "240")])
    fields = served_form(owner, log) | {"r0-count": "250", "do": "insert:r0"}
    once = sent(owner, log, fields)
    assert once == [("305", "250", "", False), ("", "", "", False)]
    assert sent(owner, log, fields) == once


def test_a_stale_page_does_not_write_over_what_was_typed_elsewhere(
    owner: Client, owner_member: Member, make_log: MakeLog
) -> None:
    log = make_log(owner_member, [("305", "240"), ("38", "185")])
    stale = served_form(owner, log)
    keep_change(
        log.pk, "elsewhere-1", {"kind": "put", "id": "r0", "azimuth": "300", "count": "240", "notes": ""}
    )
    keep_change(
        log.pk, "elsewhere-2", {"kind": "put", "id": "r1", "azimuth": "40", "count": "185", "notes": ""}
    )
    keep_change(log.pk, "elsewhere-3", {"kind": "heading", "heading": "start: Heron post"})
    kept = sent(owner, log, stale | {"r1-notes": "[at Split oak]"})
    assert kept == [("300", "240", "", False), ("40", "185", "[at Split oak]", False)]
    assert log.heading == "start: Heron post"


def test_buttons_strike_undo_and_insert(owner: Client, owner_member: Member, make_log: MakeLog) -> None:
    log = make_log(owner_member, [("305", "240"), ("38", "185")])
    assert [row[3] for row in sent(owner, log, served_form(owner, log) | {"do": "strike:r0"})] == [
        True,
        False,
    ]
    assert [row[3] for row in sent(owner, log, served_form(owner, log) | {"do": "unstrike:r0"})] == [
        False
    ] * 2
    assert [row[3] for row in sent(owner, log, served_form(owner, log) | {"do": "undo"})] == [True, False]
    assert [row[3] for row in sent(owner, log, served_form(owner, log) | {"do": "undo"})] == [False] * 2
    rows = sent(owner, log, served_form(owner, log) | {"do": "insert:r0"})
    assert [row[0] for row in rows] == ["305", "", "38"]


def test_what_cannot_be_kept_is_said_and_the_rest_is_kept(
    owner: Client, owner_member: Member, make_log: MakeLog
) -> None:
    log = make_log(owner_member, [("305", "240"), ("38", "185")])
    fields = served_form(owner, log) | {"r0-notes": "n" * 2001, "r1-notes": "dry", "do": "undo-what:x"}
    done = owner.post(f"/logs/{log.pk}/page", fields, follow=True)
    assert "A cell holds at most 2000 characters. Shorten it" in done.content.decode()
    log.refresh_from_db()
    assert [row["notes"] for row in log.rows] == ["", "dry"]


def test_the_longest_page_is_kept_without_scripts_too(
    owner: Client, owner_member: Member, make_log: MakeLog
) -> None:
    log = make_log(owner_member, [("x", "240", "[box right 40] wet underfoot, and no wind")] * MOST_ROWS)
    fields: dict[str, Any] = {"key": "key-of-a-form", "row": [row["id"] for row in log.rows]}
    for row in log.rows:
        for name in ("azimuth", "count", "notes"):
            fields[f"{row['id']}-{name}"] = fields[f"{row['id']}-was-{name}"] = row[name]
    body = urlencode({**fields, "r4999-notes": "the end"}, doseq=True)
    sent = owner.post(f"/logs/{log.pk}/page", body, content_type="application/x-www-form-urlencoded")
    assert sent.status_code == 302
    log.refresh_from_db()
    assert log.rows[-1]["notes"] == "the end"
    assert log.revision == 1


def test_the_goal_chosen_stays_chosen(owner: Client, owner_member: Member, make_log: MakeLog) -> None:
    log = make_log(owner_member, [("305", "240", "[at Split oak]"), ("38", "185")])
    done = owner.post(f"/logs/{log.pk}/page", served_form(owner, log) | {"to": "1"})
    assert done["Location"] == f"/logs/{log.pk}?to=1"
    assert owner.post(f"/logs/{log.pk}/page", {"to": "//x.invalid"})["Location"] == f"/logs/{log.pk}"


def test_a_new_row_names_the_last_row_that_is_not_blank() -> None:
    form = QueryDict("key=abcdefghijk&row=a&row=b&row=c&a-azimuth=1&a-was-azimuth=1&c-azimuth=2")
    assert form_changes(form) == [
        (
            "abcdefghijk-c",
            {
                "kind": "put",
                "id": "c",
                "azimuth": "2",
                "count": "",
                "notes": "",
                "only": ["azimuth"],
                "was": {"azimuth": ""},
                "known": {},
                "after": "a",
            },
        )
    ]


def test_a_long_page_is_kept_in_one_go(owner: Client, owner_member: Member, make_log: MakeLog) -> None:
    log = make_log(owner_member)
    rows = 3_000
    fields: dict[str, Any] = {"key": "form-key-of-the-page", "row": [f"n{k}" for k in range(rows)]}
    for k in range(rows):
        fields |= {f"n{k}-azimuth": str(k % 360), f"n{k}-count": "" if k == 7 else "240"}
    with CaptureQueriesContext(connection) as asked:
        kept = sent(owner, log, fields)
    assert [row[0] for row in kept] == [str(k % 360) for k in range(rows)]
    assert log.revision == rows == log.edits.count()
    assert sum("SAVEPOINT" in one["sql"] or one["sql"].startswith("BEGIN") for one in asked) <= 4
    assert sum(one["sql"].startswith("UPDATE") and "keptlog" in one["sql"] for one in asked) == 1
    assert sent(owner, log, fields) == kept and log.revision == rows


def test_a_form_that_lay_open_keeps_both_values_of_a_cell_written_elsewhere_meanwhile(
    owner: Client, owner_member: Member, make_log: MakeLog
) -> None:
    log = make_log(owner_member, [("305", "240")])
    fields = served_form(owner, log)
    row = fields["row"][0]
    newer = {"kind": "put", "id": row, "azimuth": "305", "count": "250", "notes": "", "only": ["count"]}
    keep_change(log.pk, "key-of-another", newer)
    sent(owner, log, {**fields, f"{row}-count": "230"})
    assert log.rows[0]["count"] == "250"
    assert log.rows[0]["other"] == {"count": ["230"]}


def late(log: KeptLog, count: str, was: str = "240") -> None:
    """Write a count into the first row as a browser that saw another one there."""
    put = {"kind": "put", "id": "r0", "azimuth": "305", "count": count, "notes": "", "only": ["count"]}
    keep_change(log.pk, f"key-of-{count}", {**put, "was": {"count": was}})


@pytest.mark.parametrize(("do", "count"), [("choose:r0:count:", "250"), ("choose:r0:count:0", "230")])
def test_which_of_two_values_counts_is_chosen_without_scripts(
    owner: Client, owner_member: Member, make_log: MakeLog, do: str, count: str
) -> None:
    log = make_log(owner_member, [("305", "240")])
    late(log, "250")
    late(log, "230")
    assert "Row 1 holds two values" in owner.get(f"/logs/{log.pk}").content.decode()
    assert sent(owner, log, {**served_form(owner, log), "do": do}) == [("305", count, "", False)]
    assert "other" not in log.rows[0]


def test_a_value_that_came_after_the_form_was_served_waits_on(
    owner: Client, owner_member: Member, make_log: MakeLog
) -> None:
    log = make_log(owner_member, [("305", "240")])
    late(log, "250")
    late(log, "230")
    fields = served_form(owner, log)
    late(log, "260")
    # Written anew: the value that was shown is answered by that, the one that came since is not.
    assert sent(owner, log, {**fields, "r0-count": "255"}) == [("305", "255", "", False)]
    assert log.rows[0]["other"] == {"count": ["260"]}
    # Nor is a row taken away that was written in since it was served.
    fields = served_form(owner, log)
    late(log, "270")
    assert sent(owner, log, {**fields, "do": "remove:r0"}) == [("305", "255", "", False)]
    assert log.rows[0]["other"] == {"count": ["260", "270"]}
    assert sent(owner, log, {**served_form(owner, log), "do": "remove:r0"}) == []


def test_a_row_that_was_emptied_goes(owner: Client, owner_member: Member, make_log: MakeLog) -> None:
    log = make_log(owner_member, [("305", "240"), ("38", "185")])
    fields = served_form(owner, log) | {"r0-azimuth": "", "r0-count": ""}
    keep_change(
        log.pk, "key-of-note", {"kind": "put", "id": "r1", "azimuth": "38", "count": "185", "notes": "x"}
    )
    assert sent(owner, log, fields) == [("38", "185", "x", False)]
    fields = served_form(owner, log) | {"r1-azimuth": "", "r1-count": "", "r1-notes": ""}
    keep_change(
        log.pk, "key-of-wet", {"kind": "put", "id": "r1", "azimuth": "38", "count": "185", "notes": "wet"}
    )
    assert sent(owner, log, fields) == [("38", "185", "wet", False)]
