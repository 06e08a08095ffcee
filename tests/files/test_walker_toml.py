"""A walker from and to TOML."""

from __future__ import annotations

from types import MappingProxyType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacewright.core.pace.pace_trials import PaceRun
from pacewright.core.pace.pace_walker import walker_from
from pacewright.core.pace.pacing import fit_pace_table
from pacewright.core.pace.scatter import CompassScatter, CountScatter
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.exceptions import Complaint, OutputComplaint
from pacewright.files.walker_toml import read_walker, write_walker

FULL = """\
name = "Ines Rowe"

[compass]
azimuth_sd_deg = 2.0
bias_sd_deg = 1.0
sighting_sd_deg = 1.5
reading_interval_deg = 2

[pace]
per_100_m = 62.5
scale_sd_pct = 2.5
count_sd_pct = 4.0
count_floor = 2

[pace.slope.up]
per_100_m = 68.0
load_kg = 8

[pace.ground.brush]
per_100_m = 71.0
per_100_m_sd = 1.5
runs = 4

[pace.ground.brush.up]
per_100_m = 80.0
runs = 1
borrowed = true

[origin]
"pace.per_100_m" = "8 runs on heath"
"""
WALKER = Walker(
    name="Ines Rowe",
    per_100_m=62.5,
    compass=CompassScatter(2.0, 1.0, 1.5, 2.0),
    count=CountScatter(2.5, 4.0, 2.0),
    classes=(
        PaceClass("", "up", 8.0, 68.0),
        PaceClass("brush", None, None, 71.0, 1.5, 4),
        PaceClass("brush", "up", None, 80.0, 0.0, 1, True),
    ),
    origin=MappingProxyType({"pace.per_100_m": "8 runs on heath"}),
)


def test_every_key_is_read():
    assert read_walker(FULL.encode()) == WALKER


def test_what_is_left_out_stands_at_the_default():
    assert read_walker(b'name = "Ines Rowe"') == Walker(name="Ines Rowe")


def test_a_walker_comes_back_from_its_file():
    assert read_walker(write_walker(WALKER)) == WALKER
    assert write_walker(read_walker(write_walker(WALKER))) == write_walker(WALKER)
    assert read_walker(write_walker(Walker())) == Walker()


def test_the_byte_order_mark_and_carriage_returns_of_an_editor_do_not_matter():
    assert read_walker(("\ufeff" + FULL.replace("\n", "\r\n")).encode()) == WALKER


def test_a_calibrated_walker_can_be_written():
    runs = [
        PaceRun(g, s, 8, 100, c)
        for g in ("heath", "brush")
        for s in ("up", "level", -9)
        for c in (62, 63, 64)
    ]
    walker = walker_from(fit_pace_table(runs), "Ines Rowe")
    assert read_walker(write_walker(walker)) == walker


PLACED = [
    (
        "[pace]\nper_100_m = -3",
        "pace.per_100_m: -3 is not a pace count (paces to a hundred metres). Write a number from 10 to 1000.",
    ),
    ("[pace]\nper_100_m = nan", "pace.per_100_m: nan is not a pace count"),
    ("[pace]\nper_100_m = inf", "pace.per_100_m: inf is not a pace count"),
    ("[pace]\nper_100_m = true", "pace.per_100_m: True is not a pace count"),
    ('[pace]\nper_100_m = "62"', "pace.per_100_m: 62 is not a pace count"),
    (f"[pace]\nper_100_m = 1{'0' * 400}", "pace.per_100_m: 1000000000"),
    (
        "[pace]\ncount_sd_pct = 0",
        "pace.count_sd_pct: 0 is not a scatter of counts in per cent. Write a number above 0, up to 100.",
    ),
    ("[compass]\nazimuth_sd_deg = -1", "compass.azimuth_sd_deg: -1 is not a scatter of azimuths in degrees."),
    ("[pace]\nper_100m = 62", "pace.per_100m: there is no key called per_100m here. Use one of: per_100_m, "),
    ("nmae = 1", "nmae: there is no key called nmae here. Use one of: name, compass, pace, origin, "),
    ("name = 3", "name: 3 is not a text. Put it into quotation marks."),
    ("pace = 62", "pace: pace is a single value. Write [pace] and its keys below it."),
    (
        "[pace.ground.brush]\nruns = 3",
        "pace.ground.brush.per_100_m: the pace count of this class is missing.",
    ),
    ("[pace.ground.brush]", "pace.ground.brush.per_100_m: the pace count of this class is missing."),
    ("[pace.ground.brush.steep]", "pace.ground.brush.steep: there is no key called steep here. Use one of: "),
    (
        "[pace.slope.steep]",
        "pace.slope.steep: there is no key called steep here. Use one of: level, up, down.",
    ),
    (
        "[pace.ground.brush]\nper_100_m = 71\nruns = 2.5",
        "pace.ground.brush.runs: 2.5 is not a number of runs. Write a whole number, 0 or more.",
    ),
    (
        "[pace.ground.brush]\nper_100_m = 71\nborrowed = 1",
        "pace.ground.brush.borrowed: 1 is neither true nor false. Write true or false.",
    ),
    ('[pace.ground.""]\nper_100_m = 71', "pace.ground: a ground has no name."),
    ("[origin]\na = 1", "origin.a: 1 is not a text."),
]


