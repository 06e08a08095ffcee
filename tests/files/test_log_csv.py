"""Travel logs from and to CSV: to the letter, whatever wrote them, and a clear complaint for the rest."""

from __future__ import annotations

import csv
import dataclasses
import io

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from pacewright.core.log.remarks import parse_remarks
from pacewright.core.log.travel_log import Cells, Note, TravelLog, compose_log, parse_row
from pacewright.exceptions import Complaint
from pacewright.files.log_csv import read_log, write_log

moderate = settings(max_examples=200, deadline=None)

PAGE = """\
# title: Cinder Fen, first crossing
# walker: Ines Rowe
# date: 2026-05-14
# azimuth: magnetic degrees
# count: paces
# start: Gate
azimuth,count,notes
305,240,
38,185,[at Split oak] dry so far
346,,[see Fire tower]
52,330,[box right 40] pond; [down]
97,70,[est 15%] river, width by paced base line
213,560,[at Gate]
"""


def read(text: str) -> TravelLog:
    return read_log(text.encode("utf-8"))


def refused(data: str | bytes, file: str | None = "walk.csv") -> str:
    with pytest.raises(Complaint) as raised:
        read_log(data.encode("utf-8") if isinstance(data, str) else data, file)
    return str(raised.value)


def test_a_page_with_an_unquoted_comma_in_its_notes_is_read_and_written_to_the_letter():
    log = read(PAGE)
    assert [leg.count for leg in log.legs] == [240, 185, 330, 70, 560]
    assert log.legs[3].cells.notes == "[est 15%] river, width by paced base line"
    assert log.heading.title == "Cinder Fen, first crossing"
    assert log.station_names() == ("Gate", None, "Split oak", None, None, "Gate")
    assert write_log(log).decode("utf-8") == PAGE


