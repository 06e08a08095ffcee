"""The estimate that all answers about a log rest on, built once: where it stands, and what may be wrong."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjust.closure import Closure, find_closures, find_unexplained
from pacewright.core.adjust.standing import Standing, build_standing, with_a_pace
from pacewright.core.compass import direction_deg
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.slips.mistakes import Findings, find_mistakes
from pacewright.core.slips.place_mixture import Island, find_islands
from pacewright.core.slips.reading_slips import ReadingSlip, set_aside
from pacewright.core.slips.struck_readings import strike_reading
from pacewright.core.way.frames import Frame, FrameKind, choose_frame, into_frame, map_frame, walker_frame
from pacewright.core.way.lead import Lead, cut_at_markers, lead_over_legs
from pacewright.core.way.observations import (
    MARKER_SD_M,
    PLACING_STATIONS,
    MapPlaces,
    Observations,
    find_observations,
    units_per_metre,
)
from pacewright.core.way.reckoning import Reckoning, reckon
from pacewright.exceptions import Complaint, MissingComplaint, NoAnswerComplaint, ValueComplaint
from pacewright.ground.map_anchor import MapAnchor

Array = NDArray[np.float64]

LEGS_TO_SEARCH: Final = 200
WORK_TO_SEARCH: Final = 1.5e5
"""An answer is asked for on the way and must come at once: a log that would take more than about a
second to search is judged by how it closes."""


@dataclass(frozen=True, slots=True)
class KnownPlaces:
    """The frame of a log, the places in it that a map gave, and why that may be none.

    Attributes
    ----------
    frame
        In which the log is searched and adjusted.
    placed
        Places of known points that only a map can tell.
    unplaced
        Sentences on what could not be placed.
    anchor
        Where the log is held on the map; None where no station's place is known.
    refused
        Why its places on the map could not be had.
    tell_pace
        Whether the walker has no pace count and the places tell one.
    """

    frame: Frame
    placed: MapPlaces = field(default_factory=MapPlaces)
    unplaced: tuple[str, ...] = ()
    anchor: MapAnchor | None = None
    refused: Complaint | None = None
    tell_pace: bool = False

    @property
    def said(self) -> tuple[str, ...]:
        """Sentences on what its places tell, and on what could not be placed."""
        told = ("You gave no pace count: the places known in metres tell it.",) if self.tell_pace else ()
        return (*told, *self.unplaced)

    @property
    def map_frame(self) -> Frame:
        """The frame that places on the map are in; the log's own frame where none are."""
        if self.frame.kind == "map" or self.anchor is None or not self.placed.places:
            return self.frame
        return self.anchor.frame


