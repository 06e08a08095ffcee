"""Sheets read back number by number: the logs, and a page from which what a command says is struck out."""

from __future__ import annotations

import re
from pathlib import Path

from support.command import run
from support.pdf_pages import words

WALKER = 'name = "Ines Rowe"\n[pace]\nper_100_m = 62.5\n[pace.ground.brush]\nper_100_m = 71.0\n'
HEAD = (
    "# title: Round by the tower\n# walker: Ines Rowe\n# date: 2026-05-14\n# azimuth: magnetic degrees\n"
    "# count: {unit}\n# start: Gate\n# known: Gate = 37.4521 -119.2984 +-10 m\nazimuth,count,notes\n"
)
LEGS = (
    (40, 420, "", "at Split oak", ""),
    (95, 310, "brush", "", "back 274"),
    (150, 380, "", "at Fire tower", ""),
    (215, 260, "brush", "", ""),
    (262, 290, "", "at Heron post", "back 83"),
    (309, 440, "", "at Gate", ""),
    (12, 150, "", "at Well", ""),
)
"""Round to the start and on from it: marker met again, place known, two grounds, two lines read back."""
WRONG = tuple((330 if leg[0] == 150 else leg[0], *leg[1:]) for leg in LEGS)
"""The third azimuth read from the wrong end of the needle."""
TIMES = {"paces": 1, "steps": 2}
FOOT = re.compile(
    r"(?i)printed \d{4}-\d\d-\d\d(, page \d+ of \d+)?|Print at 100 %: \d+ mm from corner to corner"
    r"|\b\d / \d\b"
)
LOGS = {"good": (LEGS, "paces"), "with a mistake": (WRONG, "paces"), "steps": (LEGS, "steps")}


def cells(legs, unit):
    """The log's own rows, as they are written."""
    times = TIMES[unit]
    for azimuth, count, ground, at, back in legs:
        remarks = [at, ground and f"ground {ground}", back]
        yield azimuth, count * times, " ".join(f"[{one}]" for one in remarks if one)


def write_log(folder, kind):
    """Write a log of a kind and its walker into a folder."""
    legs, unit = LOGS[kind]
    rows = "".join(f"{azimuth},{count},{notes}\n" for azimuth, count, notes in cells(legs, unit))
    (folder / "log.csv").write_text(HEAD.format(unit=unit) + rows, encoding="utf-8")
    (folder / "ines.toml").write_text(WALKER, encoding="utf-8")


def asked(command, *more):
    return run(command, "log.csv", "--walker", "ines.toml", *more)


class Page:
    """What is written on a sheet, and what of it is not yet accounted for."""

    def __init__(self, kind, paper="a4", more=()):
        walker = () if kind == "log" else ("--walker", "ines.toml")
        asks = ("--paper", paper, "--out", "sheet.pdf", "--force", *more)
        said = run("sheet", kind, "log.csv", *walker, *asks)
        assert (said.code, said.err) == (0, "")
        self.left = words(Path("sheet.pdf").read_bytes())

    def take(self, said, times=1):
        """Strike out what must stand there."""
        flat = " ".join(str(said).split())
        for _ in range(times):
            found = re.search(rf"(?<![\w.]){re.escape(flat)}(?![\w%]|\.\d)", self.left)
            assert found, f"{flat!r} is not in {self.left!r}"
            self.left = f"{self.left[: found.start()]} | {self.left[found.end() :]}"

    def take_pattern(self, pattern):
        """Strike out what must stand there and is known in its shape alone; give what it holds."""
        found = re.search(pattern, self.left)
        assert found, f"{pattern!r} is not in {self.left!r}"
        self.left = f"{self.left[: found.start()]} | {self.left[found.end() :]}"
        return found

    def drop(self, text):
        """Strike out every line of a command that stands there; none has to."""
        lines = {" ".join(line.split()) for line in text.splitlines()}
        for line in sorted((one for one in lines if re.search(r"\d", one)), key=len, reverse=True):
            self.left = self.left.replace(line, " | ")

    def head(self):
        """Strike out what stands at the head and the foot of a sheet."""
        declination = asked("reckon", "--json").json["placed"]["declination_deg"]
        self.take("2026-05-14")
        self.take("62.5 paces to 100 m (known to 3 %)")
        self.take(f"declination {declination:.1f} deg east (WMM-2025)")
        self.foot()

    def foot(self):
        self.left = FOOT.sub("", self.left)

    def bead(self, unit):
        # A bead is a hundred of what is counted, ten of them one of the upper: common practice.
        self.take(f"1 lower bead = 100 {unit}, 1 upper bead = 1000 {unit}")

    def way_back(self, unit):
        """Strike out the way back: its figures in the log's own unit, its sentences as in the command."""
        back, times = asked("back", "--json").json, TIMES[unit]
        count, look, stop = (times * back[name] for name in ("count", "look_from", "stop_at"))
        self.take(f"{back['azimuth_deg']:.0f} {count} {look} {stop}")
        self.way_back_told(unit)

    def way_back_told(self, unit):
        """Strike out the sentences of the way back alone."""
        back, times = asked("back", "--json").json, TIMES[unit]
        count, look, stop = (times * back[name] for name in ("count", "look_from", "stop_at"))
        azimuth = f"{back['azimuth_deg']:.0f}"
        self.take(f"azimuth {azimuth} deg (magnetic), {count} {unit}.")
        self.take(f"{cord(count, unit)}.")
        along, across = (f"{times * back[name]:.0f}" for name in ("along", "across"))
        self.take(f"within {along} {unit} of Gate along your line and {across} across (95 in 100).")
        turned = f"{(back['azimuth_deg'] + 180) % 360:.0f}"
        self.take(f"Look for it from {look} on. Stop at {stop}; do not walk on.")
        self.take(f"Turn to {turned} deg, walk back {stop - count}, and search from there.")
        self.take(f"On other ground: brush {times * back['other_counts']['brush']}.")
        self.drop(asked("back").out)

    def numbers(self):
        """What is not accounted for."""
        return re.findall(r"\S*\d\S*", self.left)


def cord(count, unit):
    """The beads of a count under a thousand, and what is left over."""
    beads, rest = divmod(count, 100)
    if not beads:
        return f"{rest} {unit}"
    said = f"{beads} lower bead{'s' if beads > 1 else ''}"
    return f"{said}, {rest} {unit}" if rest else said
