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

from pacewright.answers.way import aim_off, way_back
from pacewright.api.answered import Answered
from pacewright.api.asked import (
    calibrated,
    graded,
    legs_by_map,
    norths,
    own_place,
    planned,
    ranged,
    seen_place,
    sun,
)
from pacewright.api.reading import read_log, read_trials, read_walker
from pacewright.api.standing import Standing
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
from pacewright.exceptions import Complaint
from pacewright.files.log_csv import write_log
from pacewright.files.walker_toml import write_walker

__all__ = [
    "AimingOff",
    "Answered",
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
    "calibrated",
    "count_of_tally",
    "draw_walk_map",
    "expanding_square",
    "fit_pace_table",
    "graded",
    "legs_by_map",
    "map_frame",
    "norths",
    "overshoot",
    "own_place",
    "planned",
    "ranged",
    "read_log",
    "read_trials",
    "read_walker",
    "reckon",
    "render",
    "retrace",
    "seen_place",
    "station_region",
    "sun",
    "tally_of_count",
    "walk_of",
    "walker_frame",
    "way_back",
    "write_log",
    "write_walker",
]
