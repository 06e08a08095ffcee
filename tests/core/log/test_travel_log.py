"""Rows, stations and names of a log: what each means, and what is refused."""

from __future__ import annotations

import pytest

from pacewright.core.log.log_heading import Heading, KnownPoint
from pacewright.core.log.remarks import At, Box, Time, Was
from pacewright.core.log.travel_log import Cells, Leg, Note, Row, Sighting, TravelLog, compose_log, parse_row
from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint

PLAIN = Heading(start="Gate")


def row(azimuth: str = "", count: str = "", notes: str = "", heading: Heading = PLAIN) -> Row:
    return parse_row(Cells(azimuth, count, notes), heading, line=7)


def log_of(*rows: tuple[str, str, str], heading: Heading = PLAIN) -> TravelLog:
    return compose_log(heading, [parse_row(Cells(*cells), heading) for cells in rows])


def refused(*cells: str, heading: Heading = PLAIN) -> str:
    with pytest.raises(Complaint) as raised:
        row(*cells, heading=heading)
    return str(raised.value)


def test_an_azimuth_and_a_count_are_a_leg():
    leg = row(" 52 ", "330", "[box right 40] pond [box left 7]; [ground brush] [down] [at Oak]")
    assert isinstance(leg, Leg)
    assert (leg.azimuth_deg, leg.count, leg.at_name, leg.ground, leg.slope) == (
        52,
        330,
        "Oak",
        "brush",
        "down",
    )
    assert leg.boxes == (Box("right", 40.0, "40"), Box("left", 7.0, "7"))
    assert leg.cells.azimuth == " 52 " and leg.line == 7


def test_an_azimuth_with_see_is_a_bearing():
    seen = row("N10W", "", "[see Fire tower] hazy")
    assert isinstance(seen, Sighting)
    assert (seen.azimuth_deg, seen.name) == (350, "Fire tower")


def test_a_row_without_figures_is_a_note():
    assert isinstance(row("", "", "lunch [time 12:05] [on ridge]"), Note)
    assert isinstance(row(), Note)


def test_a_correction_keeps_what_was_struck_out():
    leg = row("62", "230", "[was 52] [was 320 count]")
    assert leg.remarks == (Was("azimuth", "52"), Was("count", "320"))


def test_azimuths_are_read_in_the_unit_of_the_heading():
    mils, gon = Heading(azimuth_unit="mils"), Heading(azimuth_unit="gon")
    assert row("1600", "10", heading=mils).azimuth_deg == 90
    assert row("300", "10", heading=gon).azimuth_deg == 270
    assert row("S40W", "10", heading=gon).azimuth_deg == 220


@pytest.mark.parametrize(
    ("text", "count"), [("0", 0), ("240.5", 240.5), (".5", 0.5), ("1000000", 1e6), ("7.", 7)]
)
def test_these_are_counts(text, count):
    assert row("10", text).count == count


def test_a_decimal_comma_is_read_but_thousands_are_not_guessed():
    leg = row("30,5", "240,25")
    assert (leg.azimuth_deg, leg.count) == (30.5, 240.25)
    assert refused("30", "1,240").startswith("line 7, column count: 1,240 is not a count. ")


COUNT = "Write the paces as a number from 0 to 1000000, such as 240."
AZIMUTH = "Write a number from 0 to 360, a point such as NE, or a bearing such as S40W."


@pytest.mark.parametrize(
    "text", ["-5", "nan", "inf", "1e3", "240?", "1000001", "9" * 400, "two", "1 000", "+5"]
)
def test_no_such_count(text):
    shown = text if len(text) <= 40 else text[:37] + "..."
    assert refused("10", text) == f"line 7, column count: {shown} is not a count. {COUNT}"


@pytest.mark.parametrize("text", ["361", "-1", "nan", "inf", "north-ish", "400"])
def test_no_such_azimuth(text):
    assert refused(text, "10") == f"line 7, column azimuth: {text} is not an azimuth in degrees. {AZIMUTH}"


@pytest.mark.parametrize(
    ("cells", "place", "says"),
    [
        (
            ("10", "240 m"),
            "count",
            "240 m carries a unit of its own (m); the whole log has its counts in paces",
        ),
        (
            ("10", "240steps"),
            "count",
            "240steps carries a unit of its own (steps); the whole log has its counts",
        ),
        (
            ("800 mils", "2"),
            "azimuth",
            "800 mils carries a unit of its own (mils); the whole log has its azimuths",
        ),
        (
            ("80gon", "2"),
            "azimuth",
            "80gon carries a unit of its own (gon); the whole log has its azimuths in",
        ),
    ],
)
def test_a_figure_with_a_unit_of_its_own_is_mixed_and_refused(cells, place, says):
    told = refused(*cells)
    assert told.startswith(f"line 7, column {place}: {says}")
    assert told.endswith("Write the bare number in the log's unit, or change the unit in the heading.")


def test_degrees_may_carry_their_sign_only_in_a_log_of_degrees():
    assert row("80°", "2").azimuth_deg == 80
    assert "carries a unit of its own (°)" in refused("80°", "2", heading=Heading(azimuth_unit="mils"))


