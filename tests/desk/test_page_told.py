"""Only what a browser does not have travels to it, and together it is always the page as it stands."""

from __future__ import annotations

import gzip
import json
import random
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from pacewright.desk.notebook.page_told import ToldPages

ROWS = st.lists(
    st.fixed_dictionaries({"id": st.sampled_from("abcdef"), "count": st.sampled_from(["1", "2"])}),
    max_size=6,
    unique_by=lambda row: row["id"],
)


def put_together(had: list[Any], told: dict[str, Any]) -> list[Any]:
    """The page as a browser puts it together from what it had and what it was told."""
    if "rows" in told:
        return list(told["rows"])
    known = {row["id"]: row for row in [*had, *told["changed"]]}
    return [known[one] for one in told.get("order", [row["id"] for row in had])]


@given(st.lists(ROWS, min_size=1, max_size=6), st.integers(0, 12))
def test_what_is_told_makes_the_page_whatever_was_forgotten_meanwhile(
    pages: list[list[dict[str, str]]], most_rows: int
) -> None:
    told_pages = ToldPages(most_rows)
    mark, has = "", []
    for rows in pages:
        told = told_pages.since(rows, mark)
        if "of" in told:
            assert told["of"] == mark
        has, mark = put_together(has, told), told["mark"]
        assert has == rows


def test_one_change_of_three_hundred_rows_tells_one_row_and_comes_compressed(
    owner: Any, owner_member: Any, make_log: Any
) -> None:
    draw = random.Random(1)
    log = make_log(
        owner_member, [(str(draw.randrange(360)), str(draw.randrange(40, 99))) for _ in range(300)]
    )
    path = f"/logs/{log.pk}/changes"

    def send(**more: Any) -> Any:
        return owner.post(path, json.dumps({"changes": [], **more}), "application/json")

    first = send().json()
    assert len(first["rows"]) == 300
    put = {"kind": "put", "azimuth": "5", "count": "7", "notes": "", "key": "key-of-one", "id": "r7"}
    told = send(changes=[put], seen=first["mark"]).json()
    assert [row["id"] for row in told["changed"]] == ["r7"]
    assert "rows" not in told
    assert "order" not in told
    again = send(seen=told["mark"], seen_answer=told["answer_mark"])
    assert again.json()["changed"] == []
    assert len(again.content) < 1_000
    moved = {"kind": "move", "key": "key-of-move", "id": "r7", "after": ""}
    order = send(changes=[moved], seen=told["mark"]).json()["order"]
    assert order[:3] == ["r7", "r0", "r1"]
    quiet = send(changes=[{**put, "key": "key-of-quiet", "count": "8"}], quiet=True).json()
    assert quiet == {"refused": []}
    whole = owner.post(path, '{"changes": []}', "application/json", headers={"accept-encoding": "gzip"})
    assert whole.headers["Content-Encoding"] == "gzip"
    assert len(whole.content) * 3 < len(gzip.decompress(whole.content))


def test_an_answer_that_the_browser_has_does_not_travel_again(
    owner: Any, owner_member: Any, make_log: Any
) -> None:
    log = make_log(owner_member, [("305", "240"), ("38", "185")])
    path = f"/logs/{log.pk}/changes"
    first = owner.post(path, '{"changes": []}', "application/json").json()
    assert "<svg" in first["answer"]
    note = {"kind": "put", "key": "key-of-note", "id": "r0", "only": ["notes"], "notes": "dry"}
    sent = {"changes": [note], "seen": first["mark"], "seen_answer": first["answer_mark"]}
    told = owner.post(path, json.dumps(sent), "application/json").json()
    assert told["answer"] is False
    assert told["changed"][0]["notes"] == "dry"