def exported(text: str, delimiter: str, newline: str) -> str:
    """What a spreadsheet makes of a page: every line padded to three cells, quoted where it must be."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=delimiter, lineterminator=newline)
    for line in text.splitlines():
        cells = [line] if line.startswith("#") else line.split(",", 2)
        writer.writerow([*cells, "", ""][:3])
    return out.getvalue()


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_a_spreadsheet_export_is_the_same_log_and_comes_out_as_it_went_in(delimiter, newline, mark):
    data = mark + exported(PAGE, delimiter, newline).encode("utf-8")
    log = read_log(data)
    assert log == read(PAGE)
    assert write_log(log) == data


def test_every_complaint_of_a_page_is_found_in_one_reading_in_order():
    text = "# date: may\n# pace: 3\n" + PAGE
    with pytest.raises(Complaint) as of_heading:
        read(text)
    # A bad date withholds nothing: it is asked about where a date is needed.
    assert [one.where.line for one in of_heading.value.all()] == [2, 5]
    wrong = PAGE.replace("305,240,", "361,240 m,[est 15]").replace("213,560,[at Gate]", "213,,\n,9,[at gate]")
    with pytest.raises(Complaint) as of_rows:
        read_log(wrong.encode(), "walk.csv")
    found = of_rows.value.all()
    assert [(one.where.line, one.where.column) for one in found] == [
        (8, "notes"),
        (8, "azimuth"),
        (8, "count"),
        (13, "count"),
        (14, "azimuth"),
    ]
    assert {one.where.file for one in found} == {"walk.csv"}


def test_the_last_line_may_lack_its_end():
    log = read(PAGE.rstrip("\n"))
    assert log == read(PAGE)
    assert write_log(log).decode("utf-8") == PAGE.rstrip("\n")


def test_decimal_commas_are_read_where_the_delimiter_is_no_comma():
    (leg,) = read("azimuth;count;notes\n30,5;240,25;wet, cold\n").legs
    assert (leg.azimuth_deg, leg.count, leg.cells.notes) == (30.5, 240.25, "wet, cold")
    (leg,) = read('azimuth,count,notes\n"30,5","240,25",\n').legs
    assert (leg.azimuth_deg, leg.count) == (30.5, 240.25)


def test_a_point_before_three_digits_among_decimal_commas_is_unclear():
    page = "azimuth;count;notes\n30,5;240;\n120;1.200;\n"
    assert refused(page) == (
        "walk.csv, line 3, column count: 1.200 is unclear: other numbers of this log have a decimal comma, "
        "so the point may part thousands or decimals. Write 1200, or the decimals with a comma."
    )
    assert "line 2, column azimuth: 1.600 is unclear" in refused(
        "azimuth;count;notes\n1.600;240;\n120;12,5;\n"
    )


@pytest.mark.parametrize(
    ("rows", "count"),
    [("30;1.200;", 1.2), ("30,5;12.5;", 12.5), ("30,5;1.2000;", 1.2), ("30,5;1200;", 1200)],
    ids=["no comma elsewhere", "one digit", "four digits", "no point"],
)
def test_a_point_that_can_only_part_decimals_is_read(rows, count):
    assert read(f"azimuth;count;notes\n{rows}\n").legs[0].count == count


def test_decimal_commas_that_shift_the_columns_are_not_guessed():
    assert refused("azimuth,count,notes\n30,5,240,pond\n") == (
        "walk.csv, line 2: this row has 4 columns, not 3, and the third is a number. "
        "Write decimals with a point; put notes that begin with a number into quotation marks."
    )


def test_a_quoted_cell_may_hold_line_breaks_and_quotation_marks():
    text = 'azimuth,count,notes\r\n5,10,"two\r\nlines, and ""these"" [at Oak]"\r\n6,20,\r\n'
    log = read(text)
    assert log.legs[0].cells.notes == 'two\r\nlines, and "these" [at Oak]'
    assert [leg.line for leg in log.legs] == [2, 4]
    assert write_log(log).decode("utf-8") == text


def test_seconds_of_arc_open_no_quotation():
    # Two such rows were once taken for one, and the second leg was lost.
    text = 'azimuth,count,notes\nS68°05\'35"W,240,\nS10°05\'35"W,230,6" of snow\n10,20,\n'
    log = read(text)
    assert [leg.count for leg in log.legs] == [240, 230, 20]
    assert write_log(log).decode("utf-8") == text


@pytest.mark.parametrize(
    "text",
    [
        "azimuth,count,notes\n5,10,שער ישן [at שער] ירוק\n",
        "azimuth,count,notes\n5,10,[at بوابة] قرب النهر\n",
        "azimuth,count,notes\n5,10,[at Cafe\u0301] \U0001f332\u200d\ufe0f\n",
        "azimuth,count,notes\n5,10,next\u2028line \x0b\x0c\x1c\x85 one row still\n",
    ],
)
def test_every_script_is_kept_to_the_letter(text):
    log = read(text)
    assert len(log.rows) == 1
    assert write_log(log).decode("utf-8") == text


def test_blank_lines_and_prose_lines_are_kept():
    text = "# a wet day\n\n# count: paces\nazimuth,count,notes\n\n5,10,\n# lunch here\n   \n,,\n6,20,\n\n"
    log = read(text)
    assert len(log.legs) == 2 and type(log.rows[1]) is Note
    assert write_log(log).decode("utf-8") == text


def test_a_changed_row_is_written_anew_and_the_others_to_the_letter():
    text = 'azimuth;count;notes\r\n 5;10;"a; b"\r\n6;20;\r\n'
    log = read(text)
    changed = parse_row(Cells("7", "30", 'with ; and "'), log.heading)
    newer = dataclasses.replace(log, rows=(log.rows[0], changed))
    assert write_log(newer).decode("utf-8") == (
        'azimuth;count;notes\r\n 5;10;"a; b"\r\n7;30;"with ; and """\r\n'
    )
    assert read_log(write_log(newer)) == newer


@moderate
@given(
    st.lists(
        st.tuples(
            st.integers(0, 360).map(str),
            st.integers(0, 10_000).map(str),
            st.text(st.characters(exclude_characters="[]\0", exclude_categories=["Cs"]), max_size=20),
        ),
        min_size=1,
        max_size=5,
    )
)
@example([("1", "2", "a\rb"), ("3", "4", '"'), ("5", "6", "\n")])
@example([("0", "0", "0\r")])
def test_a_log_that_was_made_reads_back_the_same(cells):
    heading = read(PAGE).heading
    log = compose_log(heading, [parse_row(Cells(*row), heading) for row in cells])
    again = read_log(write_log(log))
    assert again == log
    assert write_log(again) == write_log(log)


