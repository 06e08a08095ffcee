"""The public names in one place, for notebooks and scripts.

>>> from pacewright.api import read_log, way_back
>>> log = read_log(b"# count: paces\\nazimuth,count,notes\\n90,300,\\n0,400,\\n")
>>> way = way_back(log)
>>> round(way.azimuth_deg), way.count
(217, 500)
>>> Standing(log)
Standing(2 legs; back: 217 deg  500 paces  5 lower beads)
>>> [row["index"] for row in Standing(log).to_rows()]
[0, 1, 2]
"""

from __future__ import annotations

import os
from functools import cached_property
from pathlib import Path
from typing import Any

from pacewright.answers.estimate import Estimate
from pacewright.answers.way import WayAnswer, WayAsked, aim_off, answer_way, way_back
from pacewright.core.log.travel_log import Leg, Note, Sighting, TravelLog
from pacewright.core.pace.pacing import fit_pace_table
from pacewright.core.pace.tally import Tally, count_of_tally, tally_of_count
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.core.way.aiming_off import AimingOff
from pacewright.core.way.frames import Frame, map_frame, walker_frame
from pacewright.core.way.reckoning import Reckoning, reckon
from pacewright.core.way.regions import Region, station_region
from pacewright.core.way.retrace import retrace
from pacewright.core.way.search_pattern import expanding_square, overshoot
from pacewright.core.way.way_back import WayBack
from pacewright.drawing.render import render
from pacewright.drawing.walk_map import draw_walk_map
from pacewright.drawing.walk_of import walk_of
from pacewright.drawing.walk_picture import draw_log
from pacewright.exceptions import Complaint
from pacewright.files import log_csv
from pacewright.files.disk import read_bytes
from pacewright.files.known_places import open_estimate
from pacewright.files.log_csv import write_log
from pacewright.files.result_json import station_keys
from pacewright.files.trials_csv import read_trials
from pacewright.files.walker_toml import read_walker, write_walker
from pacewright.wording.way_answer import say_way

__all__ = [
    "AimingOff",
    "Complaint",
    "Frame",
    "Leg",
    "Note",
    "PaceClass",
    "Reckoning",
    "Region",
    "Sighting",
    "Standing",
    "Tally",
    "TravelLog",
    "Walker",
    "WayBack",
    "aim_off",
    "count_of_tally",
    "draw_walk_map",
    "expanding_square",
    "fit_pace_table",
    "map_frame",
    "overshoot",
    "read_log",
    "read_trials",
    "read_walker",
    "reckon",
    "render",
    "retrace",
    "station_region",
    "tally_of_count",
    "walk_of",
    "walker_frame",
    "way_back",
    "write_log",
    "write_walker",
]


def read_log(source: bytes | str | os.PathLike[str]) -> TravelLog:
    """The travel log that a path names, or that bytes hold.

    Raises
    ------
    Complaint
        What is wrong, with file, line and column, and what to do; `others` holds what else is.
    """
    if isinstance(source, bytes):
        return log_csv.read_log(source)
    path = os.fspath(source)
    return log_csv.read_log(read_bytes(path), Path(path).name)


class Standing:
    """A log and its walker as one estimate: where you are, the way back, a picture.

    Parameters
    ----------
    log
        A log, or what `read_log` reads.
    walker
        Whose paces and compass; the defaults if left out.
    """

    def __init__(self, log: TravelLog | bytes | str | os.PathLike[str], walker: Walker | None = None) -> None:
        self.log = log if isinstance(log, TravelLog) else read_log(log)
        self.walker = walker or Walker()

    @cached_property
    def estimate(self) -> Estimate:
        """The one estimate that every command and page reads."""
        return open_estimate(self.log, self.walker)

    def back(self, to: str | int = 0) -> WayAnswer:
        """The way back from the last station to another, by name or number, with its doubts."""
        here = len(self.log.legs)
        goal = self.estimate.find_goal(str(to), here)
        return answer_way(self.estimate, WayAsked(here, goal))

    def say(self, to: str | int = 0) -> list[str]:
        """The way back in sentences, the answer first and the caution last."""
        return list(say_way(self.back(to)))

    def to_rows(self) -> list[dict[str, Any]]:
        """A row a station (index, name, leg, east, north, covariance), as `pandas.DataFrame` takes them."""
        stations = self.estimate.stations()
        return station_keys(stations.names, stations.place, stations.covariances())

    def __repr__(self) -> str:
        """In one line: how many legs, and the way back."""
        legs = "1 leg" if len(self.log.legs) == 1 else f"{len(self.log.legs)} legs"
        return f"Standing({legs}; back: {self.say()[0]})"

    def _repr_svg_(self) -> str:
        return draw_log(self.estimate)
