"""What the inner loops of a search are given.

A belief lies on cells numbered by where the walk began, moved on by all scatter since (never by the walk
itself, which would blur it afresh at every leg); only the land is looked up at the moved place. Arrays of
belief carry a margin of `MARGIN` cells on every side, in which nothing is believed.

The loops get these as plain tuples: compiled code is kept on disk with the types of what it was given, and
must not lean on where a class stands.
"""

from __future__ import annotations

from typing import Final, NamedTuple

MARGIN: Final = 8


class LegChance(NamedTuple):
    """What is said of a leg, ready for the loop.

    `trend` is -1 (nothing), 0 down, 1 level, 2 up; `limit_m` and `soft_m` say where level ends;
    `wrong` is the share of wrong remarks, `unknown` the chance on ground that is not known.
    `crossing` is -1 or the number of a map of streams met; `any_leg` the chance for a leg that slipped.
    """

    trend: int
    limit_m: float
    soft_m: float
    wrong: float
    unknown: float
    crossing: int
    any_leg: float
    kept: float


class StationChance(NamedTuple):
    """What is said of a station: `table` -1 or the number of a table of kinds; the altimeter's reading,
    its variance and that of its offset so far (`reading` below -9000 is none); `fill_m` a usual scatter
    of heights, for ground that is not known; `extra` -1 or the number of a map of chances."""

    table: int
    reading_m: float
    variance_m2: float
    offset_variance_m2: float
    fill_m: float
    wrong: float
    extra: int