@dataclass(frozen=True, slots=True, eq=False)
class Estimate:
    """Where all of a log stands, as sure as it is, and whether it may hold a mistake.

    Attributes
    ----------
    log, walker
        The log, and who walked it.
    known
        What a map told.
    standing
        All that was written and observed put together.
    findings
        Of the search for a mistake; None where nothing could show one, or the log is too long.
    unexplained
        Closures that scatter does not explain, of a log too long to be searched.
    unsettled
        Why the log could not be put together; its legs then stand as written.
    """

    log: TravelLog
    walker: Walker
    known: KnownPlaces
    standing: Standing
    findings: Findings | None
    unexplained: tuple[Closure, ...] = ()
    unsettled: str = ""

    @property
    def written(self) -> Reckoning:
        """The pencil's own sum, in the walker's frame."""
        return self.standing.written

    @property
    def is_condemned(self) -> bool:
        """True where a mistake is likelier than not, and no one reading is it: the legs stand as written."""
        if self.findings is None:
            return bool(self.unexplained)
        found = self.findings
        return found.observed and found.verdict != "none" and found.wrong_reading is None

    @property
    def wrong_reading(self) -> ReadingSlip | None:
        """The reading that is wrong, likelier than not, and that the estimate leaves out."""
        if self.findings is None or self.findings.verdict == "none":
            return None
        wrong = self.findings.wrong_reading
        return None if wrong is None else wrong.slip

    @property
    def is_written(self) -> bool:
        """True where the legs alone say where everything stands."""
        return self.is_condemned or self.standing.adjustment is None

    def lead(self, here: int, there: int) -> Lead:
        """How one station lies from another: by everything, or as written while a mistake is likely."""
        lead = (
            lead_over_legs(self.written, here, there) if self.is_written else self.standing.lead(here, there)
        )
        if not lead.is_there:
            return lead
        # One marker is one place, within a metre.
        sd = MARKER_SD_M * units_per_metre(self.walker, self.written.frame)
        return replace(lead, step=np.zeros(2), covariance=sd**2 * np.eye(2), legs=(), is_written=False)

    def lead_to(self, here: int, name: str) -> Lead:
        """How a known place, or a thing fixed by bearings, lies from a station.

        Raises
        ------
        MissingComplaint
            Nothing says where that is.
        """
        if not self.is_condemned:
            return self.standing.lead_to(here, name)
        # Nothing is spread over legs that hold no mistake: as written to the start, from there to the goal.
        alone, _ = _stood(self.log, self.walker, self.known, _goals_alone)
        beyond = alone.lead_to(0, name)
        if here == 0:
            return beyond
        first = self.lead(here, 0)
        step, covariance = first.step + beyond.step, first.covariance + beyond.covariance
        return replace(first, to_station=None, to_name=name, step=step, covariance=covariance)

    def find_goal(self, name: str, here: int) -> int | str:
        """The station that a name or a number means, or else the place or the thing seen that can be a goal.

        Parameters
        ----------
        name
            As asked for.
        here
            Where the way begins: of several visits of a marker the closest along the log is meant.

        Raises
        ------
        MissingComplaint
            It is none of them.
        """
        wanted = unicodedata.normalize("NFC", " ".join(name.split()))
        goals = self.standing.goals()
        for goal in goals:
            if unicodedata.normalize("NFC", goal) == wanted:
                return goal
        try:
            return self.log.find_station(name, near=here)
        except MissingComplaint as complaint:
            alike = [goal for goal in goals if goal.casefold() == wanted.casefold()]
            if len(alike) == 1:
                return alike[0]
            why = self._why_no_goal(wanted)
            if why is not None:
                raise MissingComplaint(f"{wanted} cannot be a goal", why.rstrip(".")) from None
            others = f", or a place that is known or fixed by bearings ({', '.join(goals)})" if goals else ""
            raise MissingComplaint(complaint.what, f"{complaint.do}{others}") from None

    def _why_no_goal(self, name: str) -> str | None:
        """Why a name that the log holds is no goal; None for a name that it does not hold."""
        wrong = self.wrong_reading
        if wrong is not None and (wrong.reading, wrong.name) == ("place", name):
            return "Its known place is probably wrong and is left out: take it again (pacewright check)"
        told = (one for one in self.unused if name and re.search(rf"\b{re.escape(name)}\b", one))
        why = next(told, None)
        if why is not None or all(point.name != name for point in self.log.heading.known):
            return why
        start = self.log.heading.start or "Gate"
        add = f"add '# known: {start} = PLACE +-10 m' to the heading"
        return next(iter(self.known.unplaced), f"It is known on the map, and the start is not: {add}")

    @property
    def unused(self) -> tuple[str, ...]:
        """What the log holds and the estimate does not use, and why."""
        said = list(self.known.unplaced)
        if self.unsettled:
            said.append(f"The log could not be put together and its legs stand as written: {self.unsettled}")
        if self.is_condemned:
            found = self._observations()
            if found.fixes or found.bearings:
                said.append("Known places and bearings are not used while a mistake is likely.")
            return tuple(said)
        is_put_together = self.standing.adjustment is not None
        return (*said, *(self.standing.unused if is_put_together else self._observations().unused))

    def _observations(self) -> Observations:
        walker, _ = with_a_pace(self.log, self.walker)
        frame = self.known.map_frame
        if frame.kind != "map":
            frame = map_frame(self.log.heading, walker)
        return find_observations(self.log, walker, frame, self.known.placed, least_stations=PLACING_STATIONS)

    def stations(self, kind: FrameKind | None = None) -> Reckoning:
        """Where the stations stand, and how sure each is, in a frame.

        Raises
        ------
        MissingComplaint
            The map frame has no pace count.
        """
        written = self.as_walked(kind)
        if self.is_written:
            return self.cut(written)
        if written.frame.kind == "walker":
            return replace(written, place=self.standing.places(), held=self.standing.covariances())
        adjustment = self.standing.adjustment
        assert adjustment is not None
        return replace(adjustment.reckoning, place=adjustment.place, held=adjustment.covariances())

    def own_places(self) -> Array:
        """Where the stations stand in the walker's frame, shape (n + 1, 2)."""
        return self.cut(self.written).place if self.is_written else self.standing.places()

    def cut(self, written: Reckoning) -> Reckoning:
        """A log as written, cut at its markers while a mistake is likelier than not."""
        if not self.is_condemned:
            return written
        return cut_at_markers(written, MARKER_SD_M * units_per_metre(self.walker, written.frame))

    def as_walked(self, kind: FrameKind | None = None) -> Reckoning:
        """The pencil's own sum in a frame: every leg as written, nothing put right.

        Raises
        ------
        MissingComplaint
            The map frame has no pace count.
        """
        frame = self.frame(kind)
        if frame.kind == "walker":
            return self.written
        return reckon(self.log, with_a_pace(self.log, self.walker)[0], frame)

    def frame(self, kind: FrameKind | None = None) -> Frame:
        """The frame asked for; unasked, paces until the log has a pace count and a known point."""
        if kind != "walker" and self.known.frame.kind == "map":
            return self.known.frame
        adjustment = self.standing.adjustment
        if kind == "map" and adjustment is not None and adjustment.frame.kind == "map":
            return adjustment.frame
        return choose_frame(self.log.heading, self.walker, kind)

    def chance_of_mistake(self, lead: Lead) -> float | None:
        """The chance that the legs of a way hold a mistake; None where nothing could show one."""
        if self.findings is None or not self.findings.observed:
            return None
        goal = lead.to_name if lead.to_station is None else None
        return self.findings.chance_in(lead.numbers, lead.markers, goal)

    def islands(self, lead: Lead) -> tuple[Island, ...]:
        """Where the walker may stand from a goal while a mistake is likely, in the walker's frame."""
        if not self.is_condemned or self.findings is None or lead.to_station is None:
            return ()
        found = find_islands(self.findings.posterior, lead.from_station, lead.to_station)
        frame, own = self.findings.posterior.frame, self.written.frame
        return tuple(_in_own_paces(one, frame, own) for one in found)

    def apart_from_written(self, station: int) -> float:
        """How far a station stands from where the pencil's own sum has it, in the walker's frame."""
        return float(np.hypot(*(self.own_places()[station] - self.written.place[station])))


