"""Every number on every sheet of a log is that of the command for the same log; none is left over.

A page is read back from its PDF. What a command says or gives in JSON must stand there, and is struck out;
so is what is reckoned here, by the arithmetic that stands beside it; so are the log's own cells. No digit
may be left then.
"""

from __future__ import annotations

import math
import re
from collections import Counter

import pytest

from pacewright.wording.sheets import TOO_FAR_RULE
from pacewright.wording.sheets_field import OVERDUE, TELL
from support.numbered_page import LOGS, TIMES, Page, asked, cells, cord, write_log

PER_100_M = {"": 62.5, "brush": 71.0}
OF_A_LOG = ("leg-card", "way-back", "debrief", "route", "emergency")


@pytest.fixture(params=LOGS)
def log(request, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_log(tmp_path, request.param)
    return request.param


def minutes_of(leg):
    """Walk 4 km in the hour, off paths (the route card says so), at the pace count of the ground."""
    return round(leg[1] / PER_100_M[leg[2]] * 100 / 4000 * 60)


def too_far_of(leg):
    """The count behind which the end lies 39 times in 40.

    Its scatter is that of counting the leg when it was logged and again when it is walked: 5 % and at least
    one pace each; 1.96 standard deviations hold 95 in 100 (normal distribution, any table).
    """
    sd = math.hypot(1.0, 0.05 * leg[1])
    return math.ceil(leg[1] + 1.96 * math.sqrt(2.0) * sd)


def test_leg_card(log):
    legs, unit = LOGS[log]
    page, times = Page("leg-card"), TIMES[unit]
    page.head()
    page.bead(unit)
    page.take(TOO_FAR_RULE)
    page.take("Minutes: 4 km in the hour off paths")
    for number, (leg, (azimuth, count, _)) in enumerate(zip(legs, cells(legs, unit), strict=True), start=1):
        row = page.take_pattern(rf"(?<!\S){number} {azimuth} {(azimuth + 180) % 360} {count} (\d+) ")
        assert abs(int(row[1]) - times * too_far_of(leg)) <= times, row[0]
        page.take(f"{cord(count, unit)}; {minutes_of(leg)} min")
    page.way_back(unit)
    assert page.numbers() == []


def test_route_card(log):
    legs, unit = LOGS[log]
    page = Page("route")
    page.head()
    page.bead(unit)
    names = [at.removeprefix("at ") or f"station {k}" for k, (_, _, _, at, _) in enumerate(legs, start=1)]
    for number, (leg, (azimuth, count, _)) in enumerate(zip(legs, cells(legs, unit), strict=True), start=1):
        page.take(f"{number} {names[number - 1]} {azimuth} {count} {minutes_of(leg)}")
    total = sum(map(minutes_of, legs))
    page.take(f"In all {total // 60} h {total % 60:02d} min by 4 km in the hour")
    page.take(OVERDUE)
    stations = asked("reckon", "--json").json["placed"]["stations"]
    for which, told in (("From", stations[0]["position"]), ("To", stations[-1]["position"])):
        stands = page.take_pattern(rf"{which} [^:]+: (\S+) N (\S+) W, MGRS ([\w ]+)\.")
        decimals = len(stands[1].partition(".")[2])
        assert float(stands[1]) == round(told["latitude_deg"], decimals)
        assert float(stands[2]) == -round(told["longitude_deg"], decimals)
        assert stands[3].replace(" ", "") == told["mgrs"]
    page.drop(asked("reckon").out)
    assert page.numbers() == []


def test_way_back_card(log):
    page, back = Page("way-back"), asked("back", "--sighting-distance", "20", "--retrace", "--json").json
    unit = LOGS[log][1]
    times = TIMES[unit]
    page.head()
    page.bead(unit)
    on_map = back["map"]
    page.take(
        f"On the map: azimuth {on_map['azimuth_deg']:.0f} deg (magnetic), {on_map['length_m']:.0f} metres, "
        f"within {on_map['along_m']:.0f} metres along and {on_map['across_m']:.0f} across"
    )
    page.way_back(unit)
    search = back["search"]
    for number, side in enumerate(search["legs"], start=1):
        length, total = (f"{times * side[name]:.0f}" for name in ("length", "total"))
        page.take(f"{number} {side['azimuth_deg']:.0f} {length} {total} {100 * side['seen_share']:.0f}")
    at_once = f"{100 * search['seen_at_once']:.0f}"
    page.take(f"0 look round 0 0 {at_once}")
    last = search["legs"][-1]
    page.take(f"where the count was full ({times * back['count']})")
    page.take(f"in sight at once {at_once} times in 100")
    page.take(f"sides {times * search['spacing']:.0f} {unit} apart")
    page.take(f"{len(search['legs'])} sides, {times * last['total']:.0f} {unit} in all")
    page.take(f"into sight {100 * last['seen_share']:.0f} times in 100")
    page.take(f"seen from {times * 20} {unit} off")
    page.take("seen by then of 100")
    page.take("the goal lies inside it 95 times in 100")
    # On the drawing stand the sides by their numbers, and a scale; more than eight only where they lie apart.
    drawn = page.take_pattern(r"If it is not there ((?:\d+ )+)look stop 0 (\d+) (steps|paces)")
    assert drawn[1].split() == [str(k) for k in range(1, 1 + len(search["legs"]))]
    # The retraced log is written in the log's own unit.
    (row,) = back["retrace"]["rows"]
    page.take(f"1 {row['azimuth']} {row['count']} ends at Gate")
    page.take(f"1 leg, {row['count']} {unit} in all")
    along, across = (f"{times * back['retrace'][name]:.0f}" for name in ("along", "across"))
    page.take(f"within {along} {unit} along and {across} across the direct line (95 in 100)")
    # What a walker is believed to be off all day, unless the walker file says otherwise: METHOD's defaults.
    page.take("pace count (3 %) and compass (1.5 deg)")
    assert page.numbers() == []


def test_debrief(log):
    page, unit = Page("debrief"), LOGS[log][1]
    page.foot()
    found, adjusted = asked("check", "--json").json, asked("adjust", "--json").json
    for one in adjusted["stations"]:
        east, north = (f"{one[name]:.0f}".replace("-0", "0") for name in ("east", "north"))
        moved = r" \d+ \d+ x \d+" if one["leg"] else " 0"
        named = f"{one['name']} " if one["name"] else ""
        page.take_pattern(rf"(?<!\S){one['index']} {named}{east} {north}{moved}(?!\S)")
    for closure in found["closures"]:
        assert f"misses it by {closure['length']:.0f} metres" in page.left
    back = asked("back", "--json").json
    # At a desk a count of steps stands behind the paces, as in the command.
    count, look, stop, off = (
        f"{one} paces ({2 * one} steps)" if unit == "steps" else str(one)
        for one in (back["count"], back["look_from"], back["stop_at"], back["stop_at"] - back["count"])
    )
    along, across = (f"{back[name]:.0f}" for name in ("along", "across"))
    page.take(f"azimuth {back['azimuth_deg']:.0f} deg (magnetic), {count}")
    page.take(f"{cord(back['count'], 'paces')}.")
    page.take(f"within {along} paces of Gate along your line and {across} across (95 in 100).")
    page.take(f"Look for it from {look} on. Stop at {stop}; do not walk on.")
    page.take(f"Turn to {(back['azimuth_deg'] + 180) % 360:.0f} deg, walk back {off}, and search from there.")
    page.take(f"On other ground: brush {back['other_counts']['brush']}.")
    for command in ("reckon", "check", "adjust", "back"):
        page.drop(asked(command).out)
    # On the drawing: the numbers of what has no name of its own, a scale in metres, the step of its crosses.
    page.take_pattern(r"0 [1-9]( 000|00)? metres crosses [1-9]\d* metres apart")
    page.take("Gate (6)")
    if log == "with a mistake":
        page.take("over 99 %")
    for number in (2, 4):
        page.take_pattern(rf" {number}(?= )")
    assert page.numbers() == []


def test_emergency_card(log):
    page, told = Page("emergency"), asked("reckon", "--json").json
    page.head()
    last = told["placed"]["stations"][-1]["position"]
    east, west = last["latitude_deg"], -last["longitude_deg"]
    page.take(f"{east:.4f} N {west:.4f} W")
    zone, square, digits = re.fullmatch(r"(\d+\w)(\w\w)(\d+)", last["mgrs"]).groups()
    half = len(digits) // 2
    page.take(f"MGRS {zone} {square} {digits[:half]} {digits[half:]}")
    to_m = 10 ** (5 - half)
    grid = [f"{to_m * round(last[name] / to_m)}" for name in ("east_m", "north_m")]
    page.take(f"{told['placed']['grid']} {grid[0]} E {grid[1]} N")
    for said in TELL:
        page.take(said)
    page.drop(asked("reckon").out)
    assert page.numbers() == []


def test_log_page(log):
    page, (legs, unit) = Page("log"), LOGS[log]
    page.foot()
    page.take("2026-05-14")
    page.take("Gate = 37.4521 -119.2984 +-10 m")
    for number, row in enumerate(cells(legs, unit), start=1):
        page.take(f"{number} {' '.join(map(str, row))}")
    # The key of the remarks shows each with a made-up figure.
    left = Counter(re.sub(r"[^\d]", "", one) for one in page.numbers())
    assert left == Counter(["126", "40", "40", "15", "9", "512", "1432", "52", "58", "20"])


@pytest.mark.parametrize("paper", ["letter", "a5", "pocket", "pocket-letter"])
@pytest.mark.parametrize("kind", OF_A_LOG)
def test_other_paper_has_no_other_number(log, kind, paper):
    on_a4, here = Page(kind), Page(kind, paper)
    on_a4.foot()
    here.foot()
    # A drawing of another width has other crosses, and another scale bar: 1, 2 or 5 and noughts.
    here.left = re.sub(r"(crosses|\+ every) \d+ metres", "", here.left)
    new = {one for one in bare(here) - bare(on_a4) if not re.fullmatch("[125]0*|000", one)}
    if kind == "debrief" and paper != "letter":
        # In narrow columns a suspect is told by the sentence of check, which says what the row says.
        new -= set(re.findall(r"\d+", asked("check", "--json").out))
    assert not new


def bare(page):
    """Every number of a page without what stands about it."""
    return {re.sub(r"^\W+|\W+$", "", one) for one in page.numbers()}


def digits_of(count):
    """Take a count apart: each digit and what it is moved by."""
    written = str(count)
    return [(int(one), 10 ** (len(written) - k)) for k, one in enumerate(written, start=1) if one != "0"]


def parts_of(azimuth, count):
    """Add up the parts of all digits, each from a table of three decimals: north and east, signed."""
    turns = math.cos(math.radians(azimuth)), math.sin(math.radians(azimuth))
    return [sum(round(digit * turn, 3) * times for digit, times in digits_of(count)) for turn in turns]


def test_traverse_worked(log):
    legs, unit = LOGS[log]
    page = Page("traverse-table")
    page.left = page.left.partition("Worked, the pencil's own sum:")[2].partition("Traverse table printed")[0]
    north = east = 0.0
    for number, (leg, (azimuth, count, _)) in enumerate(zip(legs, cells(legs, unit), strict=True), start=1):
        paces = round(leg[1] * PER_100_M[""] / PER_100_M[leg[2]])
        apart = " + ".join(str(digit * times) for digit, times in digits_of(paces))
        up, right = parts_of(azimuth, paces)
        north, east = north + up, east + right
        page.take(f"{number} {azimuth} {count} {paces} {apart} {up:+.1f} {right:+.1f}")
    page.take(f"sum {north:+.1f} {east:+.1f}")
    page.take("Leg 1, 40: north 3.064 x 100 + 1.532 x 10 = +321.7; east 2.571 x 100 + 1.286 x 10 = +270.0.")
    row = round(math.degrees(math.atan2(-east, -north))) % 360
    large, small = max(abs(north), abs(east)), min(abs(north), abs(east))
    assert large == abs(north), "these walks end more to the north or south than to the side"
    along, across = (abs(turn(math.radians(row))) for turn in (math.cos, math.sin))
    page.take(
        f"north {-north:+.1f}, east {-east:+.1f}; {small:.1f} / {large:.1f} = {small / large:.3f}, nearest "
        f"to the row of {row}; {large:.1f} x {along:.3f} + {small:.1f} x {across:.3f} = "
        f"{large * along + small * across:.0f} paces."
    )
    back = asked("back", "--json").json
    page.take(f"gives the way back as {back['azimuth_deg']:.0f} deg, {back['count']} paces: walk by that.")
    page.drop(asked("reckon").out)
    assert page.numbers() == []