@pytest.mark.parametrize(("text", "says"), PLACED)
def test_what_is_wrong_is_said_with_its_key(text, says):
    with pytest.raises(Complaint) as refused:
        read_walker(text.encode(), "w.toml")
    assert str(refused.value).startswith(f"w.toml, column {says}")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "w.toml: this file is empty."),
        ("name = 'x'\nname = 'y'\n", "w.toml, line 2: this is not TOML (Cannot overwrite a value)."),
        ("name = ", "w.toml: this is not TOML (Invalid value at the end of the file)."),
    ],
)
def test_a_file_that_is_not_toml_is_refused_with_its_line(text, says):
    with pytest.raises(Complaint) as refused:
        read_walker(text.encode(), "w.toml")
    assert str(refused.value).startswith(says)


def test_a_deeply_nested_file_is_refused():
    with pytest.raises(Complaint, match="nested too deep"):
        read_walker(b"name = " + b"[" * 50_000)


def test_two_loads_of_one_class_are_not_merged_silently():
    two = Walker(classes=(PaceClass("brush", "up", 0, 70.0), PaceClass("brush", "up", 18, 75.0)))
    with pytest.raises(OutputComplaint) as refused:
        write_walker(two)
    assert str(refused.value).startswith("column pace.ground.brush.up: two classes have one ground and slope")


@pytest.mark.parametrize(
    "walker",
    [
        Walker(per_100_m=float("nan")),
        Walker(name="\ud800"),
        Walker(classes=(PaceClass("", None, None, 60.0),)),
    ],
    ids=[
        "a count that is no number",
        "a name that cannot be written",
        "an ordinary class beside the ordinary",
    ],
)
def test_a_walker_that_would_not_come_back_is_not_written(walker):
    with pytest.raises(OutputComplaint):
        write_walker(walker)


@given(st.binary(max_size=200))
def test_any_bytes_give_a_walker_or_a_complaint(data):
    try:
        read_walker(data)
    except Complaint as complaint:
        assert str(complaint)


NAMES = st.sampled_from(
    ["name", "compass", "pace", "origin", "ground", "slope", "up", "per_100_m", "runs", "brush"]
)
VALUES = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=5), st.dates()),
    lambda inner: st.one_of(st.lists(inner, max_size=2), st.dictionaries(NAMES, inner, max_size=4)),
    max_leaves=8,
)


def without_none(value):
    if isinstance(value, dict):
        return {key: without_none(v) for key, v in value.items() if v is not None}
    return [without_none(v) for v in value if v is not None] if isinstance(value, list) else value


@given(st.dictionaries(NAMES, VALUES, max_size=4))
def test_any_toml_gives_a_walker_or_a_complaint(table):
    import tomli_w

    data = tomli_w.dumps(without_none(table)).encode("utf-8", "replace")
    try:
        walker = read_walker(data)
    except Complaint as complaint:
        assert str(complaint)
    else:
        assert read_walker(write_walker(walker)) == walker


WORDS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=8).filter(str.strip)
CLASSES = st.builds(
    PaceClass,
    ground=WORDS,
    slope=st.sampled_from([None, "up", "level", "down"]),
    load_kg=st.one_of(st.none(), st.floats(0, 200)),
    per_100_m=st.floats(10, 1000),
    per_100_m_sd=st.floats(0, 50),
    runs=st.integers(0, 1000),
    borrowed=st.booleans(),
)


@given(
    name=WORDS,
    per_100_m=st.one_of(st.none(), st.floats(10, 1000)),
    classes=st.lists(CLASSES, max_size=5, unique_by=lambda one: (one.ground, one.slope)),
    origin=st.dictionaries(WORDS, WORDS, max_size=3),
)
def test_any_walker_comes_back_from_its_file(name, per_100_m, classes, origin):
    walker = Walker(name, per_100_m, classes=tuple(classes), origin=MappingProxyType(origin))
    data = write_walker(walker)
    back = read_walker(data)
    assert sorted(back.classes, key=repr) == sorted(classes, key=repr)
    assert (back.name, back.per_100_m, back.origin) == (name, per_100_m, origin)
    assert write_walker(back) == data
