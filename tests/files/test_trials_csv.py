"""Pace trials from CSV."""

from __future__ import annotations

from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacewright.core.pace.pace_trials import PaceRun
from pacewright.exceptions import Complaint
from pacewright.files.trials_csv import COLUMN_LINE, read_trials, read_trials_heading
from support.limited import run_limited

PLAIN = f"{COLUMN_LINE}\nheath,level,8,100,62\nbrush,12,,50,40.5\n,-8.5 %,0,100,65\n"
EXPECTED = (
    PaceRun("heath", "level", 8, 100, 62, line=2),
    PaceRun("brush", 12.0, None, 50, 40.5, line=3),
    PaceRun("", -8.5, 0, 100, 65, line=4),
)


def test_every_row_is_a_run():
    assert read_trials(PLAIN.encode()) == EXPECTED


@pytest.mark.parametrize(
    "text",
    [
        PLAIN.replace(",", ";"),
        PLAIN.replace(",", "\t"),
        PLAIN.replace("\n", "\r\n"),
        "\ufeff" + PLAIN,
        PLAIN.removesuffix("\n"),
        PLAIN.replace("heath", '"heath"').replace("ground", '"Ground"'),
        PLAIN.replace("heath,level", " heath , LEVEL "),
    ],
    ids=["semicolons", "tabs", "carriage returns", "byte order mark", "no last line end", "quoted", "spaces"],
)
def test_a_spreadsheet_export_reads_the_same(text):
    assert read_trials(text.encode()) == EXPECTED


def test_columns_may_stand_in_another_order():
    text = "count,distance_m,slope,ground,load_kg\n62,100,up,heath,\n"
    assert read_trials(text.encode()) == (PaceRun("heath", "up", None, 100, 62, line=2),)


def test_ground_slope_and_load_may_be_left_out_and_a_slope_left_out_is_level():
    assert read_trials(b"distance_m,count\n100,62\n") == (PaceRun("", "level", None, 100, 62, line=2),)
    assert read_trials(f"{COLUMN_LINE}\nheath,,8,100,62\n".encode())[0].slope == "level"


def test_a_decimal_comma_is_read_where_semicolons_part_the_cells():
    text = PLAIN.replace(",", ";").replace("40.5", "40,5")
    assert read_trials(text.encode()) == EXPECTED


def test_three_chains_in_36_paces_are_12_paces_to_the_chain():
    """NWCG S-classes, Unit 4.6, Chain and pace (pace_tables.csv): 198 ft, 36 paces; 5.5 ft to the pace."""
    for written in ("198 ft", "3 ch", "66 yd"):
        (run,) = read_trials(f"distance_m,count\n{written},36\n".encode())
        assert run.pace_m == pytest.approx(5.5 * 0.3048)


def test_a_heading_may_name_the_walker():
    text = f"# walker: Ines Rowe;;;;\n{PLAIN}".encode()
    assert read_trials_heading(text)["walker"] == "Ines Rowe" and len(read_trials(text)) == 3


def test_every_wrong_run_is_named_at_once():
    with pytest.raises(Complaint) as refused:
        read_trials(f"{PLAIN}heath,level,8,100,x\nheath,uphill,8,100,62\n".encode(), "t.csv")
    assert [one.where.line for one in refused.value.all()] == [5, 6]


def test_steps_are_halved_and_remembered():
    text = f'# count: steps\n# a 5" remark\n\n{COLUMN_LINE}\nheath,up,,100,125\n'
    (run,) = read_trials(text.encode())
    assert (run.count, run.written_count, run.counted_in, run.line) == (62.5, 125, "steps", 5)


def test_a_spreadsheet_pads_the_heading_lines():
    text = f"# count: steps;;;;\n{COLUMN_LINE.replace(',', ';')}\nheath;up;;100;125\n;;;;\n"
    assert read_trials(text.encode())[0].count == 62.5


