"""Closures, a traverse by hand and pulled stations, in words."""

from __future__ import annotations

import pytest

from pacewright.core.adjust.closure import find_closures
from pacewright.core.adjust.traverse_rules import adjust_traverse
from pacewright.core.bearings.included_angles import find_included_angles
from pacewright.core.bearings.local_attraction import Line, find_local_attraction
from pacewright.core.compass import parse_azimuth
from pacewright.core.log.log_heading import parse_heading
from pacewright.core.log.travel_log import Cells, compose_log, parse_row
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import choose_frame
from pacewright.core.way.observations import find_observations
from pacewright.core.way.reckoning import reckon
from pacewright.wording.closure import (
    say_closures,
    say_traverse,
    traverse_table,
)
from pacewright.wording.pulled import say_included_angles, say_local_attraction
from support.authorities import printed, read_authority


def made(rows, *headings, start="Gate"):
    lines = [("start", start), *(line.split(": ", 1) for line in headings)]
    heading = parse_heading([(k, key, value) for k, (key, value) in enumerate(lines)])
    return compose_log(heading, [parse_row(Cells(*row), heading) for row in rows])


def closed(log, walker=None):
    walker = walker or Walker()
    frame = choose_frame(log.heading, walker)
    return find_closures(log, reckon(log, walker, frame), find_observations(log, walker, frame)), frame.unit


def said(rows, *headings, start="Gate"):
    log = made(rows, *headings, start=start)
    return say_closures(log, *closed(log))


def square(back="200"):
    return [("0", "200", ""), ("90", "200", ""), ("180", back, ""), ("270", "200", "[at Gate]")]


def test_an_ordinary_closure_is_called_ordinary_and_clears_nobody():
    assert said(square("195")) == [
        "Back at Gate after legs 1 to 4, the reckoning misses it by 5 paces on azimuth 0 deg "
        "(0 east, 5 north): 795 paces walked, closure 1:159.",
        "That is ordinary: scatter alone does as much 96 times in 100. No mistake shows; there may be "
        "one all the same.",
    ]


def test_a_closure_beyond_scatter_asks_for_a_look_before_it_is_spread():
    sentence = said(square("100"))[1]
    assert sentence.startswith("Scatter alone explains this less than once in 1,000. ")
    assert sentence.endswith("Look for a mistake in these legs before you spread the gap over them.")


def test_a_mistake_and_ordinary_scatter_are_never_called_an_error():
    for rows in (square("200"), square("150"), square("100")):
        assert "error" not in " ".join(said(rows))


def test_an_exact_closure_has_no_gap_to_say():
    assert (
        said(square())[0]
        == "Back at Gate after legs 1 to 4, the reckoning comes out exactly there, 800 paces walked."
    )


def test_a_known_point_is_said_to_be_one():
    walker = Walker(per_100_m=62.5)
    log = made(
        [("90", "100", "[at Fire tower]")],
        "count: metres",
        "known: Fire tower = local 110 5 +-5 m",
        start="Gate",
    )
    closures, unit = closed(log, walker)
    assert say_closures(log, closures, unit)[0].startswith(
        "At Fire tower, whose place is known, the reckoning by leg 1 misses it by 11 metres on azimuth 243"
    )


def test_a_log_that_closes_nowhere_says_what_would_close_it():
    assert said([("0", "100", "[at Split oak]"), ("90", "50", "")]) == [
        "Nothing closes in this log: no marker is met again and no station is a known point. A mistake in it "
        "would not show.",
        "To close it, walk back to a marker named before (Gate, Split oak) and write [at NAME] in the last "
        "leg's notes. Or give the place of one in the heading: # known: NAME = local EAST NORTH +-10 m.",
    ]


def test_a_log_that_closes_nowhere_but_holds_bearings_says_what_they_can_show():
    rows = [("0", "100", "[at Split oak]"), ("90", "50", "[back 271]")]
    assert "can show only by its bearings and back readings" in said(rows)[0]


def test_a_log_without_names_is_told_to_name_its_markers():
    assert said([("0", "100", "")], start="")[1].startswith(
        "To close it, name your markers and write [at NAME]"
    )


