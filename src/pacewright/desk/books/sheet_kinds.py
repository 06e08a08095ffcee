"""Every sheet that the desk prints: what is asked, and the same call that the command makes."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, get_args

from pacewright.core.compass import AzimuthUnit, parse_azimuth
from pacewright.core.pace.walker import Walker
from pacewright.desk.models import KeptLog, KeptWalker
from pacewright.desk.notebook.ground_keeping import terrain_of
from pacewright.desk.notebook.log_files import whole_estimate, whole_log
from pacewright.desk.serving.habits import habits_of
from pacewright.desk.walkers.keeping import walker_in
from pacewright.exceptions import MissingComplaint, ValueComplaint
from pacewright.sheets.paper import PAPERS, Paper, PaperName, Sheet

if TYPE_CHECKING:
    from pacewright.answers.estimate import Estimate

Asked = Mapping[str, str]
MOST_PAGES: Final = 50
WEEK_DAYS: Final = 7
AT_ONCE: Final = 40
"""Rows of a page whose sheets and files are made in the time of a page."""
UNITS: Final[tuple[AzimuthUnit, ...]] = get_args(AzimuthUnit)
PAPER_WORDS: Final[dict[PaperName, str]] = {
    "a4": "A4",
    "letter": "Letter",
    "a5": "A5",
    "pocket": "pocket card on A4",
    "pocket-letter": "pocket card on Letter",
}


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of sheet: its name on the page, what it is for, and what makes it."""

    name: str
    title: str
    what: str


BLANK: Final = (
    Kind("log", "Log pages", "Three columns, heading box, key of the remarks."),
    Kind("trials", "Pace trial sheet", "To note the runs on, with a mean worked."),
    Kind("plotting", "Plotting sheet", "Protractor, rulers in paces and metres, squared paper."),
    Kind("traverse-table", "Traverse table", "North and east parts, with a log worked."),
    Kind("ranging", "Ranging card", "Distances that cannot be walked, each method drawn."),
    Kind("north", "North card", "Declination and convergence of a place, and what to do to an azimuth."),
    Kind("sun", "Sun card", "Rise, set, light, and where the sun stands: a place and a week."),
    Kind("fix", "Fix worksheet", "Where am I, and where is that, by bearings and a protractor."),
    Kind("obstacle", "Obstacle card", "Boxing to either side: what counts and what does not."),
    Kind("cord", "Cord card", "How to tie the tally cord, and what a bead is worth."),
    Kind("angles", "Angle card", "Back azimuths, and the angles that your hand fills."),
    Kind("lost", "When you are lost", "What to do, with blanks to fill in before the walk."),
)
OF_A_LOG: Final = (
    Kind("leg-card", "Leg card", "Azimuth, count, cord, what to expect, when it is too far."),
    Kind("way-back", "Way-back card", "Direct, leg by leg, and the search."),
    Kind("route", "Route card", "To leave behind: party, legs with their times, what to do when overdue."),
    Kind("emergency", "Emergency card", "Where you are in every form, how sure, and what to say."),
    Kind("fix", "Fix worksheet", "The bearings of this log, with their back azimuths."),
    Kind("log", "The log on its pages", "Every cell as it was written."),
    Kind("debrief", "Debrief", "The walk as walked: how it closes, what may be wrong in it, the way back."),
    Kind("traverse-table", "Traverse table", "With this log worked."),
    Kind("map", "Map sheet", "The log on its ground, to exact scale."),
)
OF_A_WALKER: Final = (
    Kind("pace-card", "Pace card", "Paces for metres and metres for paces."),
    Kind("trials", "Pace trial sheet", "With the runs typed, and the mean worked."),
)


def paper_of(asked: Asked) -> Paper:
    """The paper that is asked for; the usual one of whoever asks if none is.

    Raises
    ------
    ValueComplaint
        There is no such paper.
    """
    name = asked.get("paper") or habits_of(asked).paper
    if name not in PAPERS:
        raise ValueComplaint(f"there is no paper called {name[:40]}", f"Take one of {', '.join(PAPERS)}")
    return PAPERS[name]


def blank_sheet(kind: str, asked: Asked, walker: Walker) -> Sheet:
    """A sheet that belongs to no log.

    Parameters
    ----------
    kind
        One of `BLANK`.
    asked
        What was typed, by name.
    walker
        For whom; that of the defaults for anybody.

    Raises
    ------
    Complaint
        Something asked for is none.
    """
    return _BLANK_MAKERS[kind](asked, walker, paper_of(asked))


def _log(asked: Asked, walker: Walker, on: Paper) -> Sheet:
    from pacewright.sheets.log_page import blank_log

    return blank_log(on, int(_number(asked, "pages", 1.0, "a number of pages", 1, MOST_PAGES)))


def _trials(asked: Asked, walker: Walker, on: Paper) -> Sheet:
    from pacewright.sheets.trial_sheet import trial_sheet

    return trial_sheet(on)


