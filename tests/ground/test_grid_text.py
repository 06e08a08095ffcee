"""A place as people type it, in every form; GeographicLib's manual page of GeoConvert names many."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint, ValueComplaint
from pacewright.ground.grid import zone_of
from pacewright.ground.grid_text import Position, format_place, parse_place
from pacewright.ground.local_grid import LocalGrid
from support.authorities import read_authority


def metres_between(one, other):
    """Straight through a round Earth: near enough for metres, also across a pole."""

    def on_sphere(latitude, longitude):
        a, b = math.radians(latitude), math.radians(longitude)
        return math.cos(a) * math.cos(b), math.cos(a) * math.sin(b), math.sin(a)

    return 6_378_000 * math.dist(on_sphere(*one), on_sphere(*other))


@pytest.mark.parametrize(
    ("text", "form", "precision_m"),
    [
        ("33.3 N 44.4 E", "degrees", 11_132),
        ("33°18'00\"N 44°24'00\"E", "seconds", 30.92),
        ("38n 444140.54 3684706.36", "utm", 0.01),
        ("38N 444140.5 3684706.4", "utm", 0.1),
        ("444140.54 3684706.36 38n", "utm", 0.01),
        ("38 N 444140.54, 3684706.36", "utm", 0.01),
        ("38S 444140.54 3684706.36", "utm", 0.01),
        ("UTM zone 38 north 444140.5mE 3684706.4mN", "utm", 0.1),
        ("UTM 38N E444140.5 N3684706.4", "utm", 0.1),
        ("38SMB4414084706", "mgrs", 1),
        ("38s mb 44140 84706", "mgrs", 1),
        ("38S MB 4414084706", "mgrs", 1),
    ],
)
def test_every_form_is_the_same_place(text, form, precision_m):
    place = parse_place(text)
    assert (place.latitude_deg, place.longitude_deg) == pytest.approx((33.3, 44.4), abs=1e-5)
    assert place.form == form
    assert place.precision_m == pytest.approx(precision_m, rel=1e-3)


@pytest.mark.parametrize("row", read_authority("geoconvert_places.csv"), ids=lambda row: row["mgrs"])
def test_what_geoconvert_prints_is_read_as_the_place_it_was_made_from(row):
    zone, east, north = row["zone"], row["east_m"], row["north_m"]
    # The southern hemisphere is written out: a bare S can be the band of 32 to 40 north.
    texts = [f"{zone.replace('s', ' south ').replace('n', 'N').strip()} {east} {north}", row["mgrs"]]
    for text, off_m in zip(texts, (0.002, 0.8), strict=True):
        place = parse_place(text)
        there = (float(row["latitude_deg"]), float(row["longitude_deg"]))
        assert metres_between((place.latitude_deg, place.longitude_deg), there) < off_m, text


def test_s_behind_a_zone_is_the_band_where_the_metres_north_lie_in_it():
    band = parse_place("17S 500000 4000000")
    assert 32 <= band.latitude_deg < 40
    assert "read as the band S" in band.remarks[0]
    assert "17 south 500000 4000000" in band.remarks[0]
    assert -58 < parse_place("17 south 500000 4000000").latitude_deg < -50


def test_s_behind_a_zone_is_the_southern_hemisphere_everywhere_else():
    place = parse_place("56S 334873 6252266")
    assert (place.latitude_deg, place.longitude_deg) == pytest.approx((-33.857, 151.215), abs=1e-5)
    assert place.remarks == ()


@given(st.floats(-79.9, 83.9), st.floats(-180, 179.99))
def test_no_written_place_is_ever_read_in_the_other_hemisphere(latitude, longitude):
    place = Position(latitude, longitude)
    again = parse_place(format_place(place, "utm"))
    assert again.latitude_deg == pytest.approx(latitude, abs=1e-5)
    assert again.remarks == () or abs(latitude) < 1e-5 or again.remarks[0].startswith("this place belongs")


def test_n_behind_a_zone_is_the_same_as_band_and_hemisphere():
    assert parse_place("31N 500000 884000").latitude_deg == parse_place("31 north 500000 884000").latitude_deg


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("38T 444140 3684706", "no place in the band T, which holds latitudes 40 to 48"),
        ("38H 444140 3684706", "no place in the band H"),
        ("38I 444140 3684706", "I in .* is neither a hemisphere nor a latitude band"),
        ("61N 444140 3684706", "61 is not a UTM zone"),
        ("0N 444140 3684706", "0 is not a UTM zone"),
        ("38N 3684706 444140", "3684706 is not a number east"),
        ("38N 900001 3684706", "900001 is not a number east"),
        ("38N 100001 9300000", "lies outside the UTM zone 38 north"),
        ("A 2096454 1452981", "does not lie in A"),
        ("38TMB4484", "names no square on the Earth"),
        ("38S", "names a zone of the grid and no place in it"),
        ("38S MB 4488 4", "not two equal halves"),
        ("UTM foo", "is not a place on a grid"),
        ("N 444140 3684706", "444140 is not a number east on a polar grid"),
        ("Gate", "Gate is not a place"),
        ("", "an empty text is not a place"),
        ("-115.2 33.3", "latitude and longitude swapped"),
        ("1" * 300, "too long"),
    ],
)
def test_what_is_no_place_is_refused_with_its_reason(text, says):
    with pytest.raises((FormatComplaint, ValueComplaint), match=says) as refused:
        parse_place(text)
    assert "\n" not in str(refused.value)


def test_a_band_letter_forgives_a_rounded_metre_on_its_edge():
    """40 N on the middle of zone 38 is 4427757.219 north (GeoConvert)."""
    for letter, north in (("T", 4427757), ("S", 4427758)):
        assert parse_place(f"38{letter} 500000 {north}").latitude_deg == pytest.approx(40, abs=1e-5)


def test_a_place_given_on_a_neighbouring_grid_keeps_it_and_says_so():
    place = parse_place("31N 600000 6684706")
    assert place.zone is not None and place.zone.number == 31
    assert "belongs to the UTM zone 32 north" in place.remarks[0]
    assert format_place(place, "utm") == "31N 600000 6684706"


def test_a_square_on_the_edge_of_its_zone_is_not_remarked_on():
    """GeoConvert writes 78 N 9 E so; the middle of that metre lies west of 9 E, in zone 31."""
    place = parse_place("33XUG6097365496")
    assert zone_of(place.latitude_deg, place.longitude_deg).number == 31
    assert place.remarks == ()


def test_the_poles_are_places():
    assert parse_place("N 2000000 2000000").latitude_deg == 90
    assert parse_place("90 0").latitude_deg == 90
    assert format_place(Position(-90, 0), "polar") == "south 2000000 2000000"
    assert parse_place("south 2000000 2000000").latitude_deg == -90


@given(
    st.floats(-90, 90),
    st.floats(-180, 179.999),
    st.sampled_from(["degrees", "minutes", "seconds", "utm", "polar", "mgrs"]),
)
def test_a_place_written_in_any_form_is_read_back_within_half_its_last_digit(latitude, longitude, form):
    place = Position(latitude, longitude)
    if form in ("utm", "polar") and (form == "polar") != zone_of(latitude, longitude).is_polar:
        with pytest.raises(ValueComplaint, match=r"near a pole|far from both poles"):
            format_place(place, form)
        return
    again = parse_place(format_place(place, form))
    assert again.form == form
    turned = math.remainder(again.longitude_deg - longitude, 360) * math.cos(math.radians(latitude))
    assert math.hypot(again.latitude_deg - latitude, turned) < 2.3 / 110_000


def read_or_complain(text):
    try:
        parse_place(text)
    except Complaint:
        return


@given(st.text(max_size=40))
def test_no_text_does_worse_than_a_complaint(text):
    read_or_complain(text)


@given(st.text(alphabet="0123456789. NSEWTUVMBABYZlocal-", max_size=30))
def test_no_jumble_of_its_own_letters_does_worse_than_a_complaint(text):
    read_or_complain(text)


def test_a_local_place_needs_its_grid():
    with pytest.raises(MissingComplaint, match="needs to know where its grid begins"):
        parse_place("local 120 -45")
    with pytest.raises(MissingComplaint, match="needs to know where its grid begins"):
        format_place(Position(33.3, 44.4), "local")
    with pytest.raises(FormatComplaint, match="is not a local place"):
        parse_place("local 120", LocalGrid(33.3, 44.4))


def test_a_local_place_goes_to_the_map_and_back():
    grid = LocalGrid(33.3, 44.4, turn_deg=5.0)
    place = parse_place("local 120 -45", grid)
    assert (place.form, place.precision_m) == ("local", 1)
    assert format_place(place, "local", grid) == "local 120 -45"


def test_an_unknown_form_is_refused():
    with pytest.raises(ValueComplaint, match="is not a form of a place"):
        format_place(Position(0, 0), "words")  # type: ignore[arg-type]


def test_a_place_off_the_earth_cannot_be_made():
    with pytest.raises(ValueComplaint, match="not a latitude"):
        Position(math.nan, 0)


def test_a_square_with_a_corner_far_aside_of_its_zone_is_read():
    # GeoConvert (GeographicLib) puts the middle of 35XLL at 35n 350000 9050000, 81.40395 17.97516.
    place = parse_place("35XLL")
    assert (place.latitude_deg, place.longitude_deg) == pytest.approx((81.40395, 17.97516), abs=5e-6)
