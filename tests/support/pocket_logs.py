"""Pages as a pencil leaves them, by the thousand: all that the log's grammar has, and what it refuses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from pacewright.core.pace.scatter import CompassScatter, CountScatter
from pacewright.core.pace.walker import PaceClass, Walker

NAMES = ["Split oak", "Heron post", "Old ford", "Byre", "Cairn", "Weißer Stein", "Long  dyke", "Ναός"]
SEEN = ["Fire tower", "Chimney", "Split oak"]
GROUNDS = ["brush", "sand"]
PROSE = [
    "",
    "",
    "dry so far",
    'a "quoted" word',
    "wet, then dry",
    "río; hondo",
    "12",
    "  blanks  ",
    "#3 post",
]
IN_OTHER_WORDS = [
    "est 15",
    "est +-15 percent",
    "estimated",
    "approx 20",
    "boxed 40 R",
    "box 40 right",
    "around left 25 paces",
    "detour",
    "Downhill",
    "UPHILL",
    "levl",
    "climbing steeply",
    "time 1432",
    "time 2pm",
    "time 14.32 h",
    "clock 7",
    "backsight 126",
    "back azimuth 126",
    "back bearing 999",
    "back: 126",
    "reversed",
    "faces to the NE",
    "facing ne",
    "aspect XYZ",
    "faces",
    "slope 20 pct",
    "steep 30 per cent",
    "gradient",
    "altitude 512 metres",
    "alt 512'",
    "height 1600 feet",
    "elev 512",
    "crossed",
    "ford",
    "cros stream",
    "ridge",
    "on ridgs",
    "a brook",
    "dry",
    "in the valley",
    "flatt",
    "ground",
    "terrain brush",
    "gruond brush",
    "see",
    "saw Tower",
    "at",
    "arrived Byre",
    "@Byre",
    "wass 52",
    "nearly there",
    "...",
    "t",
    "seee Tower",
    "marker Split oak",
    "corrected 52",
    "sighted: Chimney",
    "upp",
    "est ١٥",
    "Überhang",
    "box r 40.5",
    "round left",
    "tme 12:30",
    "stream on",
]
"""Remarks in other words, as people write them."""
POINTS = ["N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"]


@dataclass(frozen=True, slots=True)
class MadePage:
    """One page, who walks, and what is asked of it."""

    heading: tuple[str, ...]
    rows: tuple[tuple[str, str, str], ...]
    walker: Walker
    asked: dict[str, Any]


def draw_page(rng: np.random.Generator) -> MadePage:
    """Draw a page; about one in four holds something that the reader refuses."""
    unit = _one(rng, ["degrees"] * 4 + ["mils", "gon"])
    is_wrong = rng.random() < 0.25
    heading = _heading(rng, unit, is_wrong)
    legs = int(rng.integers(1, 4 if rng.random() < 0.3 else 16))
    classes = _classes(rng)
    grounds = [one.ground for one in classes if one.ground] if classes and not is_wrong else GROUNDS
    rows = []
    for _ in range(legs):
        rows.append(_leg(rng, unit, is_wrong, grounds, bool(classes)))
        if rng.random() < 0.12:
            rows.append(_bearing(rng, unit))
        if rng.random() < 0.08:
            rows.append(("", "", _one(rng, ["[on ridge]", "a note", "[flat]", "[time 14:32]", "[faces NE]"])))
    if is_wrong:
        for _ in range(int(rng.integers(1, 3))):
            rows[int(rng.integers(len(rows)))] = _wrong_row(rng, unit)
    stations = max(1, sum(1 for one in rows if one[1]))
    asked = _asked(rng, stations, grounds if classes else [])
    return MadePage(tuple(heading), tuple(rows), _walker(rng, classes), asked)


def _one(rng: np.random.Generator, many: list[Any]) -> Any:
    return many[int(rng.integers(len(many)))]


def _heading(rng: np.random.Generator, unit: str, is_wrong: bool) -> list[str]:
    lines = []
    if rng.random() < 0.7:
        lines.append(f"azimuth: {_one(rng, ['magnetic', 'true', 'grid'])} {unit}")
    elif unit != "degrees":
        lines.append(f"azimuth: magnetic {unit}")
    if rng.random() < 0.7:
        lines.append(f"count: {_one(rng, ['paces', 'paces', 'steps', 'metres'])}")
    if rng.random() < 0.7:
        lines.append("start: Gate")
    if rng.random() < 0.5:
        lines.append("title: Crossing, made")
    if rng.random() < 0.3:
        lines.append(f"walker: {_one(rng, ['Ines Rowe', 'INES  ROWE', 'Tamsin Vale'])}")
    if rng.random() < 0.3:
        lines.append(f"date: {_one(rng, ['2026-05-14', '20260514', '2024-02-29', '2026-W20-4'])}")
    if rng.random() < 0.3:
        lines.append(f"declination: {_one(rng, ['5.5 E', '3°30′ W', '0', '12 W', '7°15′ e'])}")
    if rng.random() < 0.1:
        lines.append(f"known: {_one(rng, NAMES[:4])} = local 120 -45 +-{_one(rng, ['10', '5.5'])} m")
    if rng.random() < 0.1:
        lines.append("a line of prose with no key")
    if is_wrong and rng.random() < 0.25:
        lines.append(_one(rng, _WRONG_HEADINGS))
    order = rng.permutation(len(lines))
    return [lines[k] for k in order]


_WRONG_HEADINGS = [
    "azimuth: degrees",
    "azimuth: magnetic degrees mils",
    "count: furlongs",
    "count:",
    "date: 14.5.2026",
    "date: 2026-02-30",
    "date: 2025-W53-1",
    "declination: 5.5",
    "declination: 190 E",
    "declination: 5°61' E",
    "known: Byre",
    "known: Byre = local 1",
    "known: Byre = local 2000000 0",
    "known: Byre = local 1 1 +-0 m",
    "known: Byre = somewhere +- m",
    "colour: red",
    "title: twice",
    "start: gate",
]


def _azimuth(rng: np.random.Generator, unit: str) -> str:
    full = {"degrees": 360, "mils": 6400, "gon": 400}[unit]
    kind = rng.random()
    whole = int(rng.integers(full + 1))
    if kind < 0.6:
        return str(whole)
    if kind < 0.7:
        return f"{rng.uniform(0, full):.{int(rng.integers(1, 4))}f}"
    if kind < 0.75:
        return f"{whole},5" if whole < full else "0"
    if kind < 0.82:
        return str(_one(rng, POINTS))
    if kind < 0.9:
        return f"{_one(rng, ['N', 's'])}{int(rng.integers(91))}{_one(rng, ['E', 'w'])}"
    if kind < 0.94:
        return f"S{int(rng.integers(90))}°{int(rng.integers(60)):02d}'{int(rng.integers(60)):02d}\"W"
    if unit == "degrees" and kind < 0.98:
        return f"{int(rng.integers(360))}°{int(rng.integers(60)):02d}'"
    return f" {whole} "


def _count(rng: np.random.Generator) -> str:
    kind = rng.random()
    if kind < 0.8:
        return str(int(rng.integers(1, 900)))
    if kind < 0.88:
        return f"{rng.uniform(0, 500):.1f}"
    if kind < 0.92:
        return f"{int(rng.integers(1, 90))},5"
    return _one(rng, ["0", "12.", ".5", " 240 ", "٢٤٠", "1000"])


def _leg(
    rng: np.random.Generator, unit: str, is_wrong: bool, grounds: list[str], told: bool
) -> tuple[str, str, str]:
    notes = []
    for share, make in (
        (0.35, lambda: f"[at {_one(rng, ['Gate', *NAMES])}]"),
        (0.12, lambda: f"[box {_one(rng, ['right', 'left', 'RIGHT'])} {int(rng.integers(5, 90))}]"),
        (0.05, lambda: "[box left 12.5]"),
        (0.1, lambda: _one(rng, ["[est]", "[est 15%]", "[est 30 %]"])),
        (0.2 if told else 0.05, lambda: f"[ground {_one(rng, grounds)}]"),
        (0.15, lambda: _one(rng, ["[up]", "[down]", "[level]"])),
        (0.08, lambda: _one(rng, ["[cross stream]", "[no stream]"])),
        (0.06, lambda: f"[back {_azimuth(rng, unit).strip()}]"),
        (0.05, lambda: _one(rng, ["[on ridge]", "[in valley]", "[on stream]", "[faces S40W]", "[flat]"])),
        (0.05, lambda: _one(rng, ["[slope 20 %]", "[alt 512 m]", "[alt -3 ft]", "[time 14:32]"])),
        (
            0.08,
            lambda: _one(rng, ["[or 58 9%]", "[or S40W 2.5 %]", "[or 9 count 12%]", "[OR 7 61%] [or 8 38%]"]),
        ),
        (0.05, lambda: _one(rng, ["[was 52]", "[was 230 count]", "[was at Byre]", "[was 120 see Tower]"])),
    ):
        if rng.random() < share:
            notes.append(make())
    prose = _one(rng, PROSE)
    text = " ".join([*notes, prose]) if rng.random() < 0.7 else " ".join([prose, *notes])
    return _azimuth(rng, unit), _count(rng), text


def _bearing(rng: np.random.Generator, unit: str) -> tuple[str, str, str]:
    return _azimuth(rng, unit), "", f"[see {_one(rng, SEEN)}] {_one(rng, PROSE)}"


def _wrong_row(rng: np.random.Generator, unit: str) -> tuple[str, str, str]:
    return _one(
        rng,
        [
            ("361", "240", "") if unit == "degrees" else ("6401", "240", ""),
            ("-5", "240", ""),
            ("30 deg", "240", ""),
            ("N95E", "240", ""),
            ("40.5°20'", "10", ""),
            ("105", "", ""),
            ("", "240", ""),
            ("105", "240 paces", ""),
            ("105", "1e3", ""),
            ("105", "2000000", ""),
            ("105", "1.200", ""),
            ("105", "240", "[at Split oak] [at Byre]"),
            ("105", "240", "[att Byre]"),
            ("105", "240", "[at Byre"),
            ("105", "240", "[time 25:00]"),
            ("105", "240", "[est 120%]"),
            ("105", "240", "[alt 512]"),
            ("105", "240", "[slope 20]"),
            ("105", "240", "[slope 600 %]"),
            ("105", "240", "[back 999]"),
            ("105", "240", "[or 58 100%]"),
            ("105", "240", "[or 410 9%]"),
            ("105", "240", "[or 58 60%] [or 59 40%]"),
            ("105", "240", "[or 58]"),
            ("105", "240", "[or 58 9]"),
            ("105", "240", "[see Byre]"),
            ("", "", "[see Byre]"),
            ("105", "", "[see Byre] [down]"),
            ("", "", "[down]"),
            ("105", "240", "[cross stream] [no stream]"),
            ("105", "240", "[on ridge] [in valley]"),
            ("105", "240", "[at split oak]"),
            ("105", "240", "[ground lava]"),
            ("105", "240", f"[{_one(rng, IN_OTHER_WORDS)}]"),
            ("105", "240", "[]"),
            ("105", "240", "[" + "x" * 60 + "]"),
            ("9" * 70, "240", ""),
            ("105", "9" * 50, ""),
        ],
    )


def _classes(rng: np.random.Generator) -> tuple[PaceClass, ...]:
    if rng.random() < 0.6:
        return ()
    found = []
    for ground in GROUNDS[: int(rng.integers(1, 3))]:
        for slope in _one(rng, [[None], [None, "up"], ["level", "up", "down"], [None, "down"]]):
            sd, runs = _one(rng, [(0.0, 0), (1.3, 0), (0.0, 4)])
            found.append(PaceClass(ground, slope, None, round(float(rng.uniform(60, 85)), 1), sd, runs))
    if rng.random() < 0.5:
        found.append(PaceClass("", "up", None, 70.5, 0.9))
    return tuple(found)


def _walker(rng: np.random.Generator, classes: tuple[PaceClass, ...]) -> Walker:
    if rng.random() < 0.15:
        return Walker()
    wide = rng.random() < 0.15
    compass = CompassScatter(
        azimuth_sd_deg=float(rng.uniform(15, 30)) if wide else float(rng.uniform(0.5, 5)),
        bias_sd_deg=float(_one(rng, [0.0, 1.5, 8.0])),
        reading_interval_deg=float(_one(rng, [0.0, 1.0, 2.0, 5.0])),
        bias_deg=float(_one(rng, [0.0, 0.0, 1.25])),
        sighting_bias_deg=float(_one(rng, [0.0, 0.5])),
    )
    count = CountScatter(
        scale_sd_pct=float(rng.uniform(0, 6)),
        count_sd_pct=float(rng.uniform(0.5, 9)),
        count_floor=float(rng.uniform(0, 2)),
    )
    has_pace = classes or rng.random() < 0.8
    name = _one(rng, ["", "Ines Rowe", "ines rowe"])
    return Walker(name, 62.5 if has_pace else None, compass, count, classes)


def _asked(rng: np.random.Generator, stations: int, grounds: list[str]) -> dict[str, Any]:
    asked: dict[str, Any] = {"from_station": stations, "to": 0, "probability": 0.95}
    if rng.random() < 0.2 and stations > 1:
        asked["from_station"], asked["to"] = (int(k) for k in rng.choice(stations + 1, 2, replace=False))
    if rng.random() < 0.1:
        asked["probability"] = float(_one(rng, [0.5, 0.8, 0.99, 0.999]))
    if rng.random() < 0.4:
        asked["line_deg"] = float(rng.integers(360))
        asked["toward_deg"] = float(rng.integers(360)) if rng.random() < 0.3 else None
        asked["wrong_side"] = float(_one(rng, [0.02, 0.01, 0.1]))
    if rng.random() < 0.3:
        asked["sighting_distance"] = float(_one(rng, [5.0, 20.0, 60.0]))
    asked["with_retrace"] = bool(rng.random() < 0.5)
    if grounds and rng.random() < 0.2:
        asked["ground"] = _one(rng, grounds)
        asked["slope"] = _one(rng, [None, "up", "down"])
    return asked