def _plotting(asked: Asked, walker: Walker, on: Paper) -> Sheet:
    from pacewright.sheets.plotting import plotting_sheet

    scale = _number(asked, "scale", 5000.0, "the scale of a map", 1, 10_000_000)
    return plotting_sheet(on, walker, scale, _unit(asked) or "degrees")


def _traverse(asked: Asked, walker: Walker, on: Paper) -> Sheet:
    from pacewright.files.bundled import DEMO_LOG, bundled
    from pacewright.files.known_places import open_estimate
    from pacewright.files.log_csv import read_log
    from pacewright.sheets.traverse_sheet import traverse_sheet

    return traverse_sheet(open_estimate(read_log(bundled(DEMO_LOG), DEMO_LOG), walker), on, _unit(asked))


def _ranging(asked: Asked, walker: Walker, on: Paper) -> Sheet:
    from pacewright.sheets.ranging_card import ranging_card

    return ranging_card(walker, on)


def _north(asked: Asked, walker: Walker, on: Paper) -> Sheet:
    from pacewright.files.field_model import open_norths
    from pacewright.sheets.north_card import north_card

    place, when = asked.get("place", "").strip(), asked.get("date", "").strip()
    if not place:
        raise MissingComplaint("no place is given", "Write latitude and longitude, UTM or MGRS")
    height_m = _number(asked, "height", 0.0, "a height in metres", -1000, 10_000)
    return north_card(open_norths(place, when, height_m), on, _unit(asked) or "degrees")


def _sun(asked: Asked, walker: Walker, on: Paper) -> Sheet:
    from pacewright.answers.sunlight import SunAsked, answer_days, declination_for_sun
    from pacewright.core.written_dates import parse_date
    from pacewright.files.clock_text import parse_zone
    from pacewright.files.field_model import bundled_field_model
    from pacewright.ground.grid_text import parse_place
    from pacewright.sheets.sun_card import sun_card

    place, when, zone = (asked.get(name, "").strip() for name in ("place", "date", "zone"))
    if not place:
        raise MissingComplaint("no place is given", "Write latitude and longitude, UTM or MGRS")
    if not zone:
        raise MissingComplaint(
            "a card of times has to go by the watch that is carried", "Write its offset, such as +02:00"
        )
    position, date, (clock, zone_name) = parse_place(place), parse_date(when), parse_zone(zone)
    where = (position.latitude_deg, position.longitude_deg)
    used = declination_for_sun(bundled_field_model(), where, date)
    return sun_card(answer_days(SunAsked(*where, date, clock, used), WEEK_DAYS), zone_name, on)


def _fix(asked: Asked, walker: Walker, on: Paper) -> Sheet:
    from pacewright.sheets.fix_worksheet import fix_worksheet

    return fix_worksheet(on)


def _obstacle(asked: Asked, walker: Walker, on: Paper) -> Sheet:
    from pacewright.sheets.field_cards import obstacle_card

    return obstacle_card(on, _unit(asked) or "degrees")


def _cord(asked: Asked, walker: Walker, on: Paper) -> Sheet:
    from pacewright.sheets.field_cards import cord_card

    return cord_card(walker, on)


def _angles(asked: Asked, walker: Walker, on: Paper) -> Sheet:
    from pacewright.sheets.field_cards import angle_card

    return angle_card(on, _unit(asked) or "degrees")


def _lost(asked: Asked, walker: Walker, on: Paper) -> Sheet:
    from pacewright.sheets.field_cards import lost_card

    return lost_card(on)


_BLANK_MAKERS: Final[dict[str, Callable[[Asked, Walker, Paper], Sheet]]] = {
    "log": _log,
    "trials": _trials,
    "plotting": _plotting,
    "traverse-table": _traverse,
    "ranging": _ranging,
    "north": _north,
    "sun": _sun,
    "fix": _fix,
    "obstacle": _obstacle,
    "cord": _cord,
    "angles": _angles,
    "lost": _lost,
}


def log_sheet(kind: str, asked: Asked, kept: KeptLog) -> Sheet:
    """A sheet of a log, one of `OF_A_LOG`.

    Raises
    ------
    Complaint
        The page is not understood as a whole, or something asked for is none.
    """
    on = paper_of(asked)
    if kind == "leg-card":
        from pacewright.sheets.leg_cards import leg_card

        return leg_card(whole_estimate(kept), on)
    if kind == "way-back":
        return _way_back(whole_estimate(kept), on, asked)
    if kind == "route":
        from pacewright.sheets.route_card import route_card

        return route_card(whole_estimate(kept), on)
    if kind == "emergency":
        from pacewright.sheets.emergency_card import emergency_card

        return emergency_card(whole_estimate(kept), on)
    if kind == "fix":
        from pacewright.sheets.fix_worksheet import fix_worksheet

        return fix_worksheet(on, whole_estimate(kept))
    if kind == "log":
        from pacewright.sheets.log_page import filled_log

        return filled_log(whole_log(kept), on)
    if kind == "debrief":
        return _debrief(whole_estimate(kept), on)
    if kind == "traverse-table":
        from pacewright.sheets.traverse_sheet import traverse_sheet

        return traverse_sheet(whole_estimate(kept), on, _unit(asked))
    return _map(kept, on, asked)


