"""What every command prints with --json on the files that ship with the tool: its keys and their types."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pacewright.files.bundled import bundled
from support.command import run

LOOP = "# start: A\n# known: A = local 0 0\n# known: T = local 300 300\nazimuth,count,notes\n" + (
    "0,100,[back 180]\n45,,[see T]\n90,100,\n340,,[see T]\n180,100,\n270,98,[at A]\n"
)
LIE = "# date: 2026-05-14\n# count: paces\nazimuth,count,notes\n,,[faces NE]\n30,120,[up]\n120,200,[down]\n"
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
    "course progress": ["Ada Quill", "--day", "2026-05-14", "{course}", "{handed}"],
}
_TYPES = {bool: "boolean", int: "number", float: "number", str: "string", list: "array", dict: "object"}


def type_of(value: Any) -> str:
    """The name that JSON Schema has for a value's type."""
    return "null" if value is None else _TYPES[type(value)]


def printed_keys(folder: Path) -> dict[str, dict[str, str]]:
    """By command its top keys with the type of what stands there, and those of a complaint."""
    bundled_files = {
        "log": "cinder_fen.csv",
        "walker": "ines_rowe.toml",
        "trials": "pace_trials.csv",
        "ground": "demo_ground.tif",
    }
    for name in bundled_files.values():
        (folder / name).write_bytes(bundled(name))
    typed = {"loop": LOOP, "bad": "azimuth,count,notes\n361,1,\n", "lie": LIE, "handed": HANDED}
    for name, text in typed.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    names = {
        **bundled_files,
        **{name: f"{name}.csv" for name in typed},
        "course": "course.toml",
        "new": "new",
    }
    places = {key: str(folder / name) for key, name in names.items()}
    found = {}
    for command, arguments in RUNS.items():
        said = run(*command.split(), *(one.format(**places) for one in arguments), "--json")
        assert said.code in (0, 1), f"{command}: {said.err}"
        found[command] = {key: type_of(value) for key, value in said.json.items()}
    found["complaint"] = {k: type_of(v) for k, v in run("reckon", folder / "bad.csv", "--json").json.items()}
    return found