ROWS = f"{COLUMN_LINE}\nheath,level,8,100,62\n"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "t.csv: this file is empty."),
        (COLUMN_LINE, "t.csv: there is only a heading and no run. Write a row for every run"),
        ("# count: paces\n", "t.csv: there is only a heading and no run."),
        (
            "ground,slope,load,distance_m,count\n",
            "t.csv, line 1: there is no column called load in pace trials. Write the line ground,",
        ),
        ("ground,slope,load_kg,count\nheath,up,,62\n", "t.csv, line 1: the column distance_m is missing."),
        ("ground,slope,load_kg,count,count\n", "t.csv, line 1: the column count is there twice. Keep one"),
        (ROWS + "heath,level,8,100,x\n", "t.csv, line 3, column count: x is not a number. Write digits"),
        (ROWS + "heath,level,8,100,\n", "t.csv, line 3, column count: an empty value is not a number."),
        (ROWS + "heath,level,8,100,NaN\n", "t.csv, line 3, column count: nan is not a number."),
        (ROWS + "heath,level,8,inf,62\n", "t.csv, line 3, column distance_m: inf is not a number."),
        (ROWS + "heath,level,8,1e2,62\n", "t.csv, line 3, column distance_m: 1e2 is not a number."),
        (
            ROWS + "heath,level,8,0,62\n",
            "t.csv, line 3, column distance_m: 0 is not the length of a course in metres. Write a",
        ),
        (ROWS + "heath,level,8,100,-62\n", "t.csv, line 3, column count: -62 is not a count. Write a number"),
        (ROWS + "heath,level,-8,100,62\n", "t.csv, line 3, column load_kg: -8 is not a load in kilograms."),
        (
            ROWS + "heath,uphill,8,100,62\n",
            "t.csv, line 3, column slope: uphill is not a slope. Write up, level or down in the",
        ),
        (ROWS + "heath,300,8,100,62\n", "t.csv, line 3, column slope: 300.0 is not a slope."),
        (ROWS + "heath,level,8,100\n", "t.csv, line 3: this row has 4 columns, not 5."),
        (
            ROWS + "heath,level,8,100,62,5\n",
            "t.csv, line 3: this row has 6 columns, not 5. Write decimals with",
        ),
        (
            ROWS + "Heath,level,8,100,62\n",
            "t.csv, line 3, column ground: Heath is written heath in line 2. Write a ground the same way",
        ),
        ("# count: strides\n" + ROWS, "t.csv, line 1, column count: strides is not what a count is made of."),
        (
            ROWS + "# count: steps\n",
            "t.csv, line 3, column count: the unit of the counts stands below the column names. Move it to",
        ),
        (ROWS + 'heath,"level,8,100,62\n', "t.csv, line 3: a quotation mark is not closed."),
        (ROWS + "heath,level,8,100,\0\n", "t.csv, line 3: this is a binary file."),
    ],
)
def test_what_is_wrong_is_said_with_its_place(text, says):
    with pytest.raises(Complaint) as refused:
        read_trials(text.encode(), "t.csv")
    # A number that stands for nothing is shown as it was typed, in either case.
    assert str(refused.value).lower().startswith(says.lower())


def test_other_encodings_are_read_and_a_mixture_is_refused():
    assert len(read_trials(ROWS.encode("utf-16"))) == 1
    assert read_trials(ROWS.replace("heath", "Höhe").encode("latin-1"))[0].ground == "Höhe"
    with pytest.raises(Complaint, match=r"line 3: this file is not UTF-8 text"):
        read_trials(ROWS.replace("heath", "Höhe").encode("utf-8") + b"\xff")


@given(st.binary(max_size=200))
def test_any_bytes_give_runs_or_a_complaint(data):
    try:
        read_trials(data)
    except Complaint as complaint:
        assert str(complaint)


CELL = st.one_of(
    st.sampled_from(
        ["", "up", "level", "-12", "8", "100", "62", "1e9", "nan", '"', "#", "9" * 400, "0.0001"]
    ),
    st.text(max_size=6),
)


@given(st.lists(st.lists(CELL, min_size=4, max_size=6).map(",".join), max_size=5))
def test_any_rows_give_runs_or_a_complaint(rows):
    try:
        runs = read_trials("\n".join([COLUMN_LINE, *rows]).encode("utf-8", "replace"))
    except Complaint as complaint:
        assert str(complaint)
    else:
        assert all(10 <= run.per_100_m <= 1000 for run in runs)


def test_the_trials_that_ship_with_the_tool_can_be_read():
    runs = read_trials(files("pacewright").joinpath("data", "pace_trials.csv").read_bytes())
    assert len(runs) == 21
    assert {run.ground for run in runs} == {"heath", "brush"}
    assert {run.direction for run in runs} == {"up", "level", "down"}


def test_a_hundred_thousand_runs_are_read_and_fitted_one_by_one() -> None:
    """Comparing every run with all before it would take this beyond its minute of work many times."""
    said = run_limited(
        """
from pacewright.core.pace.pacing import fit_pace_table
from pacewright.files.trials_csv import read_trials
rows = [f"g{k // 5},level,0,100,{62 + k % 5 / 10}" for k in range(100_000)]
runs = read_trials("\\n".join(["ground,slope,load_kg,distance_m,count", *rows]).encode())
print(len(fit_pace_table(runs).classes))
"""
    )
    assert (said.code, said.out) == (0, "20000\n"), said.err
