"""Which bearing may hold the slip, read off the search for slips."""

from __future__ import annotations

from dataclasses import dataclass

from pacewright.core.slips.mistake_search import SlipPosterior


@dataclass(frozen=True, slots=True)
class WrongBearing:
    """One bearing that may hold a slip.

    Attributes
    ----------
    row
        Its index in the rows of the log.
    station
        Where it was taken.
    name
        What was seen.
    probability
        That this bearing, and no leg, holds the mistake.
    """

    row: int
    station: int
    name: str
    probability: float


@dataclass(frozen=True, slots=True)
class BearingSlips:
    """What is left to the legs when a bearing may be wrong.

    Attributes
    ----------
    wrong
        Every bearing, the likeliest to be wrong first.
    leg_probability
        That the mistake is in the legs or in another reading.
    none_probability
        Of no mistake at all; the three sum to 1.
    """

    wrong: tuple[WrongBearing, ...]
    leg_probability: float
    none_probability: float

    @property
    def probability(self) -> float:
        """That the mistake is in a bearing."""
        return sum(one.probability for one in self.wrong)


def find_bearing_slips(posterior: SlipPosterior) -> BearingSlips:
    """The chance that a bearing and not a leg is wrong, bearing by bearing.

    Parameters
    ----------
    posterior
        What the search found.
    """
    chance: dict[int, float] = {}
    for slip, probability in zip(posterior.readings, posterior.reading_probability.tolist(), strict=True):
        if slip.row is not None:
            chance[slip.row] = chance.get(slip.row, 0.0) + probability
    wrong = [
        WrongBearing(one.row, one.station, one.name, chance.get(one.row, 0.0))
        for one in posterior.observations.bearings
    ]
    wrong.sort(key=lambda one: -one.probability)
    rest = 1.0 - posterior.none_probability - sum(one.probability for one in wrong)
    return BearingSlips(tuple(wrong), rest, posterior.none_probability)
