"""Which slip on which leg explains a log that does not close: suspects, ranked, and what cannot show.

Slips that put the same entry back are one suspect with several possible causes; places that nothing
observed tells apart are one suspect with a range of legs.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from pacewright.core.compass import direction_deg, from_degrees, normal_azimuth
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.tally import whole_count
from pacewright.core.pace.walker import Walker
from pacewright.core.slips.leg_prior import LengthPrior
from pacewright.core.slips.missing_leg import Gap
from pacewright.core.slips.mistake_search import DEFAULT_PRIOR, MOST_WORK, SlipPosterior, search_slips
from pacewright.core.slips.reading_slips import READING_KINDS, ReadingSlip
from pacewright.core.slips.slips import KIND_WEIGHT, AnySlip, SlipKind
from pacewright.core.slips.suspects import (
    AnyKind,
    LegChance,
    PlaceToCheck,
    PlausibleEntry,
    ReadingChance,
    Suspect,
)
from pacewright.core.way.frames import Frame
from pacewright.core.way.observations import MapPlaces

ACCUSE_BAYES_FACTOR: Final = 2.1
"""A log is said to hold a mistake only where it is so many times likelier with one than without, a
chance of 0.68 where half of the logs have one. Simulated, with the scatter of every walker believed a
quarter wrong either way: 2.4 of 100 clean logs are then accused, and 94 of 100 slips of more than 3
standard deviations noticed; at 4 it would be 0.9 and 91."""
NAME_ABOVE: Final = 0.9
"""A row is called wrong only above this chance; below it, it is a row to check first."""
SHOWS_ABOVE_SD: Final = 2.0
"""A slip that moves what was observed by less than this is not seen in most logs."""
ROWS_FIRST_SHARE: Final = 0.85
ALIKE: Final = 0.2
SAME_LEG: Final = 0.05
"""Gaps next to each other are told apart only where their chances differ by more than a fifth, or the
missing leg by more than a twentieth."""

Verdict = Literal["mistake", "perhaps", "none"]


@dataclass(frozen=True, slots=True, eq=False)
class Findings:
    """What the search for a mistake says of a log.

    Attributes
    ----------
    posterior
        The search itself.
    suspects
        All corrections, the likeliest first; they and no mistake sum to 1.
    by_leg, by_reading, by_kind
        The same sums by what is struck and by kind, the likeliest first: legs and gaps only where the slip
        changes them, readings apart.
    unseen
        Kinds of slip that would leave no mark on what was observed, wherever they struck.
    """

    posterior: SlipPosterior
    suspects: tuple[Suspect, ...]
    by_leg: tuple[LegChance, ...]
    by_reading: tuple[ReadingChance, ...]
    by_kind: tuple[tuple[AnyKind, float], ...]
    unseen: tuple[SlipKind, ...]

    @property
    def mistake_probability(self) -> float:
        """Of any mistake at all."""
        return self.posterior.mistake_probability

    @property
    def bayes_factor(self) -> float:
        """How many times likelier the log is with a mistake in it than without."""
        return self.posterior.bayes_factor

    @property
    def verdict(self) -> Verdict:
        """Whether the log holds a mistake: `mistake`, `perhaps` (more likely than not), or `none`."""
        if self.mistake_probability <= 0.5:
            return "none"
        return "mistake" if self.bayes_factor > ACCUSE_BAYES_FACTOR else "perhaps"

    @property
    def wrong_reading(self) -> ReadingChance | None:
        """The reading that is wrong, likelier than not; None where none is."""
        first = self.by_reading[0] if self.by_reading else None
        return first if first is not None and first.probability > 0.5 else None

    @property
    def observed(self) -> bool:
        """True where anything but the legs was observed, so that a mistake could show at all."""
        return not self.posterior.model.rows.is_empty

    def chance_in(
        self, legs: frozenset[int], markers: frozenset[int] = frozenset(), place: str | None = None
    ) -> float:
        """The chance that a mistake lies in what a way rests on, or in the whole log.

        Parameters
        ----------
        legs
            Their numbers, from 1.
        markers
            Stations that are taken for a marker met before.
        place
            A known place.
        """
        rows: float = sum(
            one.probability
            for one in self.by_leg
            if one.after_leg is None and (one.leg is None or one.leg in legs)
        )
        rows += sum(
            one.probability
            for one in self.by_reading
            if (one.slip.reading == "marker" and one.slip.station in markers)
            or (one.slip.reading == "place" and one.slip.name == place)
        )
        gaps = zip(self.posterior.gaps, self.posterior.gap_probability, strict=True)
        return rows + sum(float(chance) * _share_in(gap, legs) for gap, chance in gaps)

    def places_first(self, share: float = ROWS_FIRST_SHARE, most: int = 8) -> tuple[PlaceToCheck, ...]:
        """The fewest places that hold this share of the chance of a mistake, at most so many."""
        chosen: list[PlaceToCheck] = []
        held = 0.0
        for place in self._places():
            if held >= share * self.mistake_probability or len(chosen) == most:
                break
            chosen.append(place)
            held += place.probability
        return tuple(chosen)

    def _places(self) -> list[PlaceToCheck]:
        """Every place, gaps that lie next to each other as one, the likeliest first."""
        # Where it could not show, the declination of the whole log is nothing to look at.
        is_hidden = "declination_mirrored" in self.unseen
        places = [
            PlaceToCheck(one.leg, None, one.probability)
            for one in self.by_leg
            if one.after_leg is None and not (one.leg is None and is_hidden)
        ]
        gaps = {one.after_leg: one.probability for one in self.by_leg if one.after_leg is not None}
        for first, last in _runs(gaps):
            total = sum(gaps[k] for k in range(first, last + 1))
            places.append(PlaceToCheck(None, (first, last), total))
        places += [PlaceToCheck(None, None, one.probability, one.slip) for one in self.by_reading]
        return sorted(places, key=lambda place: -place.probability)


def _share_in(gap: Gap, legs: frozenset[int]) -> float:
    """The share of a gap's places that lie just before some of the legs.

    Of a leg missing after the last place, what was observed there belongs to the leg's end: it lies
    before that station.
    """
    places = gap.before_legs
    return sum(leg + 1 in legs for leg in places) / len(places)


def _runs(gaps: Mapping[int, float]) -> list[tuple[int, int]]:
    """The runs of neighbouring gaps that are equally likely, which nothing tells apart."""
    runs: list[tuple[int, int]] = []
    for gap in sorted(gaps):
        if runs and gap == runs[-1][1] + 1 and math.isclose(gaps[gap], gaps[gap - 1], rel_tol=ALIKE):
            runs[-1] = (runs[-1][0], gap)
        else:
            runs.append((gap, gap))
    return runs


def find_mistakes(
    log: TravelLog,
    walker: Walker | None = None,
    *,
    frame: Frame | None = None,
    prior: float = DEFAULT_PRIOR,
    placed: MapPlaces | None = None,
    route_prior: bool = False,
    length_prior: LengthPrior | None = None,
    most_work: float = MOST_WORK,
    plan: TravelLog | None = None,
) -> Findings:
    """The suspects for a log that does not close, and how likely it is that there is no mistake.

    Parameters
    ----------
    log, walker
        The log, and the one who walked it.
    frame
        By default paces, until log and walker hold a pace count and a known point.
    prior
        The share of logs with a mistake before looking; 0.5 for one that somebody brings because it
        does not close.
    placed
        Places of known points that only a map can tell, metres east and north from the start.
    route_prior
        Also hold legs against the general direction of the route.
    length_prior
        What is known of the traveller's legs beside this log.
    most_work, plan
        As for `search_slips`.

    Raises
    ------
    ValueComplaint
        The prior is none.
    NoAnswerComplaint
        The log is too long to be searched.
    MissingComplaint
        The map frame has no pace count, or the pace table lacks a class that the log names.
    """
    posterior = search_slips(
        log,
        walker,
        frame=frame,
        prior=prior,
        placed=placed,
        route_prior=route_prior,
        length_prior=length_prior,
        most_work=most_work,
        plan=plan,
    )
    return list_findings(posterior)


def list_findings(posterior: SlipPosterior) -> Findings:
    """Sum a posterior by correction, by place and by kind."""
    suspects = [*_slip_suspects(posterior), *_missing_suspects(posterior), *_reading_suspects(posterior)]
    suspects.sort(key=lambda suspect: -suspect.probability)
    by_kind = _kind_chances(posterior)
    return Findings(
        posterior,
        tuple(suspects),
        tuple(_leg_chances(posterior)),
        tuple(_reading_chances(posterior)),
        tuple(sorted(by_kind.items(), key=lambda pair: -pair[1])),
        _unseen(posterior),
    )


def _slip_suspects(posterior: SlipPosterior) -> list[Suspect]:
    """Join the slips that put the same entries back."""
    joined: dict[object, list[tuple[float, AnySlip]]] = {}
    for slip, probability in zip(posterior.slips, posterior.slip_probability.tolist(), strict=True):
        entries = tuple((round(e.reading.azimuth_deg, 6), round(e.count, 6)) for e in slip.entries)
        joined.setdefault((slip.legs, entries, slip.turn_deg), []).append((probability, slip))
    suspects = []
    for causes in joined.values():
        causes.sort(key=lambda cause: -cause[0])
        slip = causes[0][1]
        suspects.append(
            Suspect(
                probability=sum(probability for probability, _ in causes),
                kinds=tuple(dict.fromkeys(cause.kind for _, cause in causes)),
                legs=slip.legs,
                after_legs=None,
                entries=_entries(slip, posterior.log),
                turn_deg=slip.turn_deg,
                slip=slip,
            )
        )
    return suspects


def _entries(slip: AnySlip, log: TravelLog) -> tuple[PlausibleEntry, ...]:
    unit = log.heading.azimuth_unit
    return tuple(
        PlausibleEntry(
            leg,
            round(from_degrees(entry.reading.azimuth_deg, unit), 6),
            entry.count,
            entry.reading.text,
            entry.count_text,
        )
        for leg, entry in zip(slip.legs, slip.entries, strict=True)
    )


def _missing_suspects(posterior: SlipPosterior) -> list[Suspect]:
    """A suspect for every run of gaps that nothing observed tells apart."""
    missing, frame = posterior.missing, posterior.frame
    unit = posterior.log.heading.azimuth_unit
    suspects = []
    for run in _gap_runs(posterior):
        number = max(run, key=lambda k: float(posterior.gap_probability[k]))
        after = [leg for k in run for leg in missing.gaps[k].after_legs]
        east, north = float(missing.east[number]), float(missing.north[number])
        azimuth = round(from_degrees(normal_azimuth(direction_deg(east, north) - frame.turn_deg), unit))
        count = whole_count(float(np.hypot(east, north)) / frame.units_per_count)
        entry = PlausibleEntry(None, float(azimuth), float(count), str(azimuth), str(count))
        suspects.append(
            Suspect(
                probability=float(posterior.gap_probability[run].sum()),
                kinds=("leg_missing",),
                legs=(),
                after_legs=(min(after), max(after)),
                entries=(entry,),
                turn_deg=0.0,
                slip=None,
            )
        )
    return suspects


def _gap_runs(posterior: SlipPosterior) -> list[list[int]]:
    """The gaps, from 0, that lie next to each other with as much chance a place and the same leg."""
    missing, chance = posterior.missing, posterior.gap_probability
    per_place = [one / len(gap.after_legs) for one, gap in zip(chance.tolist(), missing.gaps, strict=True)]
    runs: list[list[int]] = []
    for number in range(len(missing.gaps)):
        before = runs[-1][-1] if runs else None
        if before is not None and math.isclose(per_place[before], per_place[number], rel_tol=ALIKE):
            length = math.hypot(missing.east[number], missing.north[number])
            off = (missing.east[number] - missing.east[before], missing.north[number] - missing.north[before])
            if math.hypot(*off) <= SAME_LEG * length:
                runs[-1].append(number)
                continue
        runs.append([number])
    return runs


def _reading_suspects(posterior: SlipPosterior) -> list[Suspect]:
    pairs = zip(posterior.readings, posterior.reading_probability.tolist(), strict=True)
    return [Suspect(chance, (slip.kind,), (), None, (), 0.0, None, slip) for slip, chance in pairs]


def _reading_chances(posterior: SlipPosterior) -> list[ReadingChance]:
    """Sum the slips of one reading."""
    joined: dict[object, list[tuple[float, ReadingSlip]]] = {}
    for slip, chance in zip(posterior.readings, posterior.reading_probability.tolist(), strict=True):
        joined.setdefault(slip.where, []).append((chance, slip))
    chances = [
        ReadingChance(sum(chance for chance, _ in slips), max(slips, key=lambda pair: pair[0])[1])
        for slips in joined.values()
    ]
    return sorted(chances, key=lambda one: -one.probability)


def _leg_chances(posterior: SlipPosterior) -> list[LegChance]:
    legs: dict[int | None, float] = {}
    for slip, probability in zip(posterior.slips, posterior.slip_probability.tolist(), strict=True):
        # A mirrored detour counts for its first offset.
        leg = slip.legs[0] if slip.legs else None
        legs[leg] = legs.get(leg, 0.0) + probability
    after: dict[int, float] = {}
    for gap, probability in zip(posterior.gaps, posterior.gap_probability.tolist(), strict=True):
        for leg in gap.after_legs:
            after[leg] = after.get(leg, 0.0) + probability / len(gap.after_legs)
    chances = [LegChance(leg, None, probability) for leg, probability in legs.items()]
    chances += [LegChance(None, leg, probability) for leg, probability in after.items()]
    return sorted(chances, key=lambda chance: -chance.probability)


def _kind_chances(posterior: SlipPosterior) -> dict[AnyKind, float]:
    chances: dict[AnyKind, float] = dict.fromkeys((*KIND_WEIGHT, *READING_KINDS), 0.0)
    for slip, probability in zip(posterior.slips, posterior.slip_probability.tolist(), strict=True):
        chances[slip.kind] = chances.get(slip.kind, 0.0) + probability
    chances["leg_missing"] += float(posterior.gap_probability.sum())
    for one, probability in zip(posterior.readings, posterior.reading_probability.tolist(), strict=True):
        chances[one.kind] = chances.get(one.kind, 0.0) + probability
    return chances


def _unseen(posterior: SlipPosterior) -> tuple[SlipKind, ...]:
    most: dict[AnyKind, float] = {}
    for slip, mark in zip(posterior.slips, posterior.mark.tolist(), strict=True):
        most[slip.kind] = max(most.get(slip.kind, 0.0), mark)
    most["leg_missing"] = float(posterior.missing.mark.max(initial=0.0))
    return tuple(kind for kind in KIND_WEIGHT if most.get(kind, SHOWS_ABOVE_SD) < SHOWS_ABOVE_SD)
