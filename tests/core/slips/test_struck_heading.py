"""A known place struck out or doubted in the heading, whatever a spreadsheet wrote round the line."""

from __future__ import annotations

import pytest

from pacewright.core.slips.struck_heading import restore_place, strike_place
from pacewright.files.log_csv import read_log, write_log

WRITTEN = {
    "by hand": ("# known: Tarn = local 0 900 +-5 m", "# known: Tarn = local 0 900 +-50 m"),
    "with columns behind": ("# known: Tarn = local 0 900 +-5 m,,", "# known: Tarn = local 0 900 +-50 m,,"),
    "in quotes": ('"# known: Tarn = local 0 900 +-5 m",,', '"# known: Tarn = local 0 900 +-50 m",,'),
}
PAGE = (
    "# azimuth: magnetic degrees\n# count: metres\n{}\n# start: Gate\nazimuth,count,notes\n0,880,[at Tarn]\n"
)


@pytest.mark.parametrize("way", WRITTEN)
def test_another_doubt_stands_where_the_old_one_stood_and_can_be_taken_back(way: str) -> None:
    before, after = WRITTEN[way]
    log = read_log(PAGE.format(before).encode())
    doubted = strike_place(log, "Tarn", 50.0)
    written = write_log(doubted).decode()
    assert after in written.splitlines()
    assert [point.sd_m for point in read_log(written.encode()).heading.known] == [50.0]
    assert write_log(restore_place(doubted, "Tarn")).decode() == PAGE.format(before)