def find_estimate(log: TravelLog, walker: Walker | None = None, known: KnownPlaces | None = None) -> Estimate:
    """Where a log stands, by all that it holds, and whether it may hold a mistake.

    Parameters
    ----------
    log, walker
        The log, and who walked it.
    known
        What a map told; by default only what the log itself says in metres from its start.

    Raises
    ------
    MissingComplaint
        The pace table lacks a class that the log names.
    """
    walker = walker or Walker()
    known = known or KnownPlaces(choose_frame(log.heading, walker))
    standing, unsettled = _stood(log, walker, known)
    findings, unexplained = _searched(log, walker, known, standing)
    estimate = Estimate(log, walker, known, standing, findings, unexplained, unsettled)
    wrong = estimate.wrong_reading
    if wrong is None:
        return estimate
    if wrong.reading == "marker":
        # By its name alone the station would still be taken for the place of the marker.
        log = strike_reading(log, wrong)
    standing, unsettled = _stood(log, walker, known, partial(set_aside, wrong))
    return replace(estimate, log=log, standing=standing, unsettled=unsettled)


def as_written_in_paces(log: TravelLog, walker: Walker) -> Reckoning:
    """The legs of a log as the pencil has them, in the walker's frame: what a leg card tells to walk."""
    return reckon(log, walker, walker_frame(log.heading, walker))


def _stood(
    log: TravelLog,
    walker: Walker,
    known: KnownPlaces,
    aside: Callable[[Observations], Observations] | None = None,
) -> tuple[Standing, str]:
    try:
        return build_standing(log, walker, known.map_frame, known.placed, aside=aside), ""
    except ValueComplaint as complaint:
        # What does not settle on one figure is no reason to say nothing: the legs stand as written.
        return Standing(log, walker, as_written_in_paces(log, walker), None), str(complaint)


def _goals_alone(observations: Observations) -> Observations:
    """The known places that can be goals, and nothing that would move a leg."""
    seen = {one.name: one.landmark for one in observations.bearings if one.landmark is not None}
    goals = {**seen, **observations.goals}
    return replace(observations, ties=(), fixes=(), bearings=(), back_azimuths=(), goals=goals)


def _searched(
    log: TravelLog, walker: Walker, known: KnownPlaces, standing: Standing
) -> tuple[Findings | None, tuple[Closure, ...]]:
    frame = known.frame
    if standing.is_pace_assumed and standing.adjustment is not None:
        walker, _ = with_a_pace(log, walker)
        frame = standing.adjustment.frame
    found = find_observations(log, walker, frame, known.placed)
    if not (found.ties or found.fixes or found.bearings or found.back_azimuths):
        return None, ()
    if len(log.legs) <= LEGS_TO_SEARCH:
        try:
            return find_mistakes(log, walker, frame=frame, placed=known.placed, most_work=WORK_TO_SEARCH), ()
        except NoAnswerComplaint:
            pass
    return None, find_unexplained(find_closures(log, reckon(log, walker, frame), found))


def _in_own_paces(island: Island, frame: Frame, own: Frame) -> Island:
    matrix = into_frame(frame, own)
    center = matrix @ island.center
    return Island(
        island.probability,
        center,
        matrix @ island.covariance @ matrix.T,
        direction_deg(*-center),
        float(np.hypot(*center)),
    )