def test_a_closure_of_no_legs_is_said_to_check_nothing():
    (sentence,) = said([("0", "0", "[at Gate]"), ("90", "100", "")])
    assert sentence == (
        "Gate is named at stations 0 and 1, and no way was walked between them: that checks "
        "nothing. Is a count missing in leg 1?"
    )


def test_the_textbook_table_holds_the_printed_numbers():
    """The class slides' loop (traverse_compass_rule_lesson.csv), its columns in the order of the books."""
    book = read_authority("traverse_compass_rule_lesson.csv")
    traverse = adjust_traverse(
        [parse_azimuth(row["azimuth"]) for row in book], [printed(row["length"]) for row in book]
    )
    (heading, rows), (_, adjusted) = traverse_table(
        traverse, ["A", "B", "C", "D", "A"], book[0]["azimuth"], decimals=3
    )
    assert heading[:5] == ("leg", "azimuth", "length", "latitude", "departure")
    assert adjusted[0] == ("A", "", "", "", "", "0.000", "0.000")
    for row, after, printed_row in zip(rows[:-1], adjusted[1:], book, strict=True):
        assert row[0] == after[0] == " - ".join(printed_row["leg"])
        assert row[1].replace(" ", "") == printed_row["azimuth"].replace(" ", "")
        assert row[3:5] == (printed_row["latitude"], printed_row["departure"])
        assert float(after[3]) == pytest.approx(printed(printed_row["adjusted_latitude"]), abs=0.001)
        assert float(after[4]) == pytest.approx(printed(printed_row["adjusted_departure"]), abs=0.001)
    assert rows[-1] == ("sum", "", "267.500", "0.284", "-0.311", "-0.284", "0.311")


def test_a_traverse_says_its_rule():
    by_length, by_part = (
        adjust_traverse([0, 90, 180], [10, 10, 9], rule=rule) for rule in ("compass", "transit")
    )
    assert say_traverse(by_length, "pace")[:2] == [
        "The legs miss by 10.0 paces in 29.0 (closure 1:3): 1.0 in latitude, 10.0 in departure.",
        "That was spread by the compass rule, in proportion to the length of each leg.",
    ]
    assert "the transit rule" in say_traverse(by_part, "pace")[1]
    closed_loop = adjust_traverse([0, 180], [10, 10])
    assert say_traverse(closed_loop, "pace") == ["The legs close exactly; there is nothing to spread."]


def test_a_pulled_station_is_named_with_what_to_do_about_it():
    found = find_local_attraction(
        [
            Line("A", "B", 40, 220, 3),
            Line("B", "C", 100, 295, 3),
            Line("C", "D", 10, 175, 3),
        ]
    )
    assert say_local_attraction(found) == [
        "Forward and back readings agree along A to B: taken as clean.",
        "The compass was pulled at C: it read 15 deg too high (give or take 3.0). For every bearing read at "
        "C, and for no other, take off 15 deg.",
    ]


def test_no_pulled_station_is_said_too():
    found = find_local_attraction([Line("A", "B", 40, 221, 3)])
    assert say_local_attraction(found)[-1] == "No station pulled the compass by more than ordinary scatter."


def test_doubts_about_the_clean_station_are_said():
    nothing_agrees = find_local_attraction([Line("A", "B", 40, 230), Line("C", "D", 40, 240)])
    assert say_local_attraction(nothing_agrees)[0].startswith("No line reads the same from both ends.")
    assert say_local_attraction(nothing_agrees)[-1] == (
        "Of C and D nothing can be said: no line joins them to a clean station."
    )
    rivals = find_local_attraction([Line("A", "B", 40, 220), Line("B", "C", 40, 240), Line("C", "D", 0, 180)])
    assert say_local_attraction(rivals)[-1] == (
        "Among themselves C and D agree as well: which of the two groups is clean is not sure."
    )


def test_the_angles_of_a_loop_are_said_against_what_they_should_be():
    rows = read_authority("included_angles.csv")
    lines = [Line(*row["leg"], parse_azimuth(row["fore"]), parse_azimuth(row["back"])) for row in rows]
    assert say_included_angles(find_included_angles(lines)) == [
        "The angles of the loop add up to 540.5 deg and should to 540: 0.5 deg too much, 0.10 deg an angle."
    ]
