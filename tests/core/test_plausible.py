"""Numbers nobody can mean are refused with a sentence, and digits of every script are read alike."""

from __future__ import annotations

import math
import warnings
from collections.abc import Callable
from typing import Any

import pytest

from pacewright.core import plausible
from pacewright.core.compass import parse_azimuth
from pacewright.core.log.log_heading import parse_declination, parse_heading
from pacewright.core.log.remarks import parse_remarks
from pacewright.core.log.written_numbers import read_count
from pacewright.core.plausible import Bounds, check_bounds, plain_digits
from pacewright.course.finish import Handed
from pacewright.course.marking import MarkingRule
from pacewright.exceptions import Complaint, ValueComplaint
from pacewright.files.csv_table import TableRow
from pacewright.files.marking_toml import read_rule
from pacewright.files.trials_csv import read_trials
from pacewright.ground.declination import parse_when
from pacewright.ground.grid_text import parse_place
from pacewright.ground.lat_lon_text import parse_lat_lon
from support.command import run
from support.limited import run_limited

TABLED = {name: one for name, one in vars(plausible).items() if isinstance(one, Bounds)}


@pytest.mark.parametrize("bounds", TABLED.values(), ids=TABLED)
def test_bounds_take_in_what_is_plausible_and_nothing_that_is_no_number(bounds: Bounds) -> None:
    check_bounds(1.0, bounds)
    for value in (math.nan, math.inf, -math.inf, 1e20, 10**400):
        with pytest.raises(ValueComplaint, match="Write a number from"):
            check_bounds(value, bounds)


SCRIPTS = {"full width": "\uff10", "Arabic-Indic": "\u0660", "Persian": "\u06f0", "Devanagari": "\u0966"}
READERS: dict[str, tuple[Callable[[str], Any], str]] = {
    "declination": (parse_declination, "3°30' W"),
    "azimuth": (parse_azimuth, "305"),
    "quadrant": (parse_azimuth, "S40W"),
    "count": (lambda text: read_count(text, "paces"), "240,5"),
    "date": (lambda text: parse_heading([(1, "date", text)]).date, "2026-05-14"),
    "known": (lambda text: parse_heading([(1, "known", text)]).known[0].local_m, "A = local 12 -3 +-10 m"),
    "latitude": (parse_lat_lon, "37.5 -118.2"),
    "UTM": (parse_place, "11N 295840 4137150"),
    "MGRS": (parse_place, "11SKA9584037150"),
    "when": (parse_when, "2026.5"),
    "box": (lambda text: parse_remarks(text)[0].offset, "[box right 40]"),  # type: ignore[union-attr]
    "time": (lambda text: parse_remarks(text)[0].minutes, "[time 14:32]"),  # type: ignore[union-attr]
    "altitude": (lambda text: parse_remarks(text)[0].altitude_m, "[alt 512 m]"),  # type: ignore[union-attr]
    "table": (lambda text: TableRow(1, {"a": text}).number("a"), "-12.5"),
    "trials": (
        lambda row: read_trials(f"ground,slope,load_kg,distance_m,count\n,level,{row}".encode())[0].count,
        "0,100,62",
    ),
}


@pytest.mark.parametrize("zero", SCRIPTS.values(), ids=SCRIPTS)
@pytest.mark.parametrize(("read", "text"), READERS.values(), ids=READERS)
def test_digits_of_every_script_are_read_alike(read: Callable[[str], Any], text: str, zero: str) -> None:
    written = "".join(chr(ord(zero) + int(one)) if one in "0123456789" else one for one in text)
    assert written != text and plain_digits(written) == text
    assert read(written) == read(text)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Handed("Ada", 1, minutes=1e20), "1e+20 is not a number of minutes (the walk of Ada)"),
        (lambda: Handed("Ada", 1, finish_m=(1e300, 0.0)), "is not a number of metres taped from a post"),
        (lambda: MarkingRule("x", "points_found", 1e308), "is not a number of marks (rule x)"),
        (lambda: MarkingRule("x", "points_found", 1.0, (), False, 1e20), "is not a number of minutes"),
        (lambda: MarkingRule("x", "points_found", 1.0, ((1e308, 1.0),)), "is not a limit of a marking rule"),
        (lambda: MarkingRule("x", "points_found", 1.0, (), False, 60.0, 1e200), "is not a number of marks"),
        (lambda: parse_remarks("[box right 9999999]"), "[box right 9999999] is not a remark of a travel log"),
        (
            lambda: read_rule(b'name = "x"\nkind = "points_found"\nfull_marks = 1' + b"0" * 400),
            "full_marks is larger than any number here",
        ),
    ],
)
def test_a_number_nobody_can_mean_is_refused(make: Callable[[], object], says: str) -> None:
    with warnings.catch_warnings(), pytest.raises(Complaint) as refused:
        warnings.simplefilter("error")
        make()
    assert says in str(refused.value)


@pytest.mark.parametrize("number", ["nan", "inf", "-inf", "1e20", "1e308"])
@pytest.mark.parametrize(
    "line",
    [
        "range sound --delay-s {} --air-temp-c 20",
        "range mils --size 10 --angle-mil {}",
        "north 37.5 -118.2 --date 2026-05-14 --height-m {}",
        "course pace --azimuth {} --out -",
    ],
)
def test_an_option_takes_no_number_nobody_can_mean(line: str, number: str) -> None:
    said = run(*line.format(number).split())
    assert said.code == 2 and "Traceback" not in said.err and "RuntimeWarning" not in said.err


def test_blanks_keep_no_reader_busy() -> None:
    """A pattern that tries every way to part them would take longer than the earth is old."""
    said = run_limited(
        """
from pacewright.core.log.log_heading import parse_declination
from pacewright.files.page_csv import _struck_cells
_struck_cells("# struck " + " " * 1_000_000 + "|" + " " * 1_000_000)
print(parse_declination("5" + " " * 1_000_000 + "E"))
parse_declination("5" + " " * 1_000_000 + "x")
""",
        most_cpu_s=20,
    )
    assert said.code == 0, said.err
    assert (
        said.out
        == "5.0\ncomplaint: 5 x is not a declination. Write degrees and the side, such as 5.5 E or 3°30' W.\n"
    )
