"""All that is said of where a log's stations lie in a frame, with their table."""

from __future__ import annotations

from pacewright.answers.estimate import Estimate
from pacewright.core.way.reckoning import Reckoning
from pacewright.wording.adjusted_answer import Said
from pacewright.wording.estimate import say_condemned, say_in_metres, say_pencil_sum, say_rests_on
from pacewright.wording.walk import say_reckoned, station_table


def say_stations(
    estimate: Estimate,
    stations: Reckoning,
    probability: float,
    *,
    as_walked: bool = False,
    with_metres: bool = True,
) -> Said:
    """Say where the last station lies, what warns, how sure it is and what it rests on; no caution.

    Parameters
    ----------
    estimate, stations
        Where the log stands, and its stations in the frame that is asked for.
    probability
        Share of walks that a region holds.
    as_walked
        The stations are the pencil's own sum.
    with_metres
        Say the place in metres too, where it is known and nobody asked for a frame.
    """
    rests = [say_pencil_sum(estimate)] if as_walked else say_rests_on(estimate)
    if with_metres and not as_walked:
        rests = [*say_in_metres(estimate, probability), *rests]
    told = say_reckoned(estimate.log, stations, probability, estimate.walker)
    # The answer stands alone in the first line; a warning comes before how sure it is.
    sentences = (told[0], *say_condemned(estimate), *told[1:], *rests)
    return Said(sentences, (station_table(estimate.log, stations, probability),))
