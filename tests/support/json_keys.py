"""What every command prints with --json on the files that ship with the tool."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from unittest import mock

from pacewright.files.bundled import bundled
from pacewright.reading import page_read
from pacewright.reading.page_read import ReadNumber, ReadPage, ReadRow
from support.command import run

LOOP = "# start: A\n# known: A = local 0 0\n# known: T = local 300 300\nazimuth,count,notes\n" + (
    "0,100,[back 180]\n45,,[see T]\n90,100,\n340,,[see T]\n180,100,\n270,98,[at A]\n"
)
LIE = "# date: 2026-05-14\n# count: paces\nazimuth,count,notes\n,,[faces NE]\n30,120,[up]\n120,200,[down]\n"
SLIP = LOOP.replace("180,100,", "180,200,")
PULLED = LOOP.replace("[back 180]", "[back 192]")
MAPPED = "# known: A = local 0 0 +-0 m\n# known: B = local 90 0 +-5 m\n# start: A\nazimuth,count,notes\n" + (
    "95,60,[at B]\n0,60,\n275,60,\n180,60,[at A]\n"
)
PLACED = (
    "# date: 2026-05-14\n# azimuth: grid degrees\n# count: metres\n# start: A\n"
    "# known: A = 37.4521 -119.2984 +-10 m\nazimuth,count,notes\n90,100,\n"
)
HANDED = "learner,card,east_m,north_m\nAda Quill,1,10,20\nTam Rook,2,40,5\n"
RUNS: dict[str, list[str]] = {
    "adjust": ["{loop}", "--walker", "{walker}"],
    "back": ["{log}", "--walker", "{walker}"],
    "calibrate": ["{trials}"],
    "check": ["{loop}", "--walker", "{walker}"],
    "fix": ["--bearing", "A=local 0 0=225", "--bearing", "B=local 200 0=135"],
    "leg": ["local 0 0", "local 300 400", "--walker", "{walker}"],
    "north": ["37.4521", "-119.2984", "--date", "2026-05-14"],
    "range": ["mils", "--size", "10", "--angle-mil", "10"],
    "reckon": ["{log}", "--walker", "{walker}"],
    "sun": ["37.4521", "-119.2984", "--date", "2026-05-14"],
    "draw": ["{log}", "--out", "{new}.svg"],
    "export": ["{log}", "--out", "{new}.csv"],
    "sheet": ["log", "{log}", "--out", "{new}.pdf"],
    "locate": ["{lie}", "--terrain", "{ground}"],
    "plan": ["local 0 0", "local 0 900", "--no-map", "--known-line", "track: local -300 500; local 600 520"],
    "course set": ["field", "--learners", "4", "--out", "{course}"],
    "course key": ["{course}"],
    "course sheet": ["cards", "{course}", "--out", "{new}-cards.pdf"],
    "course grade": ["{course}", "{handed}"],
    "course drill": ["plot", "--out", "{new}-drill.pdf"],
    "demo": ["--into", "{demo}"],
    "course progress": ["Ada Quill", "--day", "2026-05-14", "{course}", "{handed}"],
}
MORE: dict[str, list[list[str]]] = {
    "adjust": [
        ["{loop}", "--rule", "compass"],
        ["{mapped}", "--frame", "map", "--walker", "{walker}"],
        ["{pulled}", "--walker", "{walker}"],
    ],
    "back": [
        ["{log}", "--walker", "{walker}", "--retrace"],
        ["{log}", "--line", "45"],
        ["{loop}", "--to", "1"],
    ],
    "check": [["{slip}", "--walker", "{walker}"], ["{log}", "--plan", "{log}"], ["{pulled}"]],
    "fix": [
        [
            *(
                "--bearing",
                "A=local 0 0=225",
                "--bearing",
                "B=local 200 0=135",
                "--bearing",
                "C=local 90 0=200",
            )
        ],
        ["--taken-at", "local 0 0=45", "--taken-at", "local 200 0=315"],
    ],
    "north": [
        ["37.4521", "-119.2984", "--date", "2026-05-14", "--azimuth", "305", "--grid", "EPSG:32611"],
        [
            "--declination",
            "3 W",
            "--map-date",
            "1990",
            "--map-annual",
            "7' E",
            "--azimuth",
            "10",
            "--date",
            "2026",
        ],
    ],
    "range": [["base-line", "--base", "75", "--base-azimuth", "90", "--from-a", "38", "--from-b", "338"]],
    "reckon": [["{mapped}", "--walker", "{walker}", "--frame", "map"], ["{placed}", "--grid", "EPSG:32611"]],
    "sheet": [["traverse-table", "--out", "{new}-table.pdf"]],
    "sun": [
        [
            "37.4521",
            "-119.2984",
            "--back",
            "{log}",
            "--walker",
            "{walker}",
            "--time",
            "09:00",
            "--zone",
            "-07:00",
        ],
        [
            "37.4521",
            "-119.2984",
            "--date",
            "2026-05-14",
            "--time",
            "09:00",
            "--zone",
            "-07:00",
            "--compass",
            "80",
        ],
    ],
}
"""Further runs, for what stands nested in an answer to another question."""


def files_for(folder: Path) -> dict[str, str]:
    """The files that the runs read, made in a folder: by name, with the folder itself and what is written."""
    bundled_files = {
        "log": "cinder_fen.csv",
        "walker": "ines_rowe.toml",
        "trials": "pace_trials.csv",
        "ground": "demo_ground.tif",
    }
    for name in bundled_files.values():
        (folder / name).write_bytes(bundled(name))
    typed = {"loop": LOOP, "bad": "azimuth,count,notes\n361,1,\n", "lie": LIE, "handed": HANDED}
    typed |= {"slip": SLIP, "mapped": MAPPED, "pulled": PULLED, "placed": PLACED}
    for name, text in typed.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    written = {"course": "course.toml", "new": "new", "demo": "demo"}
    names = {**bundled_files, **{name: f"{name}.csv" for name in typed}, **written}
    return {key: str(folder / name) for key, name in names.items()}


def printed_objects(folder: Path) -> dict[str, list[dict[str, Any]]]:
    """By command the objects that it printed, the plain run first; and a complaint."""
    places = files_for(folder)
    found: dict[str, list[dict[str, Any]]] = {}
    for command, arguments in RUNS.items():
        found[command] = []
        for k, one in enumerate([arguments, *MORE.get(command, [])]):
            words = [word.format(**places) for word in one]
            said = run(*command.split(), *words, "--json")
            assert said.code in (0, 1), f"{command} {k}: {said.err} {said.out[:300]}"
            found[command].append(said.json)
    found["read"] = [_read(folder), _read(folder, card=7)]
    found["complaint"] = [run("reckon", places["bad"], "--json").json]
    return found


def _read(folder: Path, card: int = 0) -> dict[str, Any]:
    """What is printed of a page with a digit in doubt; the page is stated, no picture is read."""
    one_of = (0.0, 0.3, 0.0, 0.0, 0.0, 0.0, 0.0, 0.7, 0.0, 0.0)
    sure = tuple(float(digit == 3) for digit in range(10))
    rows = (
        ReadRow(1, ReadNumber("37", (sure, one_of), "digit"), ReadNumber("3", (sure,)), ("at",), False, True),
        ReadRow(2, ReadNumber("3", (sure,)), ReadNumber("", ()), ("see",), True, False),
    )
    photo = folder / "page.jpg"
    photo.write_bytes(b"page")
    with mock.patch.object(page_read, "read_page", lambda _: ReadPage(1, rows, card=card)):
        return dict(run("read", photo, "--json").json)
