"""Where a mistake may be, what would not show, what to observe next: in plain sentences.

A row is called wrong only above nine chances in ten; below that, rows are to be checked first.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from pacewright.core.adjust.closure import Closure
from pacewright.core.log.page_sources import find_source
from pacewright.core.log.travel_log import Leg, TravelLog
from pacewright.core.pace.tally import whole_count
from pacewright.core.slips.advice import Advice
from pacewright.core.slips.mistakes import NAME_ABOVE, Findings
from pacewright.core.slips.place_mixture import Island
from pacewright.core.slips.plan_checks import PlanCheck
from pacewright.core.slips.reading_slips import ReadingKind, ReadingSlip
from pacewright.core.slips.slip_pairs import PairFindings
from pacewright.core.slips.slips import PAGE_MISREAD, AnySlip, SlipKind
from pacewright.core.slips.suspects import AnyKind, PlaceToCheck, Suspect
from pacewright.wording.numbers import say_azimuth, say_length, say_place

Rows = tuple[tuple[str, ...], list[tuple[str, ...]]]

CAUTION: Final = "Caution: suspects, not proof. Local rules and qualified instruction come first."
SURE: Final = 0.99
MOST_IN_BRIEF: Final = 2
"""As many rows to check first as there is room for in a line."""
LEAST_MISREAD: Final = 0.1
"""A digit of the page that may be another one is named from this chance on."""

CAUSE: Final[dict[AnyKind, str]] = {
    "tally_lost": "a hundred was not tallied",
    "tally_added": "a hundred was tallied twice",
    "thousand_lost": "a thousand was not tallied",
    "azimuth_reversed": "the azimuth was read from the wrong end of the needle",
    "digit_misread": "a digit of the azimuth was read or written one off",
    "digits_swapped": "two digits were written in the wrong order",
    "leg_missing": "a leg was walked and never written",
    "offset_mirrored": "the detour went round the other side",
    "declination_mirrored": "the declination was applied the wrong way",
    "steps_for_paces": "single steps were counted as paces",
    "paces_for_steps": "paces were halved as if they were steps",
    "quadrant_wrong": "the azimuth was read a quarter circle off",
    "rows_exchanged": "two cards or rows were exchanged",
    "back_not_turned": "back azimuth not turned round",
    "back_misread": "back azimuth misread",
    "bearing_misread": "bearing misread, or of another thing",
    "place_wrong": "known place wrong, or less sure than stated",
    "marker_mistaken": "another marker taken for it",
    "station_pulled": "compass pulled at the station",
    "page_misread": "a digit on the page was read as another",
}
"""What happened, as the second half of a sentence."""

_UNSEEN: Final[dict[SlipKind | ReadingKind, str]] = {
    "tally_lost": "a lost tally of 100",
    "tally_added": "a tally of 100 too many",
    "thousand_lost": "a lost thousand",
    "azimuth_reversed": "a reversed azimuth",
    "digit_misread": "an azimuth with one digit misread",
    "digits_swapped": "two digits in the wrong order",
    "leg_missing": "a leg left out",
    "offset_mirrored": "a detour round the other side",
    "declination_mirrored": "a declination applied the wrong way",
    "steps_for_paces": "steps counted as paces",
    "paces_for_steps": "paces halved as if they were steps",
    "quadrant_wrong": "an azimuth a quarter circle off",
    "rows_exchanged": "two cards or rows exchanged",
    "back_not_turned": "a back azimuth not turned round",
    "back_misread": "a back azimuth misread",
    "bearing_misread": "a bearing misread",
    "place_wrong": "a known place that is wrong",
    "marker_mistaken": "a marker mistaken for another",
    "station_pulled": "a station that pulls the compass",
}


def say_percent(probability: float) -> str:
    """Write a chance in per cent, never as a certainty.

    >>> say_percent(0.853), say_percent(0.9996), say_percent(0.0004)
    ('85 %', 'over 99 %', 'under 1 %')
    """
    if probability > SURE:
        return "over 99 %"
    if probability < 1.0 - SURE:
        return "under 1 %"
    return f"{100 * probability:.0f} %"


def say_findings(findings: Findings) -> list[str]:
    """Say whether the log holds a mistake, and which rows to check first."""
    if not findings.observed:
        return ["Nothing but the legs was written down, so no slip can show in this log, of whatever kind."]
    opening = _say_verdict(findings, f", {_beforehand(findings.posterior.prior)}")
    if findings.verdict == "none":
        return [opening]
    return [opening, *say_where(findings), *say_misread_page(findings), *say_on_page(findings)]


def _say_verdict(findings: Findings, beforehand: str = "") -> str:
    chance = say_percent(findings.mistake_probability)
    if findings.verdict == "none":
        return f"No mistake shows ({chance} that there is one{beforehand})."
    likely = "possible"
    if findings.verdict == "mistake":
        likely = "very likely" if findings.mistake_probability > NAME_ABOVE else "likely"
    return f"A mistake is {likely} ({chance}{beforehand})."


def brief_findings(findings: Findings) -> list[str]:
    """Say in a line whether the log holds a mistake, and in another which rows to check first."""
    if not findings.observed:
        return say_findings(findings)
    first = () if findings.verdict == "none" else findings.places_first()[:MOST_IN_BRIEF]
    log = findings.posterior.log
    where = "; ".join(_place(one, log) for one in first)
    return [_say_verdict(findings), *([f"Look here first: {where}."] if where else [])]


def say_misread_page(findings: Findings) -> list[str]:
    """Say which digits that a reader of the page doubted close with another one."""
    log = findings.posterior.log
    told = [
        f"{say_where_read(suspect, log)}: {say_read_as(suspect, log)} ({say_percent(suspect.probability)})"
        for suspect in findings.suspects
        if suspect.kind == PAGE_MISREAD and suspect.probability >= LEAST_MISREAD
    ]
    return [f"{'; '.join(told)}. Look at the page."] if told else []


def say_on_page(findings: Findings) -> list[str]:
    """Say where the rows to look at first stand on photographed pages, as far as the log tells."""
    log = findings.posterior.log
    legs = [one.leg for one in findings.places_first() if one.leg is not None]
    told = [(leg, found) for leg in legs if (found := find_source(log, leg)) is not None]
    if not told:
        return []
    said = [f"leg {leg} is row {number} of {photo}" for leg, (photo, number) in told]
    return [f"On the page, {'; '.join(said)}."]


def say_read_as(suspect: Suspect, log: TravelLog) -> str:
    """Say what was read on the page and what the log closes with: `count read as 338, closes with 388`."""
    if suspect.reading is not None and suspect.reading.row is not None:
        read = log.rows[suspect.reading.row].cells.azimuth.strip()
        return f"azimuth read as {read}, closes with {suspect.reading.instead}"
    entry, cells = suspect.entries[0], log.legs[suspect.legs[0] - 1].cells
    if entry.azimuth_text != cells.azimuth.strip():
        return f"azimuth read as {cells.azimuth.strip()}, closes with {entry.azimuth_text}"
    return f"count read as {cells.count.strip()}, closes with {entry.count_text}"


def say_where_read(suspect: Suspect, log: TravelLog) -> str:
    """Name what was read on the page, as the beginning of a sentence."""
    said = say_reading(suspect.reading, log) if suspect.reading else say_row(log, suspect.legs[0])
    return f"{said[0].upper()}{said[1:]}"


def say_where(findings: Findings) -> list[str]:
    """Say which row is wrong, or which rows to check first."""
    log = findings.posterior.log
    first = findings.places_first()
    if not first:
        return []
    top = first[0]
    if top.probability > NAME_ABOVE and (top.leg is not None or top.reading is not None):
        place = _place(top, log)
        return [f"{place[0].upper()}{place[1:]} is wrong ({say_percent(top.probability)})."]
    share = sum(one.probability for one in first) / findings.mistake_probability
    there = "there" if len(first) == 1 else f"in one of these {len(first)}"
    places = "; ".join(_place(one, log) for one in first)
    return [f"Look here first: {places}. If there is a mistake, it is {there} ({say_percent(share)})."]


def say_unseen(findings: Findings) -> list[str]:
    """Say which slips would leave no mark in this log."""
    if not findings.unseen or not findings.observed:
        return []
    kinds = [_UNSEEN[kind] for kind in findings.unseen]
    listed = kinds[0] if len(kinds) == 1 else f"{', '.join(kinds[:-1])} or {kinds[-1]}"
    return [f"{listed[0].upper()}{listed[1:]} would not show in this log, on whatever leg."]


def say_advice(advice: Sequence[Advice], log: TravelLog) -> list[str]:
    """Say what would tell most about where the mistake is."""
    if not advice:
        return []
    names = log.station_names()
    worth = "; or ".join(_observe(one, names) for one in advice)
    return [f"What would tell most about where it is: {worth}."]


def say_plan(checks: Sequence[PlanCheck], log: TravelLog, most: int = 3) -> list[str]:
    """Say where to plan a bearing, a known place or a crossing of one's own track."""
    if not checks:
        return ["The plan has too few legs for a check between its ends."]
    names = log.station_names()
    said = []
    for plan, opening in (
        ("sighting", "Plan a bearing"),
        ("crossing", "Let the way meet an earlier marker again"),
        ("known_place", "Let a station be a place the map knows"),
    ):
        best = [check for check in checks if check.plan == plan][:most]
        if best:
            said.append(f"{opening}: {'; or '.join(_planned(check, names) for check in best)}.")
    return said


