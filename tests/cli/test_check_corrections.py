"""What `check` corrects: pulled stations, struck readings and places, rows held against a plan."""

from __future__ import annotations

import pytest

from support.command import run

PULLED = {
    "degrees": ("0", "180", "90", "279", "189", "0", "270", "90"),
    "degrees and minutes": ("0°00'", "180°00'", "90°00'", "278°45'", "188°45'", "0°00'", "270°00'", "90°00'"),
    "mils": ("0", "3200", "1600", "4950", "3350", "0", "4800", "1600"),
    "gon": ("0", "200", "100", "310", "210", "0", "300", "100"),
}
BY = {"degrees": "9 deg", "degrees and minutes": "8 deg 45'", "mils": "150 mils", "gon": "10 gon"}
RIGHT = {
    "degrees": ("270", "180"),
    "degrees and minutes": ("270°00'", "180°00'"),
    "mils": ("4800", "3200"),
    "gon": ("300", "200"),
}


def pulled_page(tmp_path, unit):
    """A square in which the compass was pulled at Oak alone, by as much as its readings differ by."""
    first, back_1, second, back_2, third, back_3, last, back_4 = PULLED[unit]
    page = tmp_path / "pulled.csv"
    page.write_text(
        f"# azimuth: magnetic {unit.split()[0]}\n# count: paces\n# start: Gate\nazimuth,count,notes\n"
        f"{first},400,[back {back_1}]\n{second},400,[at Oak] [back {back_2}]\n{third},400,[back {back_3}]\n"
        f"{last},400,[back {back_4}] [at Gate]\n",
        encoding="utf-8",
    )
    return page


@pytest.mark.parametrize("command", ["check", "adjust"])
@pytest.mark.parametrize("unit", PULLED)
def test_readings_where_the_compass_was_pulled_are_printed_corrected_as_finely_as_they_were_read(
    tmp_path, unit, command
):
    said = run(command, pulled_page(tmp_path, unit)).out
    assert f"it read {BY[unit]} too high" in said
    assert f"take off {BY[unit]}." in said
    back, third = RIGHT[unit]
    table = [line.split() for line in said.splitlines()[-2:]]
    read = PULLED[unit]
    assert table[0] == ["leg", "2", read[2], "as", "read", read[3], back]
    assert table[1] == ["leg", "3", read[4], third, read[5], "as", "read"]
    told = run(command, pulled_page(tmp_path, unit), "--json").json["local_attraction"]
    assert told["corrected"] == [
        {"row": 1, "azimuth": read[2], "back": back},
        {"row": 2, "azimuth": third, "back": read[5]},
    ]


@pytest.mark.parametrize("unit", PULLED)
def test_accepting_a_pulled_station_corrects_what_was_read_there_and_undo_gives_it_back(tmp_path, unit):
    page, out = pulled_page(tmp_path, unit), tmp_path / "out.csv"
    suspects = run("check", page, "--json").json["suspects"]
    number = next(k for k, one in enumerate(suspects, start=1) if one["kind"] == "station_pulled")
    assert f"may be {BY[unit]} too high" in run("check", page, "--accept", number, "--out", out).out
    rows = out.read_text(encoding="utf-8").splitlines()[4:]
    back, third = RIGHT[unit]
    assert f"[back {back}] [was {PULLED[unit][3]} back]" in rows[1]
    assert rows[2].startswith(f"{third},400,") and rows[2].endswith(f"[was {PULLED[unit][4]}]")
    assert run("check", out).code == 0
    run("check", out, "--undo", "all", "--out", tmp_path / "back.csv")
    assert (tmp_path / "back.csv").read_bytes() == page.read_bytes()


