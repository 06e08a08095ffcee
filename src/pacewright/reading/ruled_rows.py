"""The rows of a page that was not printed by us: by its rules, or else by what is written in it."""

from __future__ import annotations

import itertools
from typing import Final

import numpy as np

from pacewright.reading.bends import PX_PER_MM

_INK: Final = 0.13
_RULED: Final = 0.55
"""A line of points is a rule where so much of the width is ink."""
_SAME_RULE_MM: Final = 1.5
_LEAST_ROW_MM: Final = 2.5
_REGULAR: Final = 0.25
_GAP: Final = 0.06


def find_rows(ink: np.ndarray, numbers: float) -> list[float]:
    """Where rows begin, and where the last one ends.

    Parameters
    ----------
    ink
        The rows laid flat: array (rows, columns) of 0 to 1.
    numbers
        The share of the width in which the numbers stand.

    Returns
    -------
    list[float]
        Shares of the height, from 0 to 1; empty where rows are not to be told apart.
    """
    dark = ink > _INK
    return _by_rules(dark) or _by_writing(dark[:, : max(1, round(numbers * dark.shape[1]))])


def _by_rules(dark: np.ndarray) -> list[float]:
    thick = dark | np.roll(dark, 1, axis=0) | np.roll(dark, -1, axis=0)
    runs = _runs(thick.mean(axis=1) > _RULED)
    rules = [(a + b) / 2 / PX_PER_MM for a, b in runs]
    high = len(dark) / PX_PER_MM
    within = [one for one in rules if _SAME_RULE_MM < one < high - _SAME_RULE_MM]
    tops = [0.0, *within, high]
    apart = np.diff(tops)
    if not within or np.min(apart) < _LEAST_ROW_MM:
        return []
    if np.max(np.abs(apart / np.median(apart) - 1)) > _REGULAR:
        return []
    return [top / high for top in tops]


def _by_writing(dark: np.ndarray) -> list[float]:
    profile = dark.mean(axis=1)
    side = round(0.5 * PX_PER_MM)
    soft = np.convolve(profile, np.ones(side) / side, mode="same")
    if soft.max() <= 0:
        return []
    written = [(a, b) for a, b in _runs(soft > _GAP * soft.max()) if b - a >= 0.6 * _LEAST_ROW_MM * PX_PER_MM]
    middles = [0.5 * (before[1] + after[0]) for before, after in itertools.pairwise(written)]
    return [0.0, *(middle / len(dark) for middle in middles), 1.0] if written else []


def _runs(is_in: np.ndarray) -> list[tuple[int, int]]:
    """Where stretches begin and end."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], is_in.astype(np.int8), [0]])))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
