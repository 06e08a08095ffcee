"""pacewright log: the reference on the screen, a log begun."""

from __future__ import annotations

import datetime
import re

from pacewright.core.log.log_heading import HEADING_KEYS
from pacewright.core.log.remarks import KNOWN_REMARKS
from pacewright.files.log_csv import read_log
from support.command import run


def test_the_reference_holds_every_heading_and_every_remark_and_fits_the_terminal() -> None:
    said = run("log")
    assert (said.code, said.err) == (0, "")
    told = " ".join(said.out.split())
    for remark in re.findall(r"\[[^]]*\]", KNOWN_REMARKS):
        assert remark in told, remark
    for key in HEADING_KEYS:
        assert re.search(rf"^{key}  ", said.out, re.MULTILINE), key
    assert "`" not in said.out and "|" not in said.out
    # What is set as code stays on its line.
    lines = run("log", columns=80).out.splitlines()
    assert [line for line in lines if len(line) > 80 and not line.startswith("    ")] == []


def test_the_page_in_the_reference_is_a_log() -> None:
    page = re.search(r"^    (# title:.*?)\n\n", run("log").out, re.MULTILINE | re.DOTALL)
    assert page is not None
    assert len(read_log(re.sub("^    ", "", page[1], flags=re.MULTILINE).encode()).legs) == 3


def test_a_log_is_begun_and_can_be_gone_on_with(tmp_path) -> None:
    path = tmp_path / "walk.csv"
    said = run("log", "--new", "--start-name", "Gate", "--name", "Ines Rowe", "--out", path)
    assert (said.code, said.err) == (0, "")
    log = read_log(path.read_bytes() + b"305,240,\n")
    assert (log.heading.start, log.heading.walker) == ("Gate", "Ines Rowe")
    assert log.heading.date == datetime.date.today()
    assert run("log", "--new", "--out", path).code == 2, "what is there is not written over"
    assert run("log", "--new").out.endswith("azimuth,count,notes\n")


def test_what_is_for_a_new_log_asks_for_new() -> None:
    said = run("log", "--start-name", "Gate")
    assert said.code == 2 and "add --new" in said.err
