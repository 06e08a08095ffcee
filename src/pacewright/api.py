"""The public names in one place, for notebooks and scripts.

>>> from pacewright.api import read_log, way_back
>>> log = read_log(b"# count: paces\\nazimuth,count,notes\\n90,300,\\n0,400,\\n")
>>> way = way_back(log)
>>> round(way.azimuth_deg), way.count
(217, 500)
"""

from pacewright.answers.way import aim_off, way_back
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
from pacewright.files.log_csv import read_log, write_log
from pacewright.files.trials_csv import read_trials
from pacewright.files.walker_toml import read_walker, write_walker

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