def say_pairs(pairs: PairFindings, log: TravelLog) -> list[str]:
    """Say whether two slips explain the log better than one, and which legs then."""
    if not pairs.suspects_two or not pairs.pairs:
        return []
    best = pairs.pairs[0]
    return [
        f"Two mistakes explain this log better than one ({say_percent(pairs.two_probability)}). The likeliest two "
        f"places are {_struck(best.slips[0], log)} and {_struck(best.slips[1], log)} "
        f"({say_percent(best.probability)}). Put one right, then search again."
    ]


def _struck(slip: AnySlip | ReadingSlip, log: TravelLog) -> str:
    return say_row(log, slip.legs[0]) if isinstance(slip, AnySlip) else say_reading(slip, log)


def say_islands(
    islands: Sequence[Island], log: TravelLog, station: int, unit: str, origin: int = 0
) -> list[str]:
    """Say where a station may lie, and the way from each of those places to the origin."""
    if len(islands) < 2:
        return []
    names = log.station_names()
    name, start = say_place(names[station], station), say_place(names[origin], origin)
    ways = "; ".join(f"{say_percent(one.probability)}: {_way_of(one, log, start, unit)}" for one in islands)
    return [f"Where {name} lies depends on where the mistake is: {ways}."]


def _way_of(island: Island, log: TravelLog, start: str, unit: str) -> str:
    if whole_count(island.distance) == 0:
        return f"you are at {start}"
    azimuth = say_azimuth(island.azimuth_deg, log.heading.azimuth_unit)
    return f"{start} is {say_length(island.distance, unit)} away on azimuth {azimuth}"