def _way_back(estimate: Estimate, on: Paper, asked: Asked) -> Sheet:
    from pacewright.sheets.way_back_card import WayBackAsked, way_back_card

    log = estimate.log
    unit = log.heading.azimuth_unit
    here = log.find_station(asked["from"]) if asked.get("from") else len(log.legs)
    sighting = _number(asked, "sighting", math.nan, "a sighting distance", 0.001, 1_000_000)
    wanted = WayBackAsked(
        from_station=here,
        to_station=estimate.find_goal(asked["to"], here) if asked.get("to") else 0,
        line_azimuth_deg=parse_azimuth(asked["line"], unit) if asked.get("line", "").strip() else None,
        sighting_distance=None if math.isnan(sighting) else sighting,
    )
    return way_back_card(estimate, on, wanted)


def _debrief(estimate: Estimate, on: Paper) -> Sheet:
    from pacewright.sheets.debrief import debrief_of, debrief_sheet

    return debrief_sheet(debrief_of(estimate), on)


def _map(kept: KeptLog, on: Paper, asked: Asked) -> Sheet:
    from pacewright.sheets.map_of_log import map_of_log

    if kept.ground is None:
        raise MissingComplaint("no ground is chosen for this log", "Choose one under Map")
    scale = _number(asked, "scale", math.nan, "the scale of a map", 1, 10_000_000)
    at_scale = None if math.isnan(scale) else scale
    return map_of_log(whole_estimate(kept), terrain_of(kept.ground), on, scale=at_scale)


def walker_sheet(kind: str, asked: Asked, kept: KeptWalker) -> Sheet:
    """A sheet of a walker, one of `OF_A_WALKER`.

    Raises
    ------
    Complaint
        The walker has no pace count, or there are no trials.
    """
    on = paper_of(asked)
    if kind == "pace-card":
        from pacewright.sheets.pace_card import pace_card

        return pace_card(walker_in(kept), on)
    from pacewright.files.trials_csv import read_trials, read_trials_heading
    from pacewright.sheets.trial_sheet import trial_sheet

    data = kept.trials_csv.encode("utf-8")
    return trial_sheet(on, read_trials(data), {"walker": kept.name, **read_trials_heading(data)})


def _unit(asked: Asked) -> AzimuthUnit | None:
    unit = asked.get("unit", "")
    return next((one for one in UNITS if one == unit), None)


def _number(asked: Asked, name: str, otherwise: float, called: str, least: float, most: float) -> float:
    text = asked.get(name, "").strip()
    if not text:
        return otherwise
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not least <= value <= most:
        raise ValueComplaint(f"{text[:40]} is not {called}", f"Write a number from {least:g} to {most:g}")
    return value


def sheet_pdf(make: Callable[[], Sheet], asked: Asked, *, is_as_written: bool = False) -> bytes:
    """A sheet as the bytes of a PDF, its numbers and dates as whoever asks writes them.

    Parameters
    ----------
    make
        What makes it.
    asked
        What was asked, and among it how the reader writes.
    is_as_written
        True where every text is to stand as it was written, whoever reads it.

    Raises
    ------
    Complaint
        It cannot be made, or does not fit the paper.
    """
    from pacewright.sheets.typesetting import typeset

    written = None if is_as_written else habits_of(asked).figures
    printed_on = datetime.date.today().isoformat()
    return typeset([make()], paper_of(asked), printed_on=printed_on, written=written)


def log_sheet_pdf(kept: KeptLog, kind: str, asked: Asked) -> bytes:
    """A sheet of a log as the bytes of a PDF.

    Raises
    ------
    Complaint
        As `log_sheet` and `sheet_pdf`.
    """
    return sheet_pdf(lambda: log_sheet(kind, asked, kept), asked, is_as_written=kind == "log")


def walker_sheet_pdf(kept: KeptWalker, kind: str, asked: Asked) -> bytes:
    """A sheet of a walker as the bytes of a PDF.

    Raises
    ------
    Complaint
        As `walker_sheet` and `sheet_pdf`.
    """
    return sheet_pdf(lambda: walker_sheet(kind, asked, kept), asked)


def blank_sheet_pdf(kind: str, asked: Asked, walker: KeptWalker | None) -> bytes:
    """A sheet that belongs to no log as the bytes of a PDF.

    Raises
    ------
    Complaint
        As `blank_sheet` and `sheet_pdf`.
    """
    figures = Walker() if walker is None else walker_in(walker)
    return sheet_pdf(lambda: blank_sheet(kind, asked, figures), asked)
