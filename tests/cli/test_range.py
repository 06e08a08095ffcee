"""pacewright range: one subcommand a method, sentences or one object, and a drawing."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from pacewright.cli.range import command
from pacewright.exceptions import Complaint

RIGHT_ANGLE = ["right-angle", "--base", "40", "--first-azimuth", "N51°15'W", "--second-azimuth", "278°45'"]
EVERY = {
    "right_angle": RIGHT_ANGLE,
    "base_line": ["base-line", "--base", "75", "--base-azimuth", "E", "--from-a", "38", "--from-b", "338"],
    "stakes": ["stakes", "--to-stake", "24", "--stake-to-turn", "16", "--inland", "12"],
    "mils": ["mils", "--size", "10", "--angle-mil", "10", "--azimuth", "NE"],
    "thumb": ["thumb", "--jump", "50", "--ratio", "9.4"],
    "sound": ["sound", "--delay-s", "2.4", "--air-temp-c", "15"],
}
KEYS = [
    *("method", "distance", "distance_sd", "unit", "low", "high"),
    *("probability", "rule_of_thumb", "rule_off_pct", "row"),
]


def run(*arguments: str) -> str:
    done = CliRunner().invoke(command, list(arguments), catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.output


@pytest.mark.parametrize("method", EVERY)
def test_every_method_answers_with_the_promised_keys(method):
    answer = json.loads(run(*EVERY[method], "--json"))
    assert list(answer)[: len(KEYS)] == KEYS
    assert answer["method"] == method
    assert answer["low"] < answer["distance"] < answer["high"]
    assert set(answer["row"]) == {"azimuth", "count", "notes"}
    assert answer["row"]["notes"].startswith("[est ")


def test_the_sentences_end_in_the_row_to_paste():
    assert run(*RIGHT_ANGLE).splitlines()[-1] == "309,69,[est 12%] width by a right angle from 40 paces"


def test_a_point_of_the_compass_is_an_azimuth():
    assert json.loads(run(*EVERY["mils"], "--json"))["row"]["azimuth"] == "45"


def test_azimuths_may_be_in_mils_or_gon_and_the_row_is_as_well():
    """The same readings in another unit of the circle (6400 mils, 400 gon) give the same width."""
    degrees = json.loads(
        run("right-angle", "--base", "40", "--first-azimuth", "9", "--second-azimuth", "324", "--json")
    )
    for unit, first, second in (("mils", "160", "5760"), ("gon", "10", "360")):
        options = [
            "--base",
            "40",
            "--first-azimuth",
            first,
            "--second-azimuth",
            second,
            "--azimuth-unit",
            unit,
        ]
        answer = json.loads(run("right-angle", *options, "--json"))
        assert answer["distance"] == pytest.approx(degrees["distance"])
        assert answer["row"]["azimuth"] == first


def test_a_width_of_a_school_book_in_yards_comes_out_in_metres():
    """40 yd square, 12 yd at C, crossing 24 + 16: 12 x 24 / 16 = 18 yd (river_widths.csv, stakes)."""
    answer = json.loads(
        run("stakes", "--to-stake", "24 yd", "--stake-to-turn", "16 yd", "--inland", "12 yd", "--json")
    )
    assert (answer["unit"], answer["distance"]) == ("metre", pytest.approx(18 * 0.9144))
    with pytest.raises(Complaint, match="Write the unit behind each, or behind none"):
        run("stakes", "--to-stake", "24 yd", "--stake-to-turn", "16", "--inland", "12")


def test_a_decimal_comma_is_a_decimal_point():
    both = [
        run("thumb", "--jump", jump, "--ratio", ratio) for jump, ratio in (("50.5", "9.4"), ("50,5", "9,4"))
    ]
    assert both[0] == both[1]


def test_a_wider_share_gives_a_wider_region():
    usual, wide = (json.loads(run(*RIGHT_ANGLE, "--json", "--probability", p)) for p in ("0.5", "0.99"))
    assert wide["low"] < usual["low"] and usual["high"] < wide["high"]


def test_a_base_of_known_scatter_gives_a_surer_width():
    usual, taped = (json.loads(run(*RIGHT_ANGLE, "--json", *more)) for more in ([], ["--base-sd", "0.1"]))
    assert taped["distance_sd"] < usual["distance_sd"]


def test_a_walker_file_turns_metres_into_the_paces_of_the_log(tmp_path):
    walker = tmp_path / "ines.toml"
    walker.write_text('name = "Ines Rowe"\n[pace]\nper_100_m = 62.5\n', encoding="utf-8")
    said = run(*EVERY["sound"], "--walker", str(walker), "--log-unit", "paces")
    assert said.splitlines()[-1].startswith(",510,[est 9%]")


@pytest.mark.parametrize(("suffix", "begins"), [(".svg", b"<svg"), (".png", b"\x89PNG"), (".pdf", b"%PDF")])
def test_the_drawing_is_written_in_the_kind_its_name_ends_in(tmp_path, suffix, begins):
    out = tmp_path / f"river{suffix}"
    run(*EVERY["stakes"], "--draw", str(out))
    assert out.read_bytes().startswith(begins)


def test_a_drawing_is_not_written_over_another_unless_forced(tmp_path):
    out = tmp_path / "river.svg"
    out.write_text("mine", encoding="utf-8")
    with pytest.raises(Complaint, match="already there"):
        run(*RIGHT_ANGLE, "--draw", str(out))
    assert out.read_text(encoding="utf-8") == "mine"
    run(*RIGHT_ANGLE, "--draw", str(out), "--force")
    assert out.read_text(encoding="utf-8").startswith("<svg")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["mils", "--size", "nan", "--angle-mil", "10"], "the size is nan, not a number"),
        (["mils", "--size", "10", "--angle-mil", "10", "--azimuth", "Q"], "--azimuth: Q is not an azimuth"),
        (["sound", "--delay-s", "2", "--air-temp-c", "75"], "from Fahrenheit"),
        ([*EVERY["sound"], "--log-unit", "paces"], "no pace count"),
    ],
)
def test_what_cannot_be_answered_is_one_complaint(arguments, says):
    with pytest.raises(Complaint, match=says):
        run(*arguments)