def test_forward_and_back_readings_are_said_to_agree_only_where_they_do(tmp_path):
    page = tmp_path / "copied.csv"
    page.write_text(
        "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\nazimuth,count,notes\n"
        "0,400,[back 180]\n90,400,[back 90]\n180,400,[back 0]\n270,400,[back 90] [at Gate]\n",
        encoding="utf-8",
    )
    said = run("check", page).out
    agree = next(line for line in said.splitlines() if line.startswith("Forward and back readings agree"))
    assert agree.endswith(
        "along Gate to station 1, station 2 to station 3 and station 3 to Gate: taken as clean."
    )
    assert "Left aside, for one reading is wrong by itself: station 1 to station 2." in said
    assert "was [back 90] read backward?" in said
    for extra in (["--accept", "1", "--out", "a.csv"], ["--planned"]):
        changed = [tmp_path / one if one.endswith(".csv") else one for one in extra]
        assert "was [back 90] read backward?" in run("check", page, *changed).out
        changed = [str(one).replace("a.csv", "b.csv") for one in changed]
        assert len(run("check", page, *changed, "--json").json["questions"]) == 1
    undone = run("check", tmp_path / "a.csv", "--undo", "2", "--out", tmp_path / "c.csv")
    assert "was [back 90] read backward?" in undone.out
    assert (tmp_path / "c.csv").read_bytes() == page.read_bytes()


def test_a_struck_known_place_is_put_back_by_its_name(tmp_path):
    page = tmp_path / "known.csv"
    page.write_text(
        "# azimuth: magnetic degrees\n# count: metres\n# start: Gate\n# known: Barn = local 0 1400 +-5 m\n"
        "azimuth,count,notes\n0,500,\n0,500,[at Barn]\n90,300,\n180,1000,\n270,300,[at Gate]\n",
        encoding="utf-8",
    )
    suspects = run("check", page, "--json").json["suspects"]
    assert suspects[0]["reading"] == "place"
    out = tmp_path / "out.csv"
    said = run("check", page, "--accept", 1, "--out", out)
    assert "The known place of Barn may be wrong" in said.out
    assert "struck out in the heading (# was ...)" in said.out
    assert "# was known Barn = local 0 1400 +-5 m\n" in out.read_text(encoding="utf-8")
    said = run("check", out, "--undo", "Barn", "--out", tmp_path / "back.csv")
    assert "with the last struck entry of Barn put back" in said.out
    assert (tmp_path / "back.csv").read_bytes() == page.read_bytes()


def test_a_log_is_held_against_its_plan(tmp_path):
    page, plan = tmp_path / "walk.csv", tmp_path / "plan.csv"
    head = "# azimuth: magnetic degrees\n# count: metres\n# start: Gate\n"
    plan.write_text(f"{head}azimuth,count,notes\n0,600,\n90,500,\n180,400,\n270,300,\n", encoding="utf-8")
    page.write_text(
        f"{head}# known: Barn = local 500 600 +-5 m\nazimuth,count,notes\n"
        "0,600,\n180,400,[at Barn]\n90,500,\n270,300,\n",
        encoding="utf-8",
    )
    said = run("check", page, "--plan", plan)
    assert said.code == 1
    assert "two cards or rows were exchanged" in said.out
    told = run("check", page, "--plan", plan, "--json").json["suspects"][0]
    assert (told["kind"], told["legs"]) == ("rows_exchanged", [2, 3])
    assert "may have been walked in the other order" in told["says"]
    run("check", page, "--plan", plan, "--accept", 1, "--out", tmp_path / "out.csv")
    rows = (tmp_path / "out.csv").read_text(encoding="utf-8").splitlines()[5:]
    assert rows[1] == "90,500,[at Barn] [was 180] [was 400 count]"
    assert "leave --planned and --undo away" in run("check", page, "--plan", plan, "--planned").err


@pytest.mark.parametrize(
    ("reference", "says"),
    [
        ("magnetic", "was taken to turn these magnetic azimuths to true north"),
        (
            "true",
            "These are true azimuths: the declination in the heading, 6 E, was taken to be what the walker",
        ),
        (
            "grid",
            "These are grid azimuths: the declination in the heading, 6 E, was taken to be what the walker",
        ),
    ],
)
def test_it_is_said_how_a_declination_was_read(tmp_path, reference, says):
    page = tmp_path / "walk.csv"
    page.write_text(
        f"# azimuth: {reference} degrees\n# declination: 6 E\n# start: Gate\nazimuth,count,notes\n"
        "0,600,\n90,500,\n180,600,\n270,500,[at Gate]\n",
        encoding="utf-8",
    )
    assert says in run("check", page).out