def say_unsearched(closures: Sequence[Closure]) -> list[str]:
    """Warn of a long log, judged by its closures alone, that scatter does not explain."""
    if not closures:
        return []
    where = ", ".join(dict.fromkeys(closure.at for closure in closures[:3]))
    more = " and elsewhere" if len(closures) > 3 else ""
    return [
        f"Take care: at {where}{more} this log misses by more than scatter explains, and the way takes it as "
        "written. It is too long to search here: search a part of it (pacewright check), or walk back to a "
        "marker you are sure of."
    ]


def say_taken_as_written(chance: float) -> list[str]:
    """Warn that a way back takes as written what may hold a mistake."""
    return [
        f"Take care: this may rest on a mistake ({say_percent(chance)}), for the log is taken as written. "
        "Search first (pacewright check), or walk back to a marker you are sure of."
    ]


def _beforehand(prior: float) -> str:
    share = "half" if prior == 0.5 else f"{100 * prior:.3g} in 100"
    return f"taking {share} of such logs to hold one"


def _place(place: PlaceToCheck, log: TravelLog) -> str:
    if place.leg is not None:
        return say_row(log, place.leg)
    if place.after_legs is not None:
        return f"a leg missing {say_between(place.after_legs)}"
    if place.reading is not None:
        return say_reading(place.reading, log)
    return "the declination of the whole log"


def say_reading(slip: ReadingSlip, log: TravelLog) -> str:
    """Name what was read, with its line."""
    if slip.leg is not None:
        line = log.legs[slip.leg - 1].line
        where = f" (line {line})" if line is not None else ""
        return f"the back reading of leg {slip.leg}{where}"
    if slip.reading == "place":
        return f"the known place of {slip.name}"
    station = say_seen_from(slip, log)
    if slip.reading == "bearing":
        return f"the bearing to {slip.name} from {station}"
    if slip.reading == "marker":
        return f"that station {slip.station} was {slip.name} again"
    return f"every reading at {station} (the compass pulled there)"


def say_again(slip: ReadingSlip) -> str:
    """Say what to do about a reading that is probably wrong."""
    return "Look at that marker again" if slip.reading == "marker" else "Take it again"


def say_row(log: TravelLog, leg: int) -> str:
    """Name a leg with its line and what is written there."""
    line = log.legs[leg - 1].line
    where = f"line {line}: " if line is not None else ""
    return f"leg {leg} ({where}{say_written(log, leg)})"


def say_written(log: TravelLog, leg: int) -> str:
    """Azimuth and count of a leg as written."""
    row: Leg = log.legs[leg - 1]
    return f"{row.cells.azimuth.strip()},{row.cells.count.strip()}"


def say_seen_from(slip: ReadingSlip, log: TravelLog) -> str:
    """Name the station of a reading."""
    return say_place(log.name_of(slip.station or 0), slip.station or 0)


def say_between(after_legs: tuple[int, int]) -> str:
    """Say where a leg may be missing."""
    first, last = after_legs
    if first == last:
        return _after(first)
    if first + 1 == last:
        return f"before or after leg {last}"
    return f"somewhere along legs {first + 1} to {last}"


def _after(leg: int) -> str:
    return "before leg 1" if leg == 0 else f"after leg {leg}"


def _observe(advice: Advice, names: Sequence[str | None]) -> str:
    station = say_place(names[advice.station], advice.station)
    match advice.observe:
        case "sighting":
            return f"take a bearing on {advice.target} from {station}"
        case "revisit":
            return f"go back to {station} and find it on the map"
        case _:
            return f"walk straight from {advice.target} to {station} by azimuth and count"


def _planned(check: PlanCheck, names: Sequence[str | None]) -> str:
    station = say_place(names[check.station], check.station)
    if check.plan == "sighting":
        return f"on {check.target} from {station}"
    if check.plan == "crossing" and check.target is not None:
        earlier = int(check.target)
        return f"{station} at {say_place(names[earlier], earlier)}"
    return station
