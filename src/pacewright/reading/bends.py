"""Where the printed rules of a bent page are seen, followed from where its corner marks hold it."""

from __future__ import annotations

from typing import Final

import numpy as np

from pacewright.drawing.log_grid import DIGITS, TICK_BOX_MM, TICKS, LogGrid

PX_PER_MM: Final = 8.0

_REACH_MM: Final = 4.8
_STEP_MM: Final = 0.125
_OFFSETS_MM: Final = np.arange(-_REACH_MM, _REACH_MM + 1e-9, _STEP_MM)
_NEXT_RULE_MM: Final = 0.9
"""From one rule to the next across it the bend changes by no more."""
_NEXT_ROW_MM: Final = 0.625
"""From one row to the next the upright rules together move sideways by no more."""
_SPREAD_MM: Final = np.arange(-1.5, 1.51, 0.25)
"""So much wider or narrower than printed the upright rules are tried, over their whole width."""
_BESIDE_MM: Final = 0.75
_OWN_MM: Final = 0.5
"""No upright rule lies farther from where all of them together put it."""


def upright_rules(grid: LogGrid) -> np.ndarray:
    """Where upright rules are printed, from left to right in mm: of digits, tick boxes, notes."""
    digits = grid.azimuth_mm + grid.digit_mm * np.arange(2 * DIGITS + 1)
    middles = grid.ticks_mm + grid.tick_mm * (np.arange(len(TICKS)) + 0.5)
    boxes = np.concatenate([middles - TICK_BOX_MM / 2, middles + TICK_BOX_MM / 2])
    return np.sort(np.concatenate([digits, boxes, [grid.notes_mm]]))


def followed_together(profiles: np.ndarray, rules_mm: np.ndarray) -> np.ndarray:
    """How far to the right of its place every upright rule is seen in every row.

    All rules of a row are looked for together, so that a digit, which is dark at one place, does not pass for
    them; and from row to row they move by little.

    Parameters
    ----------
    profiles
        Darkness along every row: array (rows, points).
    rules_mm
        Where the rules should be.

    Returns
    -------
    numpy.ndarray
        Array (rows, rules) in mm.
    """
    beside = round(_BESIDE_MM * PX_PER_MM)
    padded = np.pad(profiles, ((0, 0), (beside, beside)), mode="edge")
    thin = profiles - 0.5 * (padded[:, : -2 * beside] + padded[:, 2 * beside :])
    cost = np.stack([-np.clip(_shown(thin, rule), -0.05, 0.15) for rule in rules_mm], axis=1)
    share = (rules_mm - rules_mm.mean()) / np.ptp(rules_mm)
    spread = np.stack([_spread(cost, share, wide).sum(axis=1) for wide in _SPREAD_MM])
    spread = spread + 0.02 * np.abs(_SPREAD_MM)[:, None, None]
    chain = _chain(spread.min(axis=0), 0.06, round(_NEXT_ROW_MM / _STEP_MM), 0.02, 0.0)
    rows = np.arange(len(profiles))
    wide = _median_over(_SPREAD_MM[spread[:, rows, chain].argmin(axis=0)][:, None])
    together = _OFFSETS_MM[chain][:, None] + wide * share
    own = np.abs(_OFFSETS_MM[None, None, :] - together[:, :, None])
    best = np.where(own <= _OWN_MM, cost + 0.05 * own, np.inf).argmin(axis=2)
    return np.asarray(together + _median_over(_OFFSETS_MM[best] - together))


def _shown(profiles: np.ndarray, rule_mm: float) -> np.ndarray:
    at = np.clip(np.round((rule_mm + _OFFSETS_MM) * PX_PER_MM).astype(int), 0, profiles.shape[1] - 1)
    return np.asarray(profiles[:, at])


def _spread(cost: np.ndarray, share: np.ndarray, wide_mm: float) -> np.ndarray:
    """The costs if the rules stand so much wider: array as given, each rule moved by its share."""
    moved = np.empty_like(cost)
    last = cost.shape[2] - 1
    for rule, steps in enumerate(np.round(share * wide_mm / _STEP_MM).astype(int)):
        moved[:, rule] = cost[:, rule, np.clip(np.arange(last + 1) + steps, 0, last)]
    return moved


def followed(profiles: np.ndarray, rules_mm: np.ndarray) -> np.ndarray:
    """How far from its place every rule across a profile is seen; the marks hold the first and the last.

    Parameters
    ----------
    profiles
        Darkness along a line across the rules: array (profiles, points).
    rules_mm
        Where the rules should be.

    Returns
    -------
    numpy.ndarray
        Array (profiles, rules) in mm.
    """
    cost = np.stack([-np.minimum(_shown(profiles, rule), 0.6) for rule in rules_mm], axis=1)
    # Every profile by itself first: the offsets along it change slowly, from near nothing at the ends.
    most = round(_NEXT_RULE_MM / _STEP_MM)
    chained = np.stack([_OFFSETS_MM[_chain(one, 0.02, most, 0.05, 0.05)] for one in cost])
    # Then every rule over the profiles, near to what its neighbours say.
    middle = _median_over(chained)
    near = np.abs(_OFFSETS_MM[None, None, :] - middle[:, :, None]) <= _NEXT_RULE_MM
    best = np.where(near, cost, np.inf).argmin(axis=2)
    return np.asarray(_median_over(_OFFSETS_MM[best]))


def _chain(cost: np.ndarray, change: float, most: int, first: float, last: float) -> np.ndarray:
    """The offsets, one after the other, that are darkest together and change least: their places (n,).

    A step costs `change`, and no more than `most` are taken at once; an offset of a mm costs `first` at the
    beginning and `last` at the end.
    """
    jump = change * np.abs(np.arange(-most, most + 1))
    total, back = cost[0] + first * np.abs(_OFFSETS_MM), []
    for here in cost[1:]:
        padded = np.pad(total, most, constant_values=np.inf)
        options = np.lib.stride_tricks.sliding_window_view(padded, 2 * most + 1) + jump
        back.append(options.argmin(axis=1) - most)
        total = options.min(axis=1) + here
    at = int((total + last * np.abs(_OFFSETS_MM)).argmin())
    chain = [at]
    for steps in reversed(back):
        at = at + int(steps[at])
        chain.append(at)
    return np.asarray(chain[::-1])


def _median_over(seen: np.ndarray) -> np.ndarray:
    """The median of every value and its neighbours on two profiles to either side: array as given."""
    padded = np.pad(seen, ((2, 2), (0, 0)), mode="edge")
    return np.asarray(np.median(np.stack([padded[at : at + len(seen)] for at in range(5)]), axis=0))
