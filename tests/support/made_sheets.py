"""Every sheet of logs of every length and script, for tests that look at the printed page."""

from __future__ import annotations

import datetime
from collections.abc import Callable

from pacewright.answers.sunlight import SunAsked, UsedDeclination, answer_days
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.files.bundled import bundled
from pacewright.files.field_model import open_norths
from pacewright.files.known_places import open_estimate
from pacewright.files.log_csv import read_log
from pacewright.files.trials_csv import read_trials, read_trials_heading
from pacewright.sheets.debrief import debrief_of, debrief_sheet
from pacewright.sheets.emergency_card import emergency_card
from pacewright.sheets.field_cards import angle_card, cord_card, lost_card, obstacle_card
from pacewright.sheets.fix_worksheet import fix_worksheet
from pacewright.sheets.leg_cards import leg_card
from pacewright.sheets.log_page import blank_log, filled_log
from pacewright.sheets.north_card import north_card
from pacewright.sheets.pace_card import pace_card
from pacewright.sheets.paper import Paper, Sheet
from pacewright.sheets.plotting import plotting_sheet
from pacewright.sheets.ranging_card import ranging_card
from pacewright.sheets.route_card import route_card
from pacewright.sheets.sun_card import sun_card
from pacewright.sheets.traverse_sheet import traverse_sheet
from pacewright.sheets.trial_sheet import trial_sheet
from pacewright.sheets.way_back_card import WayBackAsked, way_back_card

INES = Walker(
    name="Ines Rowe",
    per_100_m=62.5,
    classes=(PaceClass("brush", None, None, 71.0, 0.5, 4), PaceClass("heather", "up", None, 80.0, 0.5, 3)),
)
TRIALS = bundled("pace_trials.csv")
_AZIMUTHS = (305, 38, 52, 97, 164, 211, 250, 283, 17, 124, 340, 71)
_COUNTS = (240, 185, 330, 70, 260, 95, 410, 150, 222, 61, 300, 118)
_NOTES = (
    "",
    "[at Split oak] dry so far",
    "[box right 40] pond",
    "[est 15%] river, width by paced base line",
    "[at Heron post]",
    "[ground brush] thick",
    "[cross stream] [back 70]",
    "[was 230 count] [alt 512 m]",
    "[up] stile",
    "[at Fire tower]",
    "",
    "[time 14:32] wall",
)
LONG = "a very long wall of loose stones with a gap where the sheep go through, then the second gate of three"
NO_SPACES = "Steinbruchobererrandhinterdemaltenkalkofenbeiderbirke"
SCRIPTS = "Πύλη, Ворота, Brücke, Ångström"
RIGHT_TO_LEFT = "שער 17"


def made_log(
    legs: int, notes: str = "", count: str = "paces", azimuth: str = "magnetic degrees"
) -> TravelLog:
    """A log of so many legs, with `notes` in the prose of every third."""
    unit = 6400 / 360 if "mils" in azimuth else 1
    rows = [
        f"# title: {notes or 'Cinder Fen'}",
        "# walker: Ines Rowe",
        "# date: 2026-05-14",
        f"# azimuth: {azimuth}",
        f"# count: {count}",
        "# start: Gate",
        "# known: Gate = 37.4521 -119.2984 +-10 m",
        "azimuth,count,notes",
    ]
    for k in range(legs):
        azimuth_read = round(_AZIMUTHS[k % 12] * unit)
        said = _NOTES[k % 12] if k < 12 else _NOTES[k % 12].replace("[at ", f"[at {k} ")
        more = f" {notes.replace(',', ';')}" if notes and k % 3 == 0 else ""
        if "mils" in azimuth:
            said = said.replace("[back 70]", "")
        rows.append(f'{azimuth_read},{_COUNTS[k % 12]},"{said}{more}"')
    return read_log("\n".join(rows).encode())


LOGS: dict[str, Callable[[], TravelLog]] = {
    "4 legs": lambda: made_log(4),
    "12 legs": lambda: made_log(12),
    "40 legs": lambda: made_log(40),
    "long words": lambda: made_log(12, LONG),
    "no spaces": lambda: made_log(12, NO_SPACES),
    "scripts": lambda: made_log(6, SCRIPTS),
    "right to left": lambda: made_log(6, RIGHT_TO_LEFT),
    "steps": lambda: made_log(6, count="steps"),
    "mils": lambda: made_log(6, azimuth="grid mils"),
}

OF_A_LOG: dict[str, Callable[[TravelLog, Paper], Sheet]] = {
    "leg-card": lambda log, on: leg_card(open_estimate(log, INES), on),
    "way-back": lambda log, on: way_back_card(open_estimate(log, INES), on),
    "way-back-aimed": lambda log, on: way_back_card(
        open_estimate(log, INES), on, WayBackAsked(line_azimuth_deg=100.0)
    ),
    "log": filled_log,
    "debrief": lambda log, on: debrief_sheet(debrief_of(open_estimate(log, INES)), on),
    "route": lambda log, on: route_card(open_estimate(log, INES), on, datetime.time(9, 15)),
    "emergency": lambda log, on: emergency_card(open_estimate(log, INES), on),
    "fix": lambda log, on: fix_worksheet(on, open_estimate(log, INES)),
    "traverse": lambda log, on: traverse_sheet(open_estimate(log, INES), on),
}

_SUMMER = datetime.timezone(datetime.timedelta(hours=2))
SUN_WEEK = answer_days(
    SunAsked(47.05, 8.3, datetime.date(2026, 5, 14), _SUMMER, UsedDeclination(3.5, 0.4, "by WMM-2025")), 7
)
SUN_OF_MAY = answer_days(SunAsked(70.05, 18.3, datetime.date(2026, 5, 14), _SUMMER), 7)

BLANK: dict[str, Callable[[Paper], Sheet]] = {
    "log-blank": lambda on: blank_log(on, 2),
    "trials-blank": lambda on: trial_sheet(on),
    "trials": lambda on: trial_sheet(on, read_trials(TRIALS), read_trials_heading(TRIALS)),
    "pace-card": lambda on: pace_card(INES, on),
    "plotting": lambda on: plotting_sheet(on, INES, 5000.0),
    "plotting-25000": lambda on: plotting_sheet(on, INES, 25_000.0, "mils"),
    "obstacle": lambda on: obstacle_card(on),
    "obstacle-mils": lambda on: obstacle_card(on, "mils"),
    "cord": lambda on: cord_card(INES, on),
    "angles": lambda on: angle_card(on),
    "angles-mils": lambda on: angle_card(on, "mils"),
    "lost": lost_card,
    "fix-blank": lambda on: fix_worksheet(on),
    "ranging": lambda on: ranging_card(INES, on),
    "sun": lambda on: sun_card(SUN_WEEK, "+02:00", on),
    "sun-far-north": lambda on: sun_card(SUN_OF_MAY, "+02:00", on),
    "north": lambda on: north_card(open_norths("37.4521 -119.2984", "2026-05-14"), on),
    "north-mils": lambda on: north_card(open_norths("60.2 25.0", "2026-05-14"), on, "mils"),
    "north-near": lambda on: north_card(open_norths("47.0 8.7", "2026-05-14"), on),
}