@pytest.mark.parametrize(
    ("cells", "says"),
    [
        (
            ("346", "20", "[see Oak]"),
            "column count: a bearing ([see Oak]) has no count. "
            "Take the count away, or put leg and bearing into two rows.",
        ),
        (
            ("", "", "[see Oak]"),
            "column azimuth: the bearing to Oak has no azimuth. Write it in the first column.",
        ),
        (
            ("346", "", "[see Oak] [down]"),
            "column notes: this row is a bearing and holds a remark about a leg. "
            "Write that remark in the row of its leg.",
        ),
        (
            ("346", "", "tower"),
            "column count: this row has an azimuth and no count. "
            "Write the count; if it is a bearing to something, add [see NAME] to the notes.",
        ),
        (
            ("", "20", ""),
            "column azimuth: this row has a count and no azimuth. Write the azimuth of the leg.",
        ),
        (
            ("", "", "[box right 40]"),
            "column notes: this row has a remark about a leg, but no azimuth and no count. "
            "Write the remark in the row of its leg.",
        ),
        (
            ("10", "20", "[up] [down]"),
            "column notes: this row says one thing twice (two remarks of one kind). "
            "Keep the one that is right.",
        ),
    ],
)
def test_a_row_that_makes_no_sense_is_one_complaint_with_its_column(cells, says):
    assert refused(*cells) == f"line 7, {says}"


def test_stations_are_numbered_from_the_start_and_named_by_their_markers():
    log = log_of(("10", "5", ""), ("20", "", "[see Tower]"), ("", "", "rest"), ("30", "5", "[at Oak]"))
    assert log.station_names() == ("Gate", None, "Oak")
    assert [(station, seen.name) for station, seen in log.sightings()] == [(1, "Tower")]
    assert len(log.legs) == 2


def test_a_bearing_in_the_first_row_is_from_the_start():
    log = log_of(("20", "", "[see Tower]"), ("30", "5", ""))
    assert [station for station, _ in log.sightings()] == [0]


def test_a_station_is_found_by_name_or_number():
    log = log_of(("1", "5", "[at Oak]"), ("2", "5", "[at 1]"), ("3", "5", "[at Oak]"), ("4", "5", ""))
    assert log.find_station("Gate") == log.find_station("0") == 0
    assert log.find_station(" Oak ") == 3
    assert log.find_station("Oak", near=0) == 1
    assert log.find_station("oak") == 3, "capitals do not matter"
    assert log.find_station("4") == 4
    assert log.find_station("1") == 2, "a marker called 1 comes before station number 1"


@pytest.mark.parametrize("wanted", ["5", "-1", "1.0", "9999999999", "½", "²"])
def test_a_station_that_is_not_there_is_refused_and_the_others_named(wanted):
    log = log_of(("1", "5", "[at Oak]"), ("2", "5", ""))
    with pytest.raises(MissingComplaint) as raised:
        log.find_station(wanted)
    assert str(raised.value) == (
        f"the log has no station called {wanted}. "
        "Give one of its names (Gate, Oak) or a number from 0 (the start) to 2."
    )


def test_of_very_many_names_only_some_are_named():
    log = log_of(*[("1", "5", f"[at P{i}]") for i in range(500)])
    with pytest.raises(MissingComplaint, match=r"\(Gate, P0, .*, P10 and 489 more\) or a number"):
        log.find_station("")


def test_a_name_with_its_accent_typed_apart_is_the_same_name():
    log = log_of(("1", "5", "[at Caf\u00e9]"), ("2", "5", ""))
    assert log.find_station("Cafe\u0301") == 1


@pytest.mark.parametrize(
    ("first", "then"),
    [
        ("[at Oak]", "[at oak]"),
        ("[at gate]", ""),
        ("[at Caf\u00e9]", "[at Cafe\u0301]"),
        ("[at OAK]", "[at Oak]"),
    ],
)
def test_one_name_in_two_spellings_is_refused(first, then):
    with pytest.raises(
        FormatComplaint, match=r"was written .* before\. Write it the same way, or choose another"
    ):
        log_of(("1", "5", first), ("2", "5", then))


def test_a_thing_seen_and_a_known_place_are_held_to_the_same_spelling():
    with pytest.raises(FormatComplaint, match=r"^column notes: Fire Tower was written Fire tower before"):
        log_of(("1", "5", "[at Fire tower]"), ("9", "", "[see Fire Tower]"))
    known = Heading(known=(KnownPoint("Fire tower", "local 1 2", 10, (1, 2)),))
    with pytest.raises(FormatComplaint, match=r"^column notes: Fire Tower was written Fire tower before"):
        log_of(("9", "", "[see Fire Tower]"), ("1", "5", ""), heading=known)


def test_a_marker_met_again_keeps_its_name():
    log = log_of(("1", "5", "[at Oak]"), ("2", "5", "[at Gate]"), ("3", "5", "[at Oak]"))
    assert log.station_names() == ("Gate", "Oak", "Gate", "Oak")


@pytest.mark.parametrize("rows", [[], [("", "", "only prose")], [("9", "", "[see Oak]")]])
def test_a_log_without_a_leg_is_no_log(rows):
    with pytest.raises(FormatComplaint) as raised:
        log_of(*rows)
    assert str(raised.value) == (
        "there is no leg in this log. Add rows below the heading: azimuth, count, notes, such as 305,240,."
    )


def test_time_and_marker_may_stand_in_one_row():
    assert row("10", "20", "[at Oak] [time 9:05]").remarks == (At("Oak"), Time(545, "9:05"))


@pytest.mark.parametrize(
    "notes", ["[cross stream] [no stream]", "[faces NE] [flat]", "[on ridge] [in valley]", "[flat] [faces S]"]
)
def test_two_remarks_that_cannot_both_be_are_refused(notes):
    with pytest.raises(FormatComplaint) as refused:
        row("40", "100", notes)
    assert "two things of the ground that cannot both be" in str(refused.value)


def test_a_station_may_be_in_a_valley_and_on_a_stream():
    assert len(row("40", "100", "[in valley] [on stream]").remarks) == 2