# Pieces of logs, whole and broken: far more of these come near a log than free bytes do.
PIECES = [
    *("# title: A, B\n", "# azimuth: grid mils\n", "# count: metres\n", "# known: Oak = local 1 2 +-3 m\n"),
    *(
        "azimuth,count,notes\n",
        "azimuth;count;notes\r\n",
        "azimuth\tcount\tnotes\n",
        '"azimuth","count","notes"\n',
    ),
    *("305,240,\n", "305;240;x\r\n", "5\t6\tz\n", "346,,[see Oak]\n", "S40W,12.5,[at Oak] \n", "361,-2,\n"),
    *('1,2,"a\nb"\n', '"', '""', ",", ";", "\t", "\r", "\n", "\ufeff", "[", "]", "[at Gate]", "#", "# a:b\n"),
    *("N1°2'3\"E,5,\n", ",,\n", "nan,inf,\n", "\0", "\x1b[31m", "שער", "e\u0301", "30,5", "\u2028"),
]


def is_log_or_complaint(data: bytes) -> None:
    try:
        log = read_log(data, "walk.csv")
    except Complaint as complaint:
        said = str(complaint)
        assert said.startswith("walk.csv") and said.endswith(".") and len(said) < 1500
        assert said.splitlines() == [said] and "\x1b" not in said
    else:
        assert log.legs
        assert write_log(log) == data
        assert read_log(write_log(log)) == log


@settings(max_examples=400, deadline=None)
@given(st.lists(st.sampled_from(PIECES), max_size=12).map("".join))
@example('azimuth,count,notes\n1,2,"a""\n3,4,"\n')
@example('azimuth,count,notes\n"1"x,2,\n')
@example('"# a" b "c"\nazimuth,count,notes\n1,2,\n')
def test_any_pieces_of_logs_are_a_log_or_one_clear_complaint(text):
    is_log_or_complaint(text.encode("utf-8"))


@moderate
@given(st.binary(max_size=200))
@example(b"\xef\xbb\xbf")
@example(b"\xff\xfea\0")
def test_any_bytes_are_a_log_or_one_clear_complaint(data):
    is_log_or_complaint(data)


@moderate
@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=60))
def test_any_text_below_the_column_line_is_rows_or_one_clear_complaint(text):
    is_log_or_complaint(("azimuth,count,notes\n1,2,\n" + text).encode("utf-8"))


@moderate
@given(st.integers(0, len(PAGE)), st.binary(min_size=1, max_size=3), st.integers(0, 3))
def test_a_page_with_a_smudge_is_a_log_or_one_clear_complaint(at, smudge, width):
    data = PAGE.encode("utf-8")
    is_log_or_complaint(data[:at] + smudge + data[at + width :])


