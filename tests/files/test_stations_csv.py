"""Stations for a spreadsheet."""

from __future__ import annotations

import csv
import io

import pytest

from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import map_frame, walker_frame
from pacewright.core.way.reckoning import reckon
from pacewright.files.log_csv import read_log
from pacewright.files.stations_csv import write_stations

LOG = read_log('# start: Gate\nazimuth,count,notes\n90,200,[at =1+2]\nS,100,"[at Öak, the 2nd]"\n'.encode())
WALKER = Walker(per_100_m=50.0)


def rows(kind) -> list[dict[str, str]]:
    text = write_stations(reckon(LOG, WALKER, kind(LOG.heading, WALKER))).decode("utf-8")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_every_column_carries_its_unit():
    assert list(rows(walker_frame)[0]) == [
        *("station", "name", "azimuth_magnetic_deg", "length_pace", "east_pace", "north_pace"),
        *("var_east_pace2", "cov_east_north_pace2", "var_north_pace2", "doubt"),
    ]
    assert list(rows(map_frame)[0])[3:6] == ["length_metre", "east_metre", "north_metre"]


@pytest.mark.parametrize(("kind", "scale"), [(walker_frame, 1), (map_frame, 2)])
def test_a_row_a_station_in_the_unit_of_the_frame(kind, scale):
    start, first, last = rows(kind)
    assert (start["azimuth_magnetic_deg"], start["length_pace" if scale == 1 else "length_metre"]) == ("", "")
    unit = "pace" if scale == 1 else "metre"
    assert (float(first[f"east_{unit}"]), float(first[f"north_{unit}"])) == (200 * scale, 0)
    assert (float(last[f"east_{unit}"]), float(last[f"north_{unit}"])) == (200 * scale, -100 * scale)
    assert float(last[f"var_east_{unit}2"]) > 0


def test_a_name_like_a_formula_is_disarmed_and_others_are_kept():
    assert [row["name"] for row in rows(walker_frame)] == ["Gate", "'=1+2", "Öak, the 2nd"]
