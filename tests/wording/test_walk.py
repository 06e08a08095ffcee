"""Where you are, the way back, aiming off, searching: what the sentences say."""

from __future__ import annotations

import re

import pytest

from pacewright.answers.way import aim_off, way_back
from pacewright.core.pace.tally import tally_of_count
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.core.way.frames import map_frame, walker_frame
from pacewright.core.way.reckoning import reckon
from pacewright.core.way.retrace import retrace
from pacewright.core.way.search_pattern import expanding_square, line_search, overshoot
from pacewright.files.log_csv import read_log
from pacewright.wording.numbers import say_tally
from pacewright.wording.searching import say_line_search, say_square, search_table
from pacewright.wording.walk import (
    CAUTION,
    MOST_ROWS,
    retrace_table,
    say_aiming_off,
    say_assumed,
    say_frame,
    say_map_figure,
    say_not_to_walk,
    say_reckoning,
    say_retrace,
    say_way_back,
    station_table,
)
from support.logs import log_of

MEASURED = Walker(per_100_m=62.5)
LOG = log_of((0, 300), (90, 400, "[at Split oak]"), more=["title: Cinder Fen"])


def said_back(log, walker=MEASURED, **options):
    way = way_back(log, walker, **options)
    return say_way_back(log, way, overshoot(way))


def said_place(log, walker=MEASURED, make=walker_frame):
    return say_reckoning(log, reckon(log, walker, make(log.heading, walker)), 0.95)


def test_the_caution_defers_to_local_rules_and_instruction():
    assert "Local rules" in CAUTION
    assert "qualified instruction" in CAUTION


def test_where_you_are_is_said_with_its_frame():
    said = said_place(LOG)
    assert said[0] == "You are 500 paces from Gate, on azimuth 53 deg (magnetic)."
    assert said[1].startswith("Give or take ") and said[1].endswith(" across it (95 in 100).")
    assert said[2] == "Cinder Fen: 2 legs, 700 paces walked."
    assert said_place(LOG, make=map_frame)[0] == "You are 800 metres from Gate, on azimuth 53 deg (magnetic)."
    for make, named in ((walker_frame, "(the walker's frame)"), (map_frame, "(the map frame)")):
        assert named in say_frame(reckon(LOG, MEASURED, make(LOG.heading, MEASURED)))


def test_the_half_widths_said_are_those_along_and_across_the_line_from_the_start():
    log = log_of((0, 1000))
    along, across = 2.4477 * (50**2 + 1 / 12) ** 0.5, 2.4477 * 1000 * 2.5167 * 3.14159265 / 180
    assert f"Give or take {along:.0f} paces along that line and {across:.0f} across it" in said_place(log)[1]


def test_one_leg_is_not_legs():
    assert said_place(log_of((0, 1)))[2] == "1 leg, 1 pace walked."


def test_a_log_that_ends_where_it_began_is_told_its_gap():
    log = log_of((0, 100), (90, 100), (180, 100), (270, 90, "[at Gate]"))
    said = " ".join(said_place(log))
    assert said.startswith(
        "You are at Gate again: the log says so. By its legs alone the walk ends 10 paces from Gate"
    )
    assert "by that much, give or take " in said


def test_a_ground_that_was_not_told_apart_is_said():
    assert "scree was counted as ordinary" in said_place(log_of((0, 100, "[ground scree]")))[-1]


def test_the_way_back_is_azimuth_count_cord_region_and_when_to_stop():
    way = way_back(LOG, MEASURED)
    said = said_back(LOG)
    assert said[0] == (
        "From Split oak to Gate: azimuth 233 deg (magnetic), 500 paces. The cord then shows 5 lower beads."
    )
    assert said[1] == (
        f"You will end within {way.along:.0f} paces of Gate along your line and "
        f"{way.across:.0f} across (95 in 100)."
    )
    assert said[2] == (
        f"Look for it from {overshoot(way).look_from} on. Stop at {overshoot(way).stop_at}; do not walk on."
    )


def test_who_counts_steps_is_told_steps_as_well():
    said = said_back(log_of((0, 500), count="steps"))
    assert "250 paces (500 steps)" in said[0]
    assert any(
        re.fullmatch(r"Look for it from \d+ paces \(\d+ steps\) on. Stop at \d+ paces .*", one)
        for one in said
    )


def test_stations_without_a_name_are_said_by_number():
    said = said_back(log_of((0, 300), (90, 400), start=""), from_station=1)[0]
    assert said.startswith("From station 1 to the start:")


def test_mils_are_said_in_mils():
    assert "azimuth 3200 mils" in said_back(log_of((0, 300), azimuth="magnetic mils"))[0]


