"""A log beside a recorded track of the same walk, in plain sentences."""

from __future__ import annotations

from typing import Final

from pacewright.ground.track_truth import Figure, LegTruth, TrackComparison
from pacewright.wording.numbers import say_azimuth, say_length, say_place, say_whole

Rows = tuple[tuple[str, ...], list[tuple[str, ...]]]

MISTAKE_FROM: Final = 0.5
"""A leg likelier than not a mistake is named."""


def say_truth(comparison: TrackComparison) -> list[str]:
    """Say how far azimuths and counts were off, and what that tells of compass and pace count."""
    if not comparison.fits:
        return [
            "The track does not look like this log: the lines of the legs cannot be laid along it. Check that it is the "
            "same walk, and the declination and pace count; the figures below are worth nothing until it fits."
        ]
    turn, count = comparison.azimuth_off_deg, comparison.count_off_pct
    by = "time and shape" if comparison.matched_by == "time" else "shape"
    sentences = [
        f"Beside the track (stations matched by {by}): the walker went {_size(turn)} deg "
        f"{'clockwise' if turn.value >= 0 else 'anticlockwise'} of the azimuths logged ({_interval(turn, 'deg')}).",
        f"Counts were {_size(count)} per cent too {'high' if count.value >= 0 else 'low'} for the true lengths "
        f"({_interval(count, 'per cent')}).",
    ]
    if comparison.assumed_pace_m is not None:
        sentences.append(
            f"There was no pace count to begin with; a pace of {comparison.assumed_pace_m:g} m was taken."
        )
    if comparison.per_100_m is not None:
        pace = comparison.per_100_m
        sentences.append(
            f"The pace count of this walk is {pace.value:.1f} paces to 100 m ({_interval(pace, 'paces')})."
        )
    sentences.append(
        f"About these, azimuths scatter by {comparison.azimuth_sd_deg.value:.1f} deg "
        f"({_interval(comparison.azimuth_sd_deg, 'deg')}) and counts by {comparison.count_sd_pct.value:.1f} per cent "
        f"({_interval(comparison.count_sd_pct, 'per cent')}). Each interval holds the true figure 95 times in 100."
    )
    return [*sentences, *(_say_odd(leg) for leg in comparison.legs if leg.odd > MISTAKE_FROM)]


def truth_table(comparison: TrackComparison) -> Rows:
    """The legs beside the track as a table."""
    heading: tuple[str, ...] = (
        "leg",
        "to",
        "count",
        "true metres",
        "count off",
        "azimuth off",
        "paces to 100 m",
        "",
    )
    names = comparison.on_grid.reckoning.names
    rows: list[tuple[str, ...]] = []
    for leg in comparison.legs:
        pace = "" if leg.per_100_m is None else f"{leg.per_100_m:.1f}"
        rows.append(
            (
                str(leg.leg),
                say_place(names[leg.leg], leg.leg),
                f"{leg.count:g}",
                say_whole(leg.true_length_m),
                f"{leg.count_off_pct:+.0f} +-{leg.count_off_sd_pct:.0f} %",
                f"{leg.azimuth_off_deg:+.0f} +-{leg.azimuth_off_sd_deg:.0f} deg",
                pace,
                "mistake?" if leg.odd > MISTAKE_FROM else "",
            )
        )
    return heading, rows


def _say_odd(leg: LegTruth) -> str:
    return (
        f"Leg {leg.leg} looks like a mistake: {leg.count:g} counted for {say_length(leg.true_length_m, 'metre')}, walked "
        f"on grid azimuth {say_azimuth(leg.true_azimuth_deg)}. It hardly weighs in these figures."
    )


def _size(figure: Figure) -> str:
    return f"{abs(figure.value):.1f}"


def _interval(figure: Figure, unit: str) -> str:
    return f"{figure.low:.1f} to {figure.high:.1f} {unit}"
