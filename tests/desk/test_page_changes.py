"""A page under changes: each can be taken back, names rows by identity, and keeps only what a page knows."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacewright.desk.notebook.page_changes import (
    LONGEST_CELL,
    LONGEST_HEADING,
    MOST_ROWS,
    Change,
    PageState,
    apply_change,
    new_row,
    parse_change,
)
from pacewright.exceptions import FormatComplaint
from support.made_changes import CHANGES, TEXTS

BLANK = PageState("", ())


def page(*identities: str) -> PageState:
    return PageState("start: Gate", tuple(new_row(one, (one, one, one)) for one in identities))


def changed(state: PageState, **change: Any) -> PageState:
    return apply_change(state, parse_change(change))[0]


def order(state: PageState) -> str:
    return "".join(row["id"] for row in state.rows)


@given(st.lists(CHANGES, max_size=12))
def test_as_many_undos_as_changes_give_the_page_back(changes: list[Change]) -> None:
    began = state = page("a", "b")
    inverses = []
    for change in changes:
        try:
            state, inverse = apply_change(state, parse_change(change))
        except FormatComplaint as complaint:
            assert complaint.what in (
                "the row is not on the page any more",
                "the row was written in elsewhere meanwhile, and stays",
            )
            continue
        inverses.append(inverse)
    for inverse in reversed(inverses):
        state, _ = apply_change(state, inverse)
    assert state == began


@given(st.lists(CHANGES, max_size=12))
def test_no_two_rows_of_a_page_ever_share_an_identity(changes: list[Change]) -> None:
    state = BLANK
    for change in changes:
        try:
            state, _ = apply_change(state, parse_change(change))
        except FormatComplaint:
            continue
        assert len(set(order(state))) == len(state.rows)


@given(st.lists(st.tuples(st.integers(0, 1), TEXTS), max_size=10))
def test_two_tabs_that_write_different_rows_end_alike_in_either_order(writes: list[tuple[int, str]]) -> None:
    def after(order_of_tabs: list[tuple[int, str]]) -> PageState:
        state = page("a", "b")
        for tab, text in order_of_tabs:
            state = changed(state, kind="put", id="ab"[tab], azimuth=text, count="", notes="")
        return state

    first_tab_first = sorted(writes, key=lambda write: write[0])
    assert after(writes) == after(first_tab_first)


@pytest.mark.parametrize(("after", "expected"), [("", "xab"), ("a", "axb"), ("b", "abx"), ("gone", "abx")])
def test_a_new_row_comes_in_after_the_one_named(after: str, expected: str) -> None:
    assert order(changed(page("a", "b"), kind="put", id="x", after=after)) == expected
    rows = [{"id": "x", "azimuth": "1", "count": "2", "notes": ""}]
    assert order(changed(page("a", "b"), kind="paste", rows=rows, after=after)) == expected


def test_a_new_row_with_no_place_named_comes_last() -> None:
    assert order(changed(page("a", "b"), kind="put", id="x")) == "abx"


def test_only_the_cells_named_are_written_over() -> None:
    after = changed(page("a"), kind="put", id="a", azimuth="9", count="8", notes="7", only=["count"])
    assert after.rows[0] == new_row("a", ("a", "8", "a"))


def test_a_row_that_another_tab_took_away_comes_back_whole() -> None:
    after = changed(page("b"), kind="put", id="a", azimuth="9", count="8", notes="7", only=["count"])
    assert after.rows[-1] == new_row("a", ("9", "8", "7"))


def test_a_paste_leaves_a_row_alone_that_is_there_already() -> None:
    rows = [{"id": "a", "azimuth": "1", "count": "1", "notes": ""}, {"id": "c", "azimuth": "2", "count": "2"}]
    after = changed(page("a", "b"), kind="paste", rows=rows, after="a")
    assert after.rows == (new_row("a", "aaa"), new_row("c", ("2", "2", "")), new_row("b", "bbb"))


def test_a_stroke_changes_nothing_but_itself() -> None:
    struck = changed(page("a"), kind="strike", id="a")
    assert struck.rows == (new_row("a", "aaa", struck=True),)
    assert changed(struck, kind="strike", id="a", struck=False) == page("a")


@pytest.mark.parametrize("broken", ["1\n2", "1\r\n2", "1\v2", "1\u20282", "1\x852"])
def test_a_line_break_in_a_cell_becomes_a_blank(broken: str) -> None:
    assert changed(BLANK, kind="put", id="a", azimuth=broken).rows[0]["azimuth"] == "1 2"


@pytest.mark.parametrize(
    ("typed", "kept"), [("a\0b", "ab"), ("a\x1bb", "ab"), ("\ud83d\ude00", "😀"), ("\t", "\t")]
)
def test_a_cell_holds_only_what_every_database_keeps(typed: str, kept: str) -> None:
    assert changed(BLANK, kind="put", id="a", notes=typed).rows[0]["notes"] == kept


def test_half_a_character_becomes_the_mark_for_an_unreadable_one() -> None:
    kept = changed(BLANK, kind="put", id="a", notes="x\ud83d").rows[0]["notes"]
    assert kept == "x�"
    assert changed(BLANK, kind="heading", heading="\udc00").heading == "�"


def test_a_change_is_kept_without_what_no_page_knows() -> None:
    sent = {"kind": "strike", "id": "a", "struck": True, "weight": float("nan"), "more": [[["\0"]]]}
    assert parse_change(sent) == {"kind": "strike", "id": "a", "struck": True}


@given(CHANGES)
def test_a_change_that_was_parsed_is_plain_json_and_parses_to_itself(change: Change) -> None:
    parsed = parse_change(change)
    assert parse_change(json.loads(json.dumps(parsed, allow_nan=False))) == parsed


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({}, "this is not a change that a page knows"),
        ({"kind": ["put"]}, "this is not a change that a page knows"),
        ({"kind": "put"}, "a row of this change has no identity"),
        ({"kind": "put", "id": "a b"}, "a row of this change has no identity"),
        ({"kind": "put", "id": "a\n"}, "a row of this change has no identity"),
        ({"kind": "put", "id": 7}, "a row of this change has no identity"),
        ({"kind": "put", "id": "x" * 41}, "a row of this change has no identity"),
        ({"kind": "put", "id": "a", "count": 240}, "this change holds what is no text"),
        (
            {"kind": "put", "id": "a", "notes": "n" * (LONGEST_CELL + 1)},
            "a cell holds at most 2000 characters",
        ),
        ({"kind": "remove", "ids": "a"}, "this change names no rows"),
        ({"kind": "remove", "ids": [["a"]]}, "a row of this change has no identity"),
        ({"kind": "paste", "rows": ["a"]}, "this change holds no rows"),
        ({"kind": "paste", "rows": [{"id": "a"}, {"id": "a"}]}, "two rows of this change have one identity"),
        (
            {"kind": "replace", "rows": [{"id": "a"}, {"id": "a"}]},
            "two rows of this change have one identity",
        ),
        ({"kind": "heading", "heading": None}, "this change holds what is no text"),
        (
            {"kind": "heading", "heading": "h" * (LONGEST_HEADING + 1)},
            "a heading is at most 10000 characters long",
        ),
        (
            {"kind": "replace", "rows": [], "heading": "h" * (LONGEST_HEADING + 1)},
            "a heading is at most 10000 characters long",
        ),
    ],
)
def test_what_is_no_change_is_refused_by_name(change: Change, what: str) -> None:
    with pytest.raises(FormatComplaint) as refused:
        parse_change(change)
    assert refused.value.what == what


def test_a_stroke_through_a_row_that_is_gone_is_refused() -> None:
    with pytest.raises(FormatComplaint, match="the row is not on the page any more"):
        changed(page("a"), kind="strike", id="b")


def test_a_page_that_would_grow_too_large_is_refused() -> None:
    full = PageState("", tuple(new_row(f"r{k}") for k in range(MOST_ROWS)))
    with pytest.raises(FormatComplaint, match="a page holds at most 5000 rows"):
        changed(full, kind="put", id="one-more")
    assert len(changed(full, kind="put", id="r7", notes="still").rows) == MOST_ROWS


def met(state: PageState, **change: Any) -> tuple[str, dict[str, list[str]]]:
    row = changed(state, kind="put", id="a", azimuth="", notes="", only=["count"], **change).rows[0]
    return row["count"], row.get("other", {})


def test_a_value_that_meets_a_newer_one_is_kept_beside_it() -> None:
    state = page("a")
    assert met(state, count="180", was={"count": "a"}) == ("180", {})
    assert met(state, count="180", was={"count": "older"}) == ("a", {"count": ["180"]})
    # The same value typed twice is one.
    assert met(state, count="a", was={"count": "older"}) == ("a", {})


def test_writing_a_cell_that_asks_is_the_answer_and_undo_asks_again() -> None:
    asking, _ = apply_change(page("a"), parse_change({**put_of("180"), "was": {"count": "older"}}))
    settled, inverse = apply_change(asking, parse_change({**put_of("180"), "was": {"count": "a"}}))
    assert settled.rows[0]["count"] == "180"
    assert "other" not in settled.rows[0]
    assert apply_change(settled, parse_change(inverse))[0] == asking


def put_of(count: str) -> Change:
    return {"kind": "put", "id": "a", "azimuth": "a", "count": count, "notes": "a", "only": ["count"]}


def test_a_value_that_came_beside_a_cell_unseen_waits_on_when_the_cell_is_written() -> None:
    asking = changed(page("a"), **put_of("180"), was={"count": "older"})
    unseen = changed(asking, **put_of("195"), was={"count": "a"}, known={})
    assert (unseen.rows[0]["count"], unseen.rows[0]["other"]) == ("195", {"count": ["180"]})
    more = changed(unseen, **put_of("170"), was={"count": "older"})
    answered = changed(more, **put_of("180"), was={"count": "195"}, known={"count": ["180"]})
    assert (answered.rows[0]["count"], answered.rows[0]["other"]) == ("180", {"count": ["170"]})
    settled = changed(answered, **put_of("180"), was={"count": "180"}, known={"count": ["170"]})
    assert "other" not in settled.rows[0]


def test_a_row_beside_whose_cell_a_value_came_unseen_is_not_taken_away() -> None:
    asking = changed(page("a"), **put_of("180"), was={"count": "older"})
    cells = dict.fromkeys(("azimuth", "count", "notes"), "a")
    with pytest.raises(FormatComplaint, match="written in elsewhere meanwhile, and stays"):
        changed(asking, kind="remove", ids=["a"], was={"a": {**cells, "other": {}}})
    seen = {"a": {**cells, "other": {"count": ["180"]}}}
    assert order(changed(asking, kind="remove", ids=["a"], was=seen)) == ""


def test_a_row_that_was_written_in_meanwhile_is_not_taken_away() -> None:
    state = page("a", "b")
    saw = {"a": dict.fromkeys(("azimuth", "count", "notes"), "a")}
    assert order(changed(state, kind="remove", ids=["a"], was=saw)) == "b"
    newer = changed(state, kind="put", id="a", azimuth="9", count="a", notes="a")
    with pytest.raises(FormatComplaint, match="written in elsewhere meanwhile, and stays"):
        changed(newer, kind="remove", ids=["a"], was=saw)
    assert order(changed(newer, kind="remove", ids=["a", "b"], was=saw)) == "a"


@pytest.mark.parametrize(
    ("row", "after", "expected"),
    [("c", "", "cab"), ("a", "c", "bca"), ("a", "b", "bac"), ("b", "gone", "abc"), ("b", "b", "abc")],
)
def test_a_row_is_moved_after_another_and_back(row: str, after: str, expected: str) -> None:
    state = page("a", "b", "c")
    moved, inverse = apply_change(state, parse_change({"kind": "move", "id": row, "after": after}))
    assert order(moved) == expected
    assert apply_change(moved, inverse)[0] == state


def test_a_heading_changed_in_two_places_keeps_both_lines_that_differ() -> None:
    was = "title: Crossing\nstart: Gate"
    state = PageState("title: Crossing\nstart: Mill\ncount: paces", ())
    mine = "title: Far crossing\nstart: Ford"
    merged = changed(state, kind="heading", heading=mine, was=was).heading
    assert merged.split("\n") == ["start: Mill", "count: paces", "title: Far crossing", "start: Ford"]
    assert changed(state, kind="heading", heading=mine, was=state.heading).heading == mine
