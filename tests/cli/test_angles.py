"""Angles typed with curly marks, dashes and decimal commas; printed in degrees and minutes where asked."""

from __future__ import annotations

import json
import re

import pytest
from options_page import every_option

from pacewright.cli.angles import table_with_minutes
from support.command import run

SQUARE = (
    "# known: A = local 0 0 +-0 m\n# known: B = local 90 0 +-5 m\n# start: A\nazimuth,count,notes\n"
    "95,60,[at B]\n0,60,\n275,60,\n180,60,[at A]\n"
)


@pytest.mark.parametrize(
    "typed", ["226.9064", "226,9064", "226°54'23\"", "226°54’23”", "226-54-23", "226–54–23"]
)
def test_an_azimuth_means_the_same_however_it_is_typed(typed):
    if typed == "226,9064":
        typed = "226,91"
    turned = run("north", "--declination", "3°30’ W", "--azimuth", typed, "--json").json["azimuth"]
    assert turned["to"]["azimuth_deg"] == pytest.approx(223.4064, abs=0.004)


@pytest.mark.parametrize("typed", ["3.5 W", "3,5 W", "3°30' W", "3°30’ W", "3-30 W", "3–30 W", "3° 30′ W"])
def test_a_declination_means_the_same_however_it_is_typed(typed):
    turned = run("north", "--declination", typed, "--azimuth", "100", "--json").json["azimuth"]
    assert turned["to"]["azimuth_deg"] == pytest.approx(96.5)


def test_every_command_that_prints_tenths_of_a_degree_prints_minutes_where_asked(tmp_path):
    log = tmp_path / "square.csv"
    log.write_text(SQUARE, encoding="utf-8")
    for words in (
        ("adjust", log, "--frame", "map"),
        ("sun", "37.45", "-119.3", "--date", "2026-05-14", "--time", "09:00", "--zone", "-07:00"),
        (
            "fix",
            "--bearing",
            "A=local 0 100=315",
            "--bearing",
            "B=local 100 100=45",
            "--bearing",
            "C=local 50 100=2,5",
            "--angles-only",
        ),
        ("range", "right-angle", "--base", "30", "--first-azimuth", "0,5", "--second-azimuth", "330"),
    ):
        plain, minutes = run(*words), run(*words, "--angle", "dms")
        assert re.search(r"\d\.\d deg", plain.out), words
        assert not re.search(r"\d deg", minutes.out), words
        assert re.search(r"\d°\d\d'", minutes.out), words
        again = run(*words, "--angle", "dms", "--json")
        assert json.loads(again.out) == run(*words, "--json").json


def test_a_column_of_degrees_is_written_in_minutes_too():
    assert table_with_minutes(["noon", "height\ndeg", "off"], [["12:01", "63.5", "-0.25 deg"]]) == (
        ["noon", "height", "off"],
        [["12:01", "63°30'", "-0°15'"]],
    )


def test_angle_is_declared_once():
    declared = {command: option for command, option in every_option() if "--angle" in option.opts}
    assert {"north", "sun", "fix", "adjust", "check", "back", "reckon", "leg", "locate", "plan"} <= set(
        declared
    )
    assert len({(option.help, tuple(option.type.choices)) for option in declared.values()}) == 1


def test_a_length_in_metres_may_carry_its_own_unit():
    assert run("leg", "--metres", "66 ft", "--json").json["metres"] == pytest.approx(20.1168)
    assert run("leg", "--metres", "1 ch", "--json").json["metres"] == pytest.approx(20.1168)
    assert run("leg", "--metres", "20,5", "--json").json["metres"] == pytest.approx(20.5)