def test_a_way_of_no_paces_is_said_to_be_none():
    said = said_back(log_of((0, 100), (90, 100), (180, 100), (270, 100, "[at Pond]")))
    assert said[0] == "By the reckoning you stand at Gate now: there is no way to walk."
    assert "if you do not see it, search" in said[1]
    assert not any("azimuth" in sentence for sentence in said)


def test_who_stands_at_the_goal_is_told_so_and_nothing_else():
    said = said_back(log_of((0, 100), (90, 100), (180, 100), (270, 90, "[at Gate]")))
    assert said == ["You are at Gate already: the log says so. There is no way to walk."]


def test_the_map_figure_says_why_it_differs():
    figure, why = say_map_figure(LOG, way_back(LOG, MEASURED), MEASURED)
    assert figure.startswith("On the map: azimuth 233 deg (magnetic), 800 metres")
    assert "pace count (3 %)" in why
    assert "compass (1.5 deg)" in why
    assert why.endswith("so walk by your own paces.")
    assert "declination" not in why


@pytest.mark.parametrize(("side", "azimuth"), [("E", 188), ("W", 172)])
def test_a_declination_is_said_to_turn_the_map_figure(side, azimuth):
    log = log_of((0, 500), more=[f"declination: 8 {side}"])
    figure, why = say_map_figure(log, way_back(log, MEASURED), MEASURED)
    assert figure.startswith(f"On the map: azimuth {azimuth} deg (true)")
    assert why.startswith(f"The two azimuths differ by the declination, 8 deg {side}.")


def test_without_a_pace_count_the_map_figure_is_said_to_be_missing():
    (said,) = say_map_figure(LOG, way_back(LOG), Walker())
    assert "pacewright calibrate" in said


def test_aiming_off_is_an_order_with_its_cord_and_its_counts_for_the_line():
    log = log_of((0, 600))
    way, aim = way_back(log), aim_off(log, None, 1, 0, 90, toward_deg=90)
    said = say_aiming_off(log, aim, way)
    assert said[0] == (
        f"From station 1 to Gate, aiming off: azimuth {aim.azimuth_deg:.0f} deg (magnetic), "
        f"{aim.count} paces, to the line. The cord then shows {say_tally(tally_of_count(aim.count))}."
    )
    assert said[1].startswith(f"Look for the line from {aim.line_from} on. Stop at {aim.line_by} and search")
    assert said[2].startswith(
        "At the line turn right and follow it on 270 deg: Gate should come after about "
    )
    assert f"Not there after {aim.follow_to}? It lies behind you" in said[2]
    assert said[3] == (
        f"The chance of meeting the line on the wrong side is {100 * aim.wrong_side_chance:.2g} in 100."
    )
    assert say_not_to_walk(log, way) == "(The direct way, not to be walked: 180 deg, 600 paces.)"


def test_a_chance_too_small_to_say_is_not_called_none():
    log = log_of((0, 600))
    said = say_aiming_off(log, aim_off(log, None, 1, 0, 90, 1e-9), way_back(log))
    assert "less than 0.01 in 100" in said[3]


def test_the_count_to_the_line_on_other_ground_is_to_it_as_that_of_the_way():
    log, brushy = (
        log_of((0, 600)),
        Walker(per_100_m=62.5, classes=(PaceClass("brush", None, None, 80.0, 0.1),)),
    )
    aim = aim_off(log, brushy, 1, 0, 90)
    said = say_aiming_off(log, aim, way_back(log, brushy))[-1]
    (count,) = re.findall(r"On other ground: brush (\d+)", said)
    assert int(count) == pytest.approx(aim.count * 80 / 62.5, abs=1)


def test_the_search_is_said_with_its_length_and_its_share():
    way = way_back(LOG)
    square = expanding_square(way, 30.0)
    first, then = say_square(square, way)
    assert "(500) and look round: the goal is in sight at once " in first
    assert "all turns to the right" in then
    assert f"sides 45 paces apart: {len(square.legs)} sides, {square.legs[-1].total:.0f} paces in all" in then
    heading, rows = search_table(LOG, square, way)
    assert len(rows) == len(square.legs) + 1
    assert {len(row) for row in rows} == {len(heading)}
    assert rows[0][:4] == ("0", "look round", "0", "0")
    assert rows[1][:4] == ("1", "233 deg", "45", "45")


def test_a_goal_that_may_be_in_sight_at_once_is_said_to_be_so():
    way = way_back(LOG)
    square = expanding_square(way, 200.0)
    assert "in sight at once more than 99 times in 100." in say_square(square, way)[0]
    assert search_table(LOG, square, way)[1][0] == ("0", "look round", "0", "0", "> 99 in 100")
    assert search_table(LOG, expanding_square(way, 3.0, 0.5), way)[1][0][-1] == "< 1 in 100"


