"""The scatter of a leg as a few small steps on a grid: each a three by three stencil with exact moments."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

MOST_SHARE: Final = 0.45
"""Variance of one step, in squared strides: beyond it the middle of the stencil would empty."""
WIDEST: Final = 8


@dataclass(frozen=True, slots=True)
class NoiseStep:
    """One stencil: neighbours `stride` cells away take these shares.

    Attributes
    ----------
    stride
        In cells.
    down, across
        Share of each neighbour in the column and in the row.
    corner
        Share of each of the two corners along a diagonal.
    falls
        1 where those corners are upper left and lower right, -1 for the other two.
    """

    stride: int
    down: float
    across: float
    corner: float
    falls: int


def noise_steps(covariance_m2: NDArray[np.float64], cell_m: float) -> tuple[NoiseStep, ...]:
    """The steps that together have a covariance.

    Parameters
    ----------
    covariance_m2
        East and north, shape (2, 2).
    cell_m
        Size of the cells.

    Notes
    -----
    Wide scatter is made of ever wider strides after narrow ones have filled the gaps. A scatter much
    narrower than a cell across and wider along, aslant, keeps what of its slant the stencil can hold.
    """
    variance_across, variance_down = covariance_m2[0, 0] / cell_m**2, covariance_m2[1, 1] / cell_m**2
    # Rows run south: what is correlated on the map falls to the other side on the grid.
    slant = -covariance_m2[0, 1] / cell_m**2
    most = max(variance_across, variance_down)
    left, stride = most, 1
    steps: list[NoiseStep] = []
    while left > 1e-9:
        one = MOST_SHARE * stride**2
        is_last = left <= one or stride == WIDEST
        count = max(1, math.ceil(left / one - 1e-9)) if is_last else 1
        takes = left if is_last else one
        share = takes / most / count
        steps += [_step(stride, variance_across * share, variance_down * share, slant * share)] * count
        left -= takes
        stride = min(2 * stride, WIDEST)
    return tuple(steps)


def _step(stride: int, across: float, down: float, slant: float) -> NoiseStep:
    across, down, slant = (one / stride**2 for one in (across, down, slant))
    most = min(across, down)
    held = min(max(slant, -most), most)
    corner = abs(held) / 2.0
    return NoiseStep(stride, down / 2.0 - corner, across / 2.0 - corner, corner, 1 if held >= 0 else -1)
