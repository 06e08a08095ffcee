"""A second opinion on a digit, by which way its strokes run: a small net taught with other hands."""

from __future__ import annotations

import functools
import io
from collections.abc import Sequence
from typing import Final

import numpy as np

from pacewright.files.bundled import bundled
from pacewright.reading.photographs import open_vision

WEIGHTS_FILE: Final = "second_look.npz"
"""Made by `bench/second_look.py`; where they come from stands in the README beside them."""

_SIDE_PX: Final = 28
_INSIDE_PX: Final = 22.0
"""A digit is laid into a square of `_SIDE_PX`, its longer side as long as this."""
_DIRECTIONS: Final = 8
_PARTS: Final = 6
_MOST_LEAN: Final = 0.7
_NARROW: Final = 0.75
"""A narrow digit is widened somewhat, so that hands of all widths look more alike."""
_BLUR_PX: Final = 0.8
_DARK: Final = 0.3


def second_look(inks: Sequence[np.ndarray]) -> np.ndarray:
    """The chance of every digit as the small net sees it.

    Parameters
    ----------
    inks
        What is written in each box, cut to it: arrays (rows, columns) of 0 to 1.

    Returns
    -------
    numpy.ndarray
        Array (boxes, 10); a row sums to 1.
    """
    hidden, hidden_from, told, told_from = _weights()
    seen = np.stack([stroke_directions(ink) for ink in inks])
    strength = np.maximum(seen @ hidden + hidden_from, 0) @ told + told_from
    share = np.exp(strength - strength.max(axis=1, keepdims=True))
    return np.asarray(share / share.sum(axis=1, keepdims=True), dtype=np.float64)


def stroke_directions(ink: np.ndarray) -> np.ndarray:
    """How strongly edges run in each direction in every part of a digit.

    Parameters
    ----------
    ink
        What is written, cut to it: array (rows, columns) of 0 to 1.

    Returns
    -------
    numpy.ndarray
        Array (288,): eight directions in six by six parts, of length 1 when squared and summed.

    References
    ----------
    C.-L. Liu and others, Handwritten digit recognition: benchmarking of state-of-the-art techniques, 2003:
    the gradient feature (from memory).
    """
    cv2 = open_vision()
    laid = _laid(ink)
    across, down = cv2.Sobel(laid, cv2.CV_32F, 1, 0), cv2.Sobel(laid, cv2.CV_32F, 0, 1)
    steep = np.hypot(across, down)
    turn = (np.arctan2(down, across) / (2 * np.pi) * _DIRECTIONS) % _DIRECTIONS
    below = np.floor(turn).astype(int) % _DIRECTIONS
    share = turn - np.floor(turn)
    planes = np.zeros((_DIRECTIONS, _SIDE_PX, _SIDE_PX), dtype=np.float32)
    ys, xs = np.mgrid[0:_SIDE_PX, 0:_SIDE_PX]
    planes[below, ys, xs] = steep * (1 - share)
    planes[(below + 1) % _DIRECTIONS, ys, xs] += steep * share
    parts = _parts()
    found = np.sqrt((parts @ planes @ parts.T).ravel())
    return np.asarray(found / max(float(np.linalg.norm(found)), 1e-6), dtype=np.float32)


def _laid(ink: np.ndarray) -> np.ndarray:
    """A digit stood upright and as large as the square allows: array (28, 28)."""
    cv2 = open_vision()
    ys, xs = np.mgrid[0 : ink.shape[0], 0 : ink.shape[1]]
    whole = max(float(ink.sum()), 1e-6)
    y, x = float((ink * ys).sum()) / whole, float((ink * xs).sum()) / whole
    spread = max(float((ink * (ys - y) ** 2).sum()), 1e-6)
    lean = float(np.clip((ink * (ys - y) * (xs - x)).sum() / spread, -_MOST_LEAN, _MOST_LEAN))
    dark = ink > _DARK
    if not dark.any():
        dark = np.ones_like(dark)
    stood, level = (xs - lean * (ys - y))[dark], ys[dark]
    wide, high = float(np.ptp(stood)) + 1, float(np.ptp(level)) + 1
    shape = (min(wide, high) / max(wide, high)) ** _NARROW
    scale_x = _INSIDE_PX * (shape if wide < high else 1.0) / wide
    scale_y = _INSIDE_PX * (shape if high < wide else 1.0) / high
    middle = _SIDE_PX / 2 - 0.5
    left, top = float(stood.min()) + (wide - 1) / 2, float(level.min()) + (high - 1) / 2
    matrix = np.array(
        [
            [scale_x, -lean * scale_x, middle - scale_x * (left - lean * y)],
            [0.0, scale_y, middle - scale_y * top],
        ]
    )
    soft = cv2.GaussianBlur(ink.astype(np.float32), (0, 0), max(0.3, _BLUR_PX / max(scale_x, scale_y)))
    return np.asarray(cv2.warpAffine(soft, matrix, (_SIDE_PX, _SIDE_PX), flags=cv2.INTER_LINEAR))


@functools.cache
def _parts() -> np.ndarray:
    """How much every line of points weighs in each of the parts: array (parts, points)."""
    places = (np.arange(_PARTS) + 0.5) * _SIDE_PX / _PARTS - 0.5
    apart = np.arange(_SIDE_PX)[None, :] - places[:, None]
    weights = np.exp(-0.5 * (apart / (0.62 * _SIDE_PX / _PARTS)) ** 2)
    return np.asarray(weights / weights.sum(axis=1, keepdims=True), dtype=np.float32)


@functools.cache
def _weights() -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    with np.load(io.BytesIO(bundled(WEIGHTS_FILE))) as kept:
        names = ("hidden", "hidden_from", "told", "told_from")
        hidden, hidden_from, told, told_from = (kept[name].astype(np.float32) for name in names)
    return hidden, hidden_from, told, told_from
