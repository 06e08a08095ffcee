"""pacewright north: declination, convergence and azimuths, in sentences or one object."""

from __future__ import annotations

import json
import re

import pytest
from click.testing import CliRunner

from pacewright.cli.north import command
from pacewright.core.compass import parse_azimuth
from pacewright.exceptions import Complaint, MissingComplaint, ValueComplaint
from support.authorities import close_to_printed, read_authority
from support.command import run as run_whole

KEYS = [
    *("declination_deg", "declination_sd_deg", "annual_change_deg", "convergence_deg"),
    *("grid_magnetic_deg", "model", "valid_to"),
]
HERE = ["33.3", "-115.2", "--date", "2026-05-14"]


def run(*arguments, code=0):
    done = CliRunner().invoke(command, list(arguments), catch_exceptions=False, standalone_mode=False)
    assert done.return_value == code, done.output
    return done.output


def answer(*arguments, code=0):
    return json.loads(run(*arguments, "--json", code=code))


def test_the_promised_keys_come_first():
    found = answer(*HERE)
    assert list(found)[: len(KEYS)] == KEYS
    assert (found["model"], found["valid_to"]) == ("WMM-2025", "2030-01-01")
    assert found["grid_magnetic_deg"] == pytest.approx(found["declination_deg"] - found["convergence_deg"])


@pytest.mark.parametrize("row", read_authority("wmm2025_test_values.csv"))
def test_the_command_gives_the_official_test_values(row):
    height_m = str(1000 * float(row["height_km"]))
    found = answer(row["latitude_deg"], row["longitude_deg"], "--date", row["year"], "--height-m", height_m)
    assert close_to_printed(found["declination_deg"], row["declination_deg"])
    assert close_to_printed(found["annual_change_deg"], row["annual_change_deg"])


@pytest.mark.parametrize(
    "place",
    [
        ["33.3", "-115.2"],
        ["33.3 N 115.2 W"],
        ["33.3", "N", "115.2", "W"],
        ["11SPS6758885991"],
        ["11S", "PS", "67588", "85991"],
        ["11N", "667588", "3685991"],
    ],
)
def test_a_place_may_be_typed_in_any_form(place):
    found = answer(*place, "--date", "2026.0")
    assert (found["latitude_deg"], found["longitude_deg"]) == pytest.approx((33.3, -115.2), abs=2e-5)


def test_two_places_south_and_west_begin_with_a_minus():
    found = answer("-33.45", "-70.66", "--date", "2026.0")
    assert (found["latitude_deg"], found["longitude_deg"]) == (-33.45, -70.66)


def test_an_unknown_option_is_not_taken_for_a_place():
    done = CliRunner().invoke(command, [*HERE, "--dte", "3"])
    assert done.exit_code == 2
    assert "No such option" in done.output


def test_an_azimuth_is_turned_with_its_rule_beside_it():
    found = answer(*HERE, "--azimuth", "305", "--from", "magnetic", "--to", "grid")
    turned = found["azimuth"]
    assert turned["to"]["azimuth_deg"] == pytest.approx(305 + found["grid_magnetic_deg"])
    assert turned["rule"] == "grid = magnetic + grid-magnetic angle"
    assert (
        "Azimuth 305.0 deg magnetic is 314.5 deg grid: add 9.5 deg (grid = magnetic + grid-magnetic"
        in run(*HERE, "--azimuth", "305")
    )


def test_an_azimuth_goes_there_and_back():
    there = answer(*HERE, "--azimuth", "S40W", "--from", "grid", "--to", "magnetic")["azimuth"]["to"]
    back = answer(*HERE, "--azimuth", f"{there['azimuth_deg']:.9f}", "--from", "magnetic", "--to", "grid")
    assert back["azimuth"]["to"]["azimuth_deg"] == pytest.approx(220, abs=1e-6)


def test_an_old_map_is_brought_to_the_date():
    options = ["--map-declination", "3°30' W", "--map-date", "1990", "--map-annual", "6' E"]
    found = answer("33.3", "-115.2", "--date", "2026.0", *options)["map"]
    assert found["declination_deg"] == pytest.approx(-3.5 + 36 * 0.1)
    assert "stretched over more than 20 years" in run(*HERE, *options)


def test_a_stated_declination_is_used_and_not_only_shown():
    found = answer(*HERE, "--declination", "3.5 W", "--azimuth", "305", "--to", "true")
    assert found["azimuth"]["to"]["azimuth_deg"] == pytest.approx(301.5)
    assert found["declination_deg"] > 5, "the model's own stands where it did"
    said = run(*HERE, "--declination", "3.5 W", "--azimuth", "305", "--to", "true")
    assert said.startswith("Azimuth 305.0 deg magnetic is 301.5 deg true")
    assert "it differs from the model's by" in said


@pytest.mark.parametrize("row", read_authority("azimuth_conversions.csv"), ids=lambda row: str(row))
def test_published_conversions_need_no_place(row):
    """Published conversions with a stated angle (azimuth_conversions.csv)."""
    options = [f"--{row['angle_from']}", row["angle"], "--azimuth", row["azimuth"]]
    found = answer(*options, "--from", row["from_north"], "--to", row["to_north"])
    assert found["azimuth"]["to"]["azimuth_deg"] == pytest.approx(parse_azimuth(row["result"]))


def test_a_declination_of_1968_is_brought_to_1988():
    """NAVEDTRA 14069, ch. 13: 26°45' W in 1968, increasing 11' a year (the result recomputed)."""
    options = ["--declination", "26°45' W", "--map-date", "1968", "--map-annual", "increase 11'"]
    found = answer(*options, "--date", "1988")
    assert found["declination_deg"] == pytest.approx(-(30 + 25 / 60))
    assert found["convergence_deg"] is None and found["map"]["differs_deg"] is None


