"""The heading of a log: every key, every unit, and what is refused."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pacewright.core.log.log_heading import (
    EXACT_SD_M,
    HEADING_KEYS,
    Heading,
    KnownPoint,
    format_heading,
    parse_declination,
    parse_heading,
)
from pacewright.exceptions import Complaint, FormatComplaint, ValueComplaint

moderate = settings(max_examples=100, deadline=None)


def parsed(*texts: str) -> Heading:
    return parse_heading([(i, *text.split(":", 1)) for i, text in enumerate(texts, start=1)])


FULL = [
    "title: Cinder Fen, first crossing",
    "walker: Ines Rowe",
    "date: 2026-05-14",
    "azimuth: grid mils",
    "count: steps",
    "start: Gate",
    "declination: 5.5 W",
    "known: Gate = 51.5 -0.1 +-12.5 m",
    "known: Fire tower = local 120 -45 +-10 m",
]


def test_every_key_is_read_and_written_back_as_it_stood():
    heading = parsed(*FULL)
    assert heading == Heading(
        title="Cinder Fen, first crossing",
        walker="Ines Rowe",
        date=datetime.date(2026, 5, 14),
        azimuth_reference="grid",
        azimuth_unit="mils",
        count_unit="steps",
        start="Gate",
        declination_deg=-5.5,
        known=(
            KnownPoint("Gate", "51.5 -0.1", 12.5, None),
            KnownPoint("Fire tower", "local 120 -45", 10.0, (120.0, -45.0)),
        ),
    )
    assert format_heading(heading) == FULL
    assert {text.split(":")[0] for text in FULL} == set(HEADING_KEYS)


def test_what_the_heading_leaves_out_is_named():
    assert parsed().assumed == ("azimuth: magnetic degrees", "count: paces")
    assert parsed("count: metres").assumed == ("azimuth: magnetic degrees",)
    assert parsed("azimuth: true gon", "count: paces").assumed == ()


@pytest.mark.parametrize("reference", ["magnetic", "true", "grid"])
@pytest.mark.parametrize("unit", ["degrees", "mils", "gon"])
def test_every_north_goes_with_every_unit(reference, unit):
    heading = parsed(f"azimuth: {unit.upper()} {reference}")
    assert (heading.azimuth_reference, heading.azimuth_unit) == (reference, unit)


def test_keys_may_be_typed_in_capitals_and_values_left_empty():
    heading = parsed("TITLE : The  Fen ", "Date:", "start: ")
    assert (heading.title, heading.date, heading.start) == ("The Fen", None, None)


@pytest.mark.parametrize(
    ("text", "declination_deg"),
    [
        ("5.5 E", 5.5),
        ("5.5E", 5.5),
        ("3°30' W", -3.5),
        ("3°30′w", -3.5),
        ("3,5 W", -3.5),
        ("3–30 W", -3.5),
        ("0", 0.0),
        ("0 W", 0.0),
        ("180 E", 180),
    ],
)
def test_a_declination_is_degrees_east_positive(text, declination_deg):
    assert parse_declination(text) == declination_deg
    assert str(parse_declination(text)) != "-0.0"


@pytest.mark.parametrize("text", ["5.5", "-5.5", "5.5 N", "181 E", "3°60' W", "nan E", "", "E", "1e1 E"])
def test_a_declination_without_its_side_is_not_guessed(text):
    with pytest.raises(ValueComplaint) as raised:
        parse_declination(text)
    assert str(raised.value) == (
        f"{text or 'nothing'} is not a declination. Write degrees and the side, such as 5.5 E or 3°30' W."
    )


@pytest.mark.parametrize("minutes", range(0, 60, 5))
def test_a_declination_in_minutes_loses_no_digit_when_written(minutes):
    heading = parsed(f"declination: 3°{minutes}' E")
    (written,) = [line for line in format_heading(heading) if line.startswith("declination")]
    assert parsed(written).declination_deg == heading.declination_deg


@moderate
@given(st.floats(-180, 180), st.floats(1e-9, 99_999))
def test_any_heading_written_reads_back_the_same(declination_deg, sd_m):
    known = (
        KnownPoint("Oak", "local 1.5 -2", sd_m, (1.5, -2.0)),
        KnownPoint("Fen", "31U DQ 1 2", 10.0, None),
    )
    heading = Heading("A", "B", None, "true", "gon", "metres", "Gate", declination_deg, known)
    assert parsed(*format_heading(heading)) == heading


@pytest.mark.parametrize("sign", ["+-", "+/-", "±", " +- ", " ± "])
def test_the_uncertainty_of_a_known_place_may_be_written_in_three_ways(sign):
    (point,) = parsed(f"known: Oak = local -3 4.5{sign}7 m").known
    assert point == KnownPoint("Oak", "local -3 4.5", 7.0, (-3.0, 4.5))


def test_a_known_place_without_an_uncertainty_is_taken_as_read_off_a_map():
    # Ten metres: common practice for a point read off a map by hand.
    assert parsed("known: Oak = 51.5 -0.1").known[0].sd_m == 10.0


NO_PLACE = "Write NAME = PLACE +-10 m, PLACE being latitude longitude, MGRS, UTM, or local EAST NORTH."


AS_READ = "Write magnetic, true, grid and then degrees, mils, gon, such as magnetic degrees."
AS_COUNTED = "Write one of paces (a pace is two steps), steps, metres."
LOCAL = "Write local EAST NORTH in metres, such as local 120 -45."
DATE = "Write year-month-day, such as 2026-05-14."


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("azimuth: degrees", f"degrees does not say how azimuths were read. {AS_READ}"),
        ("azimuth: true grid gon", f"true grid gon does not say how azimuths were read. {AS_READ}"),
        (
            "azimuth: magnetic degrees mils",
            f"magnetic degrees mils does not say how azimuths were read. {AS_READ}",
        ),
        ("count: double paces", f"double paces does not say what was counted. {AS_COUNTED}"),
        ("count:", f"nothing does not say what was counted. {AS_COUNTED}"),
        ("known: Oak", f"Oak does not name a known place. {NO_PLACE}"),
        ("known: = 1 2", f"= 1 2 does not name a known place. {NO_PLACE}"),
        ("known: Oak = 1 2 +-10", f"Oak = 1 2 +-10 does not name a known place. {NO_PLACE}"),
        ("known: Oak = 1 2 +/-10", f"Oak = 1 2 +/-10 does not name a known place. {NO_PLACE}"),
        ("known: Oak = 1 2 +-100000 m", "+-100000 m is not an uncertainty. Write less than 100 km."),
        ("known: Oak = local 12", f"local 12 is not a local place. {LOCAL}"),
        ("known: Oak = local nan 3", f"local nan 3 is not a local place. {LOCAL}"),
        (
            "known: Oak = local 9999999 3",
            "local 9999999 3 is farther than anyone walks. Write local EAST NORTH in metres from the start.",
        ),
    ],
)
def test_a_heading_that_cannot_be_is_one_complaint(text, says):
    with pytest.raises(Complaint) as raised:
        parsed(text)
    assert str(raised.value) == f"line 1, column heading {text.split(':')[0]}: {says}"


@pytest.mark.parametrize("written", ["2026-05-14", "14.05.2026", "14.5.2026", "14 May 2026", "14/05/2026"])
def test_a_date_is_read_as_people_write_it(written):
    assert parsed(f"date: {written}").date == datetime.date(2026, 5, 14)


@pytest.mark.parametrize("written", ["05/06/2026", "2026-02-30", "in spring"])
def test_a_date_that_is_no_day_or_one_of_two_withholds_nothing_and_is_kept(written):
    heading = parsed(f"date: {written}", "start: Gate")
    assert (heading.date, heading.unread_date, heading.start) == (None, written, "Gate")
    assert f"date: {written}" in format_heading(heading)


def test_a_known_place_may_be_in_feet_yards_or_chains():
    (point,) = parsed("known: Oak = local 66 ft -1 ch +-20 yd").known
    assert point.local_m == pytest.approx((20.1168, -20.1168)) and point.sd_m == pytest.approx(18.288)


@pytest.mark.parametrize("written", ["3°30'15\" W", "3-30-15 W", "3°30’15” W"])
def test_a_declination_may_have_seconds_and_any_marks(written):
    assert parse_declination(written) == pytest.approx(-(3 + 30 / 60 + 15 / 3600))


def test_a_place_give_or_take_nothing_is_exact():
    assert parsed("known: Oak = local 1 2 +-0 m").known[0].sd_m == EXACT_SD_M <= 0.01


def test_an_unknown_heading_is_refused_and_the_known_ones_named():
    with pytest.raises(FormatComplaint) as raised:
        parsed("title: A", "pace: 62")
    assert str(raised.value) == (
        "line 2: pace is not a heading of a travel log. The known ones are title, walker, date, azimuth, "
        "count, start, declination, known; a heading without a colon is prose."
    )


def test_a_heading_that_stands_twice_is_refused_but_known_may():
    with pytest.raises(FormatComplaint) as raised:
        parsed("count: paces", "title: A", "Count: steps")
    assert str(raised.value) == "line 3: the heading count stands twice. Keep one of them."
    assert len(parsed("known: A = 1 2", "known: B = 3 4").known) == 2
    with pytest.raises(
        FormatComplaint, match=r"^line 2, column heading known: A is given as a known place twice"
    ):
        parsed("known: A = 1 2", "known: A = 3 4")
