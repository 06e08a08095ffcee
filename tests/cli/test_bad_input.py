"""Bad input through the command line: a clear sentence, exit code 2, and nothing lost."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

import pacewright
from support.command import run

COLUMNS = "azimuth,count,notes\n"
AZIMUTH = "Write a number from 0 to 360, a point such as NE, or a bearing such as S40W."
COUNT = "Write the paces as a number from 0 to 1000000, such as 240."
A_LOG = "Give a travel log: heading lines, then azimuth,count,notes."

BAD = {
    "an empty file": (b"", f": this file is empty. {A_LOG}"),
    "a heading only": (
        b"# title: Fen\n",
        ": there is only a heading and no rows. "
        "Write the line azimuth,count,notes and the rows of the log below it.",
    ),
    "no rows": (
        COLUMNS.encode(),
        ": there is no leg in this log. Add rows below the heading: azimuth, count, notes, such as 305,240,.",
    ),
    "azimuth 361": (
        f"{COLUMNS}305,240,\n361,185,\n".encode(),
        f", line 3, column azimuth: 361 is not an azimuth in degrees. {AZIMUTH}",
    ),
    "a negative count": (
        f"{COLUMNS}305,-240,\n".encode(),
        f", line 2, column count: -240 is not a count. {COUNT}",
    ),
    "a count that is not a number": (
        f"{COLUMNS}305,NaN,\n".encode(),
        f", line 2, column count: NaN is not a count. {COUNT}",
    ),
    "an azimuth that is not a number": (
        f"{COLUMNS}NaN,240,\n".encode(),
        f", line 2, column azimuth: NaN is not an azimuth in degrees. {AZIMUTH}",
    ),
    "mixed units of count": (
        f"{COLUMNS}305,240,\n38,185 m,\n".encode(),
        ", line 3, column count: 185 m carries a unit of its own (m); the whole log has its counts in paces. "
        "Write the bare number in the log's unit, or change the unit in the heading.",
    ),
    "mixed units of azimuth": (
        f"{COLUMNS}305,240,\n800 mils,185,\n".encode(),
        ", line 3, column azimuth: 800 mils carries a unit of its own (mils); "
        "the whole log has its azimuths in degrees. "
        "Write the bare number in the log's unit, or change the unit in the heading.",
    ),
    "a bearing with a count": (
        f"{COLUMNS}305,240,\n346,20,[see Fire tower]\n".encode(),
        ", line 3, column count: a bearing ([see Fire tower]) has no count. "
        "Take the count away, or put leg and bearing into two rows.",
    ),
    "an unknown remark": (
        f"{COLUMNS}305,240,[nearly there]\n".encode(),
        ", line 2, column notes: [nearly there] is not a remark of a travel log. The known ones are "
        "[at NAME] [see NAME] [back 126] [box right 40] [box left 40] [est] [est 15%] [ground brush] [up] "
        "[level] [down] [cross stream] [no stream] [on ridge] [in valley] [on slope] [on stream] [faces NE] "
        "[flat] [slope 20 %] [alt 512 m] [time 14:32] [was 52] [was 230 count] [was 90 back] "
        "[was at NAME] [was 120 see NAME] [or 58 9%] [or 388 count 12%].",
    ),
    "two columns": (
        b"azimuth,count\n305,240\n",
        ", line 1: azimuth,count is not the line that names the columns. "
        "Write azimuth,count,notes above the rows (the log has these three columns).",
    ),
    "a row of two columns": (
        f"{COLUMNS}305,240\n".encode(),
        ", line 2: this row has 2 columns, not 3. "
        "Write azimuth,count,notes; notes may be empty, such as 305,240,.",
    ),
    "a binary file": (b"# \0\1\2\3", f", line 1: this is a binary file. {A_LOG}"),
    "a picture": (
        b"\x89PNG\r\n\x1a\n\0\0",
        ", line 1: this file is not UTF-8 text. Save it as CSV in UTF-8.",
    ),
    "a spreadsheet's own format": (b"PK\x03\x04\0\0", f", line 1: this is a binary file. {A_LOG}"),
    "two encodings in one": (
        "azimuth,count,notes\n1,2,Grüße\n".encode() + b"\xff",
        ", line 3: this file is not UTF-8 text. Save it as CSV in UTF-8.",
    ),
    "a cell that holds a line break": (
        f'{COLUMNS}"3\n61",2,\n'.encode(),
        f", line 2, column azimuth: 3\\x0a61 is not an azimuth in degrees. {AZIMUTH}",
    ),
}


@pytest.fixture
def walk(tmp_path):
    path = tmp_path / "good.csv"
    path.write_text(f"{COLUMNS}305,240,\n", encoding="utf-8")
    return path


@pytest.mark.parametrize("command", ["reckon", "back", "draw", "export"])
@pytest.mark.parametrize("what", BAD)
def test_bad_input_is_one_clear_sentence(tmp_path, command, what):
    data, says = BAD[what]
    path = tmp_path / "bad.csv"
    path.write_bytes(data)
    said = run(command, path)
    assert (said.code, said.out, said.err) == (2, "", f"{path}{says}\n")
    as_json = run(command, path, "--json")
    assert (as_json.code, as_json.err) == (2, "")
    assert as_json.json["file"] == str(path)
    assert as_json.json["complaint"] == f"{path}{says}"
    assert [p.name for p in tmp_path.iterdir()] == ["bad.csv"], "nothing is written for a bad log"
    assert path.read_bytes() == data


@pytest.mark.parametrize("what", ["an empty file", "azimuth 361", "a binary file"])
def test_so_it_is_from_the_shell_and_no_traceback_is_seen(tmp_path, what):
    data, says = BAD[what]
    path = tmp_path / "bad.csv"
    path.write_bytes(data)
    done = subprocess.run(
        [sys.executable, "-m", "pacewright", "reckon", str(path)],
        env={**os.environ, "PYTHONPATH": str(Path(pacewright.__file__).parents[1])},
        capture_output=True,
    )
    assert (done.returncode, done.stdout, done.stderr.decode()) == (2, b"", f"{path}{says}{os.linesep}")


NOISE = {
    "bytes": lambda chance: chance.randbytes(10 * 2**20),
    "letters": lambda chance: bytes(32 + b % 90 for b in chance.randbytes(2**20)) * 10,
    "lines": lambda chance: chance.randbytes(2**20).hex("\n").encode() * 4,
    "quotation marks": lambda chance: COLUMNS.encode() + b'"' * (10 * 2**20),
    "one open quotation": lambda chance: COLUMNS.encode() + b'1,2,"' + b"3,4,\n" * (2 * 2**20),
    "brackets": lambda chance: COLUMNS.encode() + b"1,2," + b"[" * (10 * 2**20),
    "digits": lambda chance: COLUMNS.encode() + b"1" * (10 * 2**20) + b",2,",
    "blanks": lambda chance: COLUMNS.encode() + b"N1" + b" " * (10 * 2**20) + b"x,2,",
    "hashes": lambda chance: b"#" * (10 * 2**20),
    "delimiters": lambda chance: COLUMNS.encode() + b"," * (10 * 2**20),
}


@pytest.mark.parametrize("kind", NOISE)
def test_ten_megabytes_of_noise_are_one_short_sentence(tmp_path, kind):
    path = tmp_path / "noise.csv"
    path.write_bytes(NOISE[kind](random.Random(7)))
    said = run("reckon", path)
    assert (said.code, said.out) == (2, "")
    assert len(said.err.splitlines()) == 1 and len(said.err) < 1500
    assert said.err.startswith(str(path))


def test_a_bad_walker_file_is_one_sentence_before_any_log_is_read(walk, tmp_path):
    bad = tmp_path / "walker.toml"
    bad.write_text("[pace]\nper_100_m = -1\n", encoding="utf-8")
    for walker in (bad, tmp_path / "none.toml", walk):
        said = run("reckon", walk, "--walker", walker)
        assert (said.code, said.out, len(said.err.splitlines())) == (2, "", 1)
        assert said.err.startswith(str(walker))


def test_an_output_file_that_is_there_or_cannot_be_written_is_one_sentence(walk, tmp_path):
    there = tmp_path / "there.csv"
    there.write_text("mine")
    for out in (there, tmp_path, tmp_path / "no" / "folder.csv", tmp_path / ("x" * 300 + ".csv")):
        said = run("export", walk, "--as", "csv", "--out", out)
        assert (said.code, said.out, len(said.err.splitlines())) == (2, "", 1)
        assert said.err.startswith(f"{out}: ")
    assert there.read_text() == "mine"


def test_what_was_read_stays_as_it_was(walk):
    before = walk.read_bytes()
    for command in ("reckon", "back", "draw", "export"):
        assert run(command, walk).code == 0
    assert walk.read_bytes() == before


def test_a_name_in_a_log_does_not_drive_the_terminal(tmp_path):
    """ECMA-48: escape sequences begin with a control character; ours is taken out, the rest is text."""
    path = tmp_path / "walk.csv"
    path.write_text("# start: G\x9b31mate\nazimuth,count,notes\n90,100,\n", encoding="utf-8")
    said = run("reckon", path)
    assert said.code == 0
    assert "from G31mate" in said.out
    assert "\x9b" not in said.out