def test_a_way_that_was_aimed_off_is_searched_from_the_line():
    log = log_of((0, 600))
    aim = aim_off(log, None, 1, 0, 90, 0.2, toward_deg=90)
    search = line_search(aim, 10.0)
    said = say_line_search(log, search, aim)
    assert said[0].startswith("The search starts where you meet the line. Look round: ")
    assert said[1].startswith(f"Then follow the line on 270 deg for {aim.follow_to} paces: ")
    assert said[2].startswith("Still not seen? Turn round and follow the line on 90 deg for ")
    assert [row[1] for row in search_table(log, search, way_back(log))[1]] == [
        "look round",
        "270 deg",
        "90 deg",
    ]


def test_a_search_in_half_paces_adds_up_as_it_is_printed():
    """Sides of 7.5, 7.5, 15, 15 paces are printed 8, 8, 15, 15."""
    way = way_back(LOG)
    square = expanding_square(way, 5.0)
    _, rows = search_table(LOG, square, way)
    assert [row[2:4] for row in rows[1:5]] == [("8", "8"), ("8", "16"), ("15", "31"), ("15", "46")]
    assert f"{sum(int(row[2]) for row in rows)} paces in all" in say_square(square, way)[1]


def test_half_paces_go_up_and_add_up_as_they_are_printed():
    log = log_of((90, "12.5"), (90, "13.5"))
    assert say_reckoning(log, reckon(log), 0.95)[2] == "2 legs, 27 paces walked."
    assert [row[3] for row in station_table(log, reckon(log), 0.95)[1]] == ["", "13", "14"]


def test_the_way_leg_by_leg_adds_up_to_its_column():
    log = log_of((90, "12.5"), (0, 30))
    assert say_retrace("pace", retrace(log), 2, 1, 0.95)[0].startswith(
        "Leg by leg: 2 legs, 42.5 paces in all, "
    )


def test_a_search_of_one_side_is_not_sides():
    way = way_back(LOG)
    assert "1 side, " in say_square(expanding_square(way, 500.0), way)[1]


def test_the_way_leg_by_leg_is_three_columns():
    back = retrace(log_of((0, 300, "[box left 20]"), (40, "", "[see Fire tower]"), (90, 400)))
    heading, rows = retrace_table(back)
    assert heading[1:] == ("azimuth", "count (paces)", "notes")
    assert rows == [
        ("leg", "270", "400", ""),
        ("bearing", "40", "", "[see Fire tower]"),
        ("leg", "180", "300", "[at Gate] [box right 20]"),
    ]


def test_retracing_is_said_to_be_set_right_by_markers():
    (said,) = say_retrace("pace", retrace(LOG), 12.0, 1.0, 0.95)
    assert said.startswith("Leg by leg: 2 legs, 700 paces in all, as in the table.")
    assert "within 12 paces along and 1 across" in said
    assert "Every marker you meet sets the count right again" in said


def test_what_the_heading_left_out_is_said():
    assert say_assumed(LOG) == []
    (said,) = say_assumed(read_log(b"azimuth,count,notes\n10,20,\n"))
    assert "'azimuth: magnetic degrees' and 'count: paces' are assumed" in said


def test_the_table_has_a_row_a_station():
    heading, rows = station_table(LOG, reckon(LOG), 0.95)
    assert [row[:6] for row in rows] == [
        ("0", "Gate", "", "", "0", "0"),
        ("1", "", "0 deg", "300", "0", "300"),
        ("2", "Split oak", "90 deg", "400", "400", "300"),
    ]
    assert {len(row) for row in rows} == {len(heading)}
    assert rows[2][6] == "500 on 53 deg"


def test_the_table_has_an_azimuth_as_it_was_read_and_no_direction_of_what_is_no_pace_off():
    log = log_of((20.5, 100), (200.5, 100))
    _, rows = station_table(log, reckon(log), 0.95)
    assert [row[2] for row in rows] == ["", "20.5 deg", "200.5 deg"]
    assert [row[6] for row in rows] == ["", "100 on 21 deg", "0"]


def test_of_a_very_long_log_the_table_shows_the_named_and_the_last():
    log = log_of((0, 10, "[at Oak]"), *[(0, 10)] * MOST_ROWS)
    _, rows = station_table(log, reckon(log), 0.95)
    assert [row[0] for row in rows] == ["0", "1", str(MOST_ROWS + 1)]


@pytest.mark.parametrize(
    "said",
    [
        said_place(LOG),
        said_back(LOG),
        say_map_figure(LOG, way_back(LOG, MEASURED), MEASURED),
        say_square(expanding_square(way_back(LOG), 30.0), way_back(LOG)),
        [CAUTION],
    ],
)
def test_every_sentence_ends_and_prints_on_any_console(said):
    for sentence in said:
        assert sentence.endswith((".", ")."))
        assert sentence.isascii()
