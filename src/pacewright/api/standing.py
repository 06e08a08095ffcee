"""A log and its walker as one estimate, and every question about them."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from functools import cached_property, partial
from typing import Any, Final

from pacewright.answers.closing import Closing, adjust_log, answer_closing, pulled_stations, search_log
from pacewright.answers.estimate import Estimate
from pacewright.answers.fixing import FixAsked, fix_log
from pacewright.answers.locate import LocateAnswer, answer_locate
from pacewright.answers.placing import PlacedLog
from pacewright.answers.sunlight import SunAnswer, SunAsked, WalkBack, answer_sun
from pacewright.answers.way import WayAnswer, WayAsked, answer_way
from pacewright.api.answered import Answered
from pacewright.api.reading import Source, read_log
from pacewright.core.adjust.adjustment import Adjustment
from pacewright.core.bearings.log_fixes import LogFixes
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import FrameKind
from pacewright.core.way.reckoning import Reckoning
from pacewright.drawing.located_map import draw_located
from pacewright.drawing.reconciled import draw_adjusted, draw_findings
from pacewright.drawing.render import render
from pacewright.drawing.walk_picture import draw_log
from pacewright.exceptions import ValueComplaint
from pacewright.files.adjustment_json import adjustment_keys
from pacewright.files.clock_text import parse_moment, parse_zone
from pacewright.files.findings_json import closure_keys, findings_keys
from pacewright.files.fix_json import landmark_fix_keys, station_fix_keys
from pacewright.files.known_places import open_estimate, open_model
from pacewright.files.locate_json import locate_keys
from pacewright.files.locate_land import open_land
from pacewright.files.placed_json import placed_keys
from pacewright.files.prior_area import AreaAsked, starts_within
from pacewright.files.result_json import reckoning_keys, station_keys, way_back_keys
from pacewright.files.station_files import find_placed
from pacewright.files.sun_json import sun_back_keys, sun_keys
from pacewright.ground.grid_text import parse_place
from pacewright.sheets.debrief import debrief_of, debrief_sheet
from pacewright.sheets.emergency_card import emergency_card
from pacewright.sheets.leg_cards import leg_card
from pacewright.sheets.log_page import filled_log
from pacewright.sheets.paper import PAPERS, Paper, PaperName, Sheet
from pacewright.sheets.traverse_sheet import traverse_sheet
from pacewright.sheets.typesetting import typeset
from pacewright.sheets.way_back_card import way_back_card
from pacewright.wording.adjusted_answer import say_adjusted
from pacewright.wording.check_answer import answer_check
from pacewright.wording.estimate import say_condemned
from pacewright.wording.fix_answer import say_log_fixes
from pacewright.wording.locating import say_located
from pacewright.wording.placing import say_placed
from pacewright.wording.reckoned_answer import say_stations
from pacewright.wording.sun_answer import say_sun
from pacewright.wording.suspects import say_suspect
from pacewright.wording.walk import CAUTION
from pacewright.wording.way_answer import say_way

_SHEETS: Final[dict[str, Callable[[Estimate, Paper], Sheet]]] = {
    "debrief": lambda estimate, paper: debrief_sheet(debrief_of(estimate), paper),
    "emergency": emergency_card,
    "leg-card": leg_card,
    "log": lambda estimate, paper: filled_log(estimate.log, paper),
    "traverse-table": traverse_sheet,
    "way-back": way_back_card,
}


class Standing:
    """A log and its walker as one estimate: where you are, the way back, and what may be wrong.

    Every answer is the one that the commands give, and complains as they do.

    Parameters
    ----------
    log
        A log, or what `read_log` reads.
    walker
        Whose paces and compass; the defaults if left out.
    """

    def __init__(self, log: TravelLog | Source, walker: Walker | None = None) -> None:
        self.log = log if isinstance(log, TravelLog) else read_log(log)
        self.walker = walker or Walker()

    @cached_property
    def estimate(self) -> Estimate:
        """The one estimate that every command and page reads."""
        return open_estimate(self.log, self.walker)

    def stations(
        self, frame: FrameKind | None = None, probability: float = DEFAULT_PROBABILITY
    ) -> Answered[Reckoning]:
        """Where every station lies, in own paces or, with `frame="map"`, in metres."""
        found = self.estimate.stations(frame or "walker")
        said = say_stations(self.estimate, found, probability, with_metres=frame is None)
        rows = station_keys(found.names, found.place, found.covariances())
        draw = partial(draw_log, self.estimate, frame, probability, with_back=False)
        return Answered(found, (*said.sentences, CAUTION), reckoning_keys(found), rows, draw)

    def on_map(self, probability: float = DEFAULT_PROBABILITY) -> Answered[PlacedLog]:
        """Where every station lies on the earth, by a place that the heading knows.

        Raises
        ------
        Complaint
            No station's place is known, or the declination is not.
        """
        placed, why_not = find_placed(self.estimate, is_needed=True)
        if placed is None:
            raise why_not or ValueComplaint("no station's place is known", "Give one in the heading")
        keys = placed_keys(placed, probability)
        rows = [
            {"index": k, "name": name, "latitude_deg": float(latitude), "longitude_deg": float(longitude)}
            for k, (name, latitude, longitude) in enumerate(
                zip(placed.names, placed.latitude_deg, placed.longitude_deg, strict=True)
            )
        ]
        return Answered(placed, (*say_placed(self.log, placed, probability), CAUTION), keys, rows)

    def back(
        self,
        to: str | int = 0,
        from_station: str | int | None = None,
        probability: float = DEFAULT_PROBABILITY,
    ) -> Answered[WayAnswer]:
        """The way back to a station or known place, by name or number, with its doubts."""
        here = len(self.log.legs) if from_station is None else self.log.find_station(str(from_station))
        goal = self.estimate.find_goal(str(to), here)
        found = answer_way(self.estimate, WayAsked(here, goal, probability))
        draw = partial(draw_log, self.estimate, None, probability, str(to))
        return Answered(found, tuple(say_way(found)), way_back_keys(found.way), svg=draw)

    def check(self) -> Answered[Closing]:
        """Whether the log closes, and which slip explains it if not; a row a suspect, the likeliest first.

        Raises
        ------
        NoAnswerComplaint
            The log is too long to be searched.
        """
        known = self.estimate.known
        findings = search_log(self.log, self.walker, known)
        closing, told = answer_closing(findings), answer_check(findings, known.said)
        keys = findings_keys(findings, lambda suspect: say_suspect(suspect, self.log))
        keys = {"closures": closure_keys(closing.closures), **keys}
        caption = (*told.found, told.sentences[-1])
        draw = partial(draw_findings, findings, closing.closures, closing.islands, caption)
        return Answered(closing, told.sentences, keys, keys["suspects"], draw)

    def adjust(
        self, *, robust: bool = False, probability: float = DEFAULT_PROBABILITY
    ) -> Answered[Adjustment]:
        """Every station by least squares over all that the log holds; a row a station."""
        known = self.estimate.known
        found = adjust_log(self.estimate, robust=robust)
        warned = say_condemned(self.estimate, is_spread=not found.is_as_written)
        pulled = pulled_stations(self.estimate)
        said = say_adjusted(self.log, found, probability, known.said, self.walker, warned, pulled)
        keys = adjustment_keys(found)
        draw = partial(draw_adjusted, self.log, found, probability, (*warned, CAUTION))
        return Answered(found, said.sentences, keys, keys["stations"], draw)

    def fix(self, station: str = "", landmark: str = "") -> Answered[LogFixes]:
        """What the bearings of the log fix: one station or thing by name, else all; a row a fix."""
        known = self.estimate.known
        found = fix_log(self.log, self.walker, FixAsked(station, landmark), known)
        stations = [station_fix_keys(one, known.anchor) for one in found.stations]
        rows = [*stations, *map(landmark_fix_keys, found.landmarks)]
        said = tuple(say_log_fixes(self.log, self.walker, found, known.anchor))
        return Answered(found, said, {"fixes": rows}, rows)

    def daylight(
        self, place: str, time: str, zone: str, date: datetime.date | None = None
    ) -> Answered[SunAnswer]:
        """Whether daylight lasts for the way back.

        Parameters
        ----------
        place
            Of the walk, such as "37.45 -119.30".
        time, zone
            Now by the watch, such as "14:30", and its offset from universal time, such as "-07:00".
        date
            By default the log's.
        """
        day = date or self.log.heading.date
        if day is None:
            raise ValueComplaint("the log has no date", "Give the date")
        where, (clock, zone_name) = parse_place(place), parse_zone(zone)
        asked = SunAsked(
            where.latitude_deg,
            where.longitude_deg,
            day,
            clock,
            when=parse_moment(day, time, clock),
            back=WalkBack(),
        )
        found = answer_sun(asked, self.walker, self.estimate)
        keys = {**sun_keys(found, zone_name), "back": sun_back_keys(found)}
        return Answered(found, say_sun(found, zone_name, self.walker).sentences, keys)

    def locate(
        self, terrain: str, near: str = "", within_km: float = 5.0, threads: int = 2
    ) -> Answered[LocateAnswer]:
        """Where on a terrain the log was walked; a row a likely place, the best first.

        Parameters
        ----------
        terrain
            A file of heights.
        near, within_km
            A place about which it began, where one is known.
        """
        circles: tuple[tuple[float, float, float], ...] = ()
        if near:
            place = parse_place(near)
            circles = ((place.latitude_deg, place.longitude_deg, 1000.0 * within_km),)
        area = AreaAsked(near=circles)
        land = open_land(terrain, area)
        found = answer_locate(self.log, self.walker, land, open_model(self.log), starts_within(area, land))
        keys = locate_keys(found)
        return Answered(
            found, tuple(say_located(found)), keys, keys["candidates"], partial(draw_located, found)
        )

    def picture(self, suffix: str = ".svg") -> bytes:
        """The walked figure with the way back, as the kind of file that a suffix names."""
        return render(draw_log(self.estimate), suffix)

    def sheet(self, kind: str = "way-back", paper: PaperName = "a4", printed_on: str = "") -> bytes:
        """A sheet of the log as PDF: debrief, emergency, leg-card, log, traverse-table or way-back.

        Raises
        ------
        ValueComplaint
            There is no sheet of that kind, or it does not fit on that paper.
        """
        if kind not in _SHEETS:
            raise ValueComplaint(f"there is no sheet called {kind[:40]}", f"Give one of {', '.join(_SHEETS)}")
        on = PAPERS[paper]
        return typeset([_SHEETS[kind](self.estimate, on)], on, printed_on=printed_on)

    def say(self, to: str | int = 0) -> list[str]:
        """The way back in sentences, the answer first and the caution last."""
        return list(self.back(to).sentences)

    def to_rows(self) -> list[dict[str, Any]]:
        """A row a station (index, name, leg, east, north, covariance), as `pandas.DataFrame` takes them."""
        return self.stations().to_rows()

    def __repr__(self) -> str:
        """In one line: how many legs, and the way back."""
        legs = "1 leg" if len(self.log.legs) == 1 else f"{len(self.log.legs)} legs"
        return f"Standing({legs}; back: {self.say()[0]})"

    def _repr_html_(self) -> str:
        return self.back()._repr_html_()

    def _repr_svg_(self) -> str:
        return draw_log(self.estimate)
