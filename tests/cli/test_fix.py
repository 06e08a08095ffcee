"""pacewright fix: with a log, and with bearings typed on the line."""

from __future__ import annotations

import json
import math

import pytest
from click.testing import CliRunner

from pacewright.cli.fix import command
from pacewright.exceptions import Complaint
from pacewright.wording.fixes import CAUTION
from support.authorities import close_to_printed, read_authority

LOG = """\
# title: Cinder Fen, tower round
# azimuth: magnetic degrees
# count: paces
# start: Gate
# known: Fire tower = local 300 700 +-5 m
# known: Water tank = local -400 300 +-5 m
azimuth,count,notes
90,100,[at Split oak]
40,,[see Grey crag]
0,100,
14,,[see Fire tower]
284,,[see Water tank]
85,,[see Grey crag]
20,,[see Old mill]
"""
WALKER = 'name = "Ines Rowe"\n[pace]\nper_100_m = 62.5\n'
KEYS = {
    *("kind", "name", "east", "north", "covariance", "probability", "crossing_deg"),
    *("bias_deg", "bias_sd_deg", "observable", "region"),
}
TOWERS = [
    *("--bearing", "Fire tower=local 300 700=11.3", "--bearing", "Water tank=local -400 300=298.2"),
    *("--bearing", "Cairn=local 700 -200=110.3"),
]
TREE = ["--taken-at", "local 0 0=38", "--taken-at", "local 75 0=338"]


@pytest.fixture
def log(tmp_path):
    (tmp_path / "fen.csv").write_text(LOG, encoding="utf-8")
    (tmp_path / "ines.toml").write_text(WALKER, encoding="utf-8")
    return str(tmp_path / "fen.csv")


def run(*arguments: str, code: int = 0) -> str:
    done = CliRunner().invoke(command, list(arguments), standalone_mode=False, catch_exceptions=False)
    assert done.return_value == code, done.output
    return done.output


def test_a_log_gives_every_fix_it_holds_and_says_what_it_cannot_fix(log):
    out = run(log)
    assert "Station 2 lies 165 east and 159 north of Gate" in out
    assert "Grey crag lies" in out
    assert "Old mill was sighted from one place only (station 2)" in out
    assert out.rstrip().endswith(CAUTION)


def test_every_fix_has_the_promised_keys(log):
    fixes = json.loads(run(log, "--json"))["fixes"]
    assert [fix["kind"] for fix in fixes] == ["resection", "intersection"]
    for fix in fixes:
        assert set(fix) >= KEYS
        assert fix["region"][0] == fix["region"][-1]


def test_one_fix_stands_at_the_top_of_its_object(log):
    answer = json.loads(run(log, "--station", "2", "--json"))
    assert set(answer) >= KEYS | {"file"}
    assert answer["kind"] == "resection"
    assert answer["station"] == 2


def test_a_walker_with_a_pace_count_gets_metres_and_the_reckoning_beside(log, tmp_path):
    walker = ["--walker", str(tmp_path / "ines.toml")]
    crag = json.loads(run(log, "--landmark", "Grey crag", "--json", *walker))
    assert (crag["unit"], crag["frame"], crag["stations"]) == ("metre", "map", [1, 2])
    station = json.loads(run(log, "--station", "2", "--json", *walker))
    assert station["reckoned"] == pytest.approx([160, 160])
    assert json.loads(run(log, "--landmark", "Grey crag", "--json"))["unit"] == "pace"


def test_bearings_typed_on_the_line_fix_your_place():
    answer = json.loads(run(*TOWERS, "--json"))
    assert set(answer) >= KEYS
    assert (answer["east"], answer["north"]) == pytest.approx((160, 0), abs=2)
    assert "Places without +- are taken as known to 10 m" in run(*TOWERS)