COLUMNS = "Write azimuth,count,notes above the rows (the log has these three columns)."


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "walk.csv: this file is empty. Give a travel log: heading lines, then azimuth,count,notes."),
        (
            b" \r\n\t\xef\xbb\xbf",
            "walk.csv: this file is empty. Give a travel log: heading lines, then azimuth,count,notes.",
        ),
        (
            b"# title: A\n",
            "walk.csv: there is only a heading and no rows. "
            "Write the line azimuth,count,notes and the rows of the log below it.",
        ),
        (
            b"azimuth,count,notes\n",
            "walk.csv: there is no leg in this log. "
            "Add rows below the heading: azimuth, count, notes, such as 305,240,.",
        ),
        (b"305,240,\n", f"walk.csv, line 1: 305,240, is not the line that names the columns. {COLUMNS}"),
        (
            b"azimuth,count\n1,2\n",
            f"walk.csv, line 1: azimuth,count is not the line that names the columns. {COLUMNS}",
        ),
        (
            b"azimuth,count,notes\n1,2,\n3,4\n",
            "walk.csv, line 3: this row has 2 columns, not 3. "
            "Write azimuth,count,notes; notes may be empty, such as 305,240,.",
        ),
        (
            b"azimuth,count,notes\n1\n",
            "walk.csv, line 2: this row has one column, not 3. "
            "Write azimuth,count,notes; notes may be empty, such as 305,240,.",
        ),
        (
            b"azimuth,count,notes\n1,2,\n# count: steps\n",
            "walk.csv, line 3: a heading line stands among the rows. "
            "Move it above the line azimuth,count,notes.",
        ),
        (
            b'azimuth,count,notes\n1,2,"a\n3,4,\n',
            'walk.csv, line 2: a quotation mark is not closed. Close it, or write "" for one in a text.',
        ),
        (
            b'azimuth,count,notes\n1,2,"a"b\n',
            "walk.csv, line 2: a quotation mark stands where none can. "
            'Put the whole cell in quotation marks and write "" for one in it.',
        ),
        (
            b'# ok\n"# a" b "c"\nazimuth,count,notes\n1,2,\n',
            "walk.csv, line 2: a quotation mark stands where none can. "
            'Put the whole cell in quotation marks and write "" for one in it.',
        ),
        (b"# \xc3\xa4\n\xff", "walk.csv, line 2: this file is not UTF-8 text. Save it as CSV in UTF-8."),
        (PAGE.encode("utf-16") + b"x", "walk.csv: this file is UTF-16 text. Save it as CSV in UTF-8."),
        (
            b"# t\n\n\0\1\2",
            "walk.csv, line 3: this is a binary file. "
            "Give a travel log: heading lines, then azimuth,count,notes.",
        ),
        (
            b"azimuth,count,notes\n1,2,\n\x1b[31m3,4,\n",
            "walk.csv, line 3, column azimuth: \\x1b[31m3 is not an azimuth in degrees. "
            "Write a number from 0 to 360, a point such as NE, or a bearing such as S40W.",
        ),
    ],
)
def test_what_is_no_log_is_told_with_its_place_and_what_to_do(data, says):
    assert refused(data) == says


def test_a_quotation_mark_never_closed_over_many_rows_is_told_as_such():
    data = 'azimuth,count,notes\n1,2,"a\n' + "3,4,\n" * 30_000 + '5,6,"\n'
    assert refused(data) == (
        "walk.csv, line 2: this row is longer than 100000 characters. Look for a quotation mark never closed."
    )


def test_every_remark_and_heading_key_survives_a_reading_and_a_writing():
    notes = "[at A] [back 126] [box right 40] [box left 7] [est 15%] [ground brush] [up] [cross stream]"
    more = "[on ridge] [faces NE] [alt 512 m] [time 14:32] [was 52] [was 230 count]"
    text = (
        "# title: T\n# walker: W\n# date: 2026-05-14\n# azimuth: true gon\n# count: steps\n# start: S\n"
        "# declination: 5.5 E\n# known: K = local 1 2 +-10 m\n# known: L = 51.5 -0.1\n"
        f"azimuth,count,notes\n305,240,{notes} {more} prose\n346,,[see K]\n"
    )
    log = read(text)
    assert log.legs[0].remarks == parse_remarks(f"{notes} {more}", "gon")
    assert write_log(log).decode("utf-8") == text
    made = dataclasses.replace(log, page=None)
    assert read_log(write_log(made)) == log


def test_three_bare_numbers_are_not_guessed_at() -> None:
    with pytest.raises(Complaint) as refused:
        read_log(b"azimuth,count,notes\n90,10,\n30,5,240\n", "page.csv")
    assert str(refused.value) == (
        "page.csv, line 3, column notes: the notes of this row are a bare number (240). "
        "Write decimals with a point; put such a note into quotation marks."
    )


def test_a_note_that_is_a_number_is_read_in_quotation_marks_and_written_so() -> None:
    log = read_log(b'azimuth,count,notes\n30,5,"240"\n')
    changed = dataclasses.replace(log, page=None, rows=(dataclasses.replace(log.rows[0], raw=None),))
    assert read_log(write_log(changed)).rows[0].cells.notes == "240"