def test_a_grid_magnetic_angle_does_not_tell_where_true_north_is():
    with pytest.raises(MissingComplaint, match="does not tell where true north is"):
        run("--grid-magnetic", "9 E", "--azimuth", "190", "--to", "true")
    found = answer("--grid-magnetic", "9 E", "--convergence", "2 E", "--azimuth", "190", "--to", "true")
    assert found["azimuth"]["to"]["azimuth_deg"] == pytest.approx(201)
    assert found["declination_deg"] == pytest.approx(11)


def test_with_no_place_and_no_angle_both_are_asked_for():
    said = run_whole("north")
    assert said.code == 2 and "Give a place, or the angle as the map has it" in said.err


@pytest.mark.parametrize("row", read_authority("wmm2025_test_values.csv")[:6])
def test_all_of_the_field_is_that_of_the_official_test_values(row):
    height_m = str(1000 * float(row["height_km"]))
    options = [row["latitude_deg"], row["longitude_deg"], "--date", row["year"], "--height-m", height_m]
    found = answer(*options)
    for key in ("inclination_deg", "horizontal_nt", "north_nt", "east_nt", "down_nt", "total_nt"):
        assert close_to_printed(found[key], row[key])
    assert "The field dips" in run(*options, "--all") and "The field dips" not in run(*options)


def test_half_an_old_map_is_refused():
    with pytest.raises(MissingComplaint, match="Give --map-date and --map-annual together, or neither"):
        run(*HERE, "--map-declination", "3°30' W", "--map-date", "1990")


@pytest.mark.parametrize("date", ["2024-11-12", "2030-01-02", "1990"])
def test_a_date_outside_the_model_is_refused(date):
    with pytest.raises(ValueComplaint, match="2024-11-13 to 2030-01-01"):
        run("33.3", "-115.2", "--date", date)


@pytest.mark.parametrize(
    ("place", "says"),
    [
        (["-115.2", "33.3"], "swapped"),
        (["38TMB4484"], "names no square on the Earth"),
        (["91", "95"], "not a latitude"),
        (["Gate"], "is not a place"),
    ],
)
def test_what_is_no_place_is_refused(place, says):
    with pytest.raises(Complaint, match=says):
        run(*place, "--date", "2026.0")


def test_where_no_compass_works_the_caller_must_look():
    assert "Blackout zone" in run("86.5", "165", "--date", "2027", code=1)
    assert answer("86.5", "165", "--date", "2027", code=1)["compass_zone"] == "blackout"


def test_a_pole_is_answered_and_the_meridian_named():
    said = run("-90", "0", "--date", "2026.0")
    assert "meridian of the longitude given" in said
    assert "polar grid south" in said


def test_how_a_place_was_read_is_said():
    said = run("17S", "500000", "4000000", "--date", "2026.0")
    assert "Note: S behind the zone was read as the band S" in said


def test_a_grid_named_with_the_place_is_the_grid_of_the_answer():
    assert answer("31N", "600000", "6684706", "--date", "2026.0")["grid"] == "UTM zone 31 north"


@pytest.mark.parametrize(("suffix", "begins"), [(".svg", b"<svg"), (".png", b"\x89PNG"), (".pdf", b"%PDF")])
def test_the_diagram_is_written_in_the_kind_its_name_ends_in(tmp_path, suffix, begins):
    out = tmp_path / f"norths{suffix}"
    run(*HERE, "--draw", str(out))
    assert out.read_bytes().startswith(begins)


def test_the_day_is_today_unless_another_is_given(monkeypatch):
    monkeypatch.setattr("pacewright.cli.north._today", lambda: "2027-07-02")
    assert "on 2027-07-02" in run("33.3", "-115.2")


def test_a_wide_square_is_told_from_a_place():
    assert (
        "Note: the square is 10000 metres wide; this is its middle."
        in run_whole("north", "11SKB96", "--date", "2026").out
    )
    assert "middle" not in run_whole("north", "11SKB9660047250", "--date", "2026").out


def test_a_day_outside_the_model_is_named_as_it_was_typed():
    assert (
        "the date 2031-05-14 lies outside" in run_whole("north", "37.4", "-119.3", "--date", "2031-05-14").err
    )


def test_the_rules_are_in_the_unit_asked_for():
    said = run_whole("north", "37.4", "-119.3", "--date", "2026", "--azimuth-unit", "mils").out
    assert re.search(r"magnetic +true +add 2\d\d\.\d mils", said) and not re.search(r"add [\d.]+ deg", said)


def test_angles_are_said_in_degrees_and_minutes_as_the_books_print_them():
    """NAVEDTRA 14069, ch. 13: 26°45' W of 1968, increasing 11' a year, is 30°25' W in 1988."""
    old_map = ("--declination", "26°45' W", "--map-date", "1968", "--map-annual", "increase 11'")
    said = run_whole("north", *old_map, "--date", "1988", "--angle", "dms").out
    assert "has become 30°25' west" in said and "take 30°25' away" in said and " deg" not in said
    # Straight marks, curly marks and a dash are the same angle.
    for text in ("4°15' E", "4°15′ E", "4-15 E"):
        turned = run_whole("north", "--declination", text, "--azimuth", "317", "--from-north", "true",
                           "--to-north", "magnetic", "--angle", "dms").out  # fmt: skip
        assert "is 312°45' magnetic" in turned
    refused = run_whole("north", "37", "-119", "--angle", "dms", "--azimuth-unit", "mils")
    assert refused.code == 2 and "leave --azimuth-unit away" in refused.err