def test_a_tree_across_the_river_lies_where_the_class_page_puts_it():
    """Survey class page: tree from both ends of 75 m of bank (river_widths.csv)."""
    width = next(row for row in read_authority("river_widths.csv") if row["result"] == "63.27")
    answer = json.loads(run(*TREE, "--json"))
    assert answer["kind"] == "intersection"
    assert close_to_printed(answer["north"], width["result"])
    assert run(*TREE).startswith("It lies 49 east and 63 north of the origin")


def test_angles_only_show_a_compass_that_is_off():
    turned = [
        text.replace("=11.3", "=31.3").replace("=298.2", "=318.2").replace("=110.3", "=130.3")
        for text in TOWERS
    ]
    answer = json.loads(run(*turned, "--angles-only", "--json"))
    assert (answer["east"], answer["north"]) == pytest.approx((160, 0), abs=2)
    assert answer["bias_deg"] == pytest.approx(20, abs=0.2)
    assert answer["observable"] is True


def test_bearings_that_contradict_each_other_are_a_finding():
    wrong = [text.replace("=110.3", "=150.3") for text in TOWERS]
    assert "These bearings contradict each other" in run(*wrong, code=1)


@pytest.mark.parametrize(
    ("arguments", "what"),
    [
        (
            ["--taken-at", "local 0 0=38", "--taken-at", "local 75 0=38"],
            "parallel as nearly as a compass can tell",
        ),
        (["--taken-at", "local 0 0=38"], "bearings from one place give a line"),
        (["--bearing", "A=local 1 2=3"], "1 bearing to known things cannot fix your place"),
        (["--bearing", "A=local 1 2"], "--bearing: A=local 1 2 is not a bearing"),
        ([*TOWERS[:4], "--angles-only"], "cannot fix your place by angles alone"),
    ],
)
def test_what_cannot_be_fixed_is_refused_with_a_sentence(arguments, what):
    with pytest.raises(Complaint) as refused:
        run(*arguments)
    assert what in str(refused.value)


def test_a_log_that_cannot_be_fixed_gives_a_sentence_and_code_two(log):
    run(log, "--landmark", "Old mill", code=2)
    answer = json.loads(run(log, "--landmark", "Old mill", "--json", code=2))
    assert "seen" not in answer
    assert "Old mill was sighted from one place only" in answer["complaint"]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ([], "Give travel logs, or bearings with --bearing, or bearings with --taken-at."),
        ([*TOWERS, *TREE], "Give travel logs, or bearings with --bearing, or bearings with --taken-at."),
        (
            [*TREE, "--angles-only"],
            "--angles-only is for your own place: leave out --landmark and --taken-at.",
        ),
        ([*TREE, "--station", "2"], "--station and --landmark name something of a travel log: give the log."),
        (["x", "--station", "1", "--landmark", "A"], "Give --station or --landmark, not both."),
    ],
)
def test_options_that_do_not_go_together_are_refused(arguments, says):
    done = CliRunner().invoke(command, arguments)
    assert done.exit_code == 2
    assert done.output.splitlines()[-1] == f"Error: {says}"


def test_a_start_that_nobody_knows_does_not_keep_a_station_from_being_fixed_on_the_map(tmp_path):
    # Plane trigonometry on the grid's own meridian: Knoll stands at 501300 E 5300600 N.
    tall, short = math.degrees(math.atan2(-1100, 900)) % 360, math.degrees(math.atan2(-100, -900)) % 360
    page = tmp_path / "open.csv"
    page.write_text(
        "# azimuth: grid degrees\n# count: metres\n# start: Camp\n"
        "# known: Spire = 32N 500200 5301500 +-1 m\n# known: Mast = 32N 501200 5299700 +-1 m\n"
        f"azimuth,count,notes\n60,500,[at Knoll]\n{tall:.1f},,[see Spire]\n{short:.1f},,[see Mast]\n",
        encoding="utf-8",
    )
    told = json.loads(run(str(page), "--json"))
    assert told["on_map"]["east_m"] == pytest.approx(501300, abs=3)
    assert told["on_map"]["north_m"] == pytest.approx(5300600, abs=3)
    assert "Knoll lies at 47.859 N 9.017 E, MGRS 32T NU 01" in run(str(page))
