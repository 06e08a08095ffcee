"""A known place that nobody walked to tells nothing of the walk, and costs nothing."""

from __future__ import annotations

import numpy as np

from pacewright.core.pace.walker import Walker
from pacewright.files.known_places import open_estimate
from pacewright.files.log_csv import read_log

TOWER = "# known: Fire tower = local 120 300 +-10 m\n"
BARN = "# known: Barn = local 0 50\n"
ROWS = "azimuth,count,notes\n305,240,\n38,185,\n346,,[see Fire tower]\n52,330,\n164,260,\n"


def stations(known: str) -> np.ndarray:
    log = read_log(f"# count: paces\n# start: Gate\n{known}{ROWS}".encode())
    return np.array(open_estimate(log, Walker()).stations("walker").place)


def test_a_place_never_walked_to_changes_no_station_beside_one_that_was_seen() -> None:
    assert np.allclose(stations(TOWER + BARN), stations(TOWER), atol=1e-6)
