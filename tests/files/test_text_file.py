"""Logs as spreadsheets of three systems write them."""

from __future__ import annotations

import dataclasses

import pytest

from pacewright.core.log.questions import find_questions
from pacewright.files.log_csv import read_log, write_log

PAGE = """\
# title: Cinder Fen, first crossing
# start: Gate
azimuth,count,notes
305,240,
38,185,[at Split oak] dry so far
"""


@pytest.mark.parametrize(
    ("encoding", "mark", "newline"),
    [
        ("utf-16-le", b"\xff\xfe", "\r\n"),
        ("utf-16-be", b"\xfe\xff", "\n"),
        ("cp1252", b"", "\r\n"),
        ("mac_roman", b"", "\r"),
        ("mac_roman", b"", "\n"),
        ("utf-8", b"\xef\xbb\xbf", "\r\n"),
    ],
)
@pytest.mark.parametrize("name", ["Grüße", "Ça va, où?", "Señal 30°", "Ålesund", "São João"])
def test_what_spreadsheets_wrote_on_three_systems_is_read_and_comes_out_as_it_went_in(
    encoding, mark, newline, name
):
    text = PAGE.replace("Split oak", name).replace("\n", newline)
    data = mark + text.encode(encoding)
    log = read_log(data)
    assert log.station_names()[-1] == name
    assert write_log(log) == data
    changed = dataclasses.replace(log, heading=dataclasses.replace(log.heading, title="x"))
    assert write_log(changed) == data


def test_letters_of_an_older_encoding_are_asked_about():
    (asked,) = find_questions(read_log("azimuth,count,notes\n1,2,[at Höhe]\n".encode("cp1252")))
    assert asked.startswith(
        "Does a name look wrong? The file is not UTF-8 and was read with the letters of W"
    )


def test_the_line_in_which_a_spreadsheet_names_its_delimiter_is_no_row():
    data = ("sep=;\n" + PAGE.replace(",", ";")).encode()
    assert len(read_log(data).legs) == 2 and write_log(read_log(data)) == data
