"""Where the lines of bearings lead: known landmarks, and where bearings to an unknown one cross."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.slips.observation_rows import BearingRows, ObservationRows

Array = NDArray[np.float64]

UNKNOWN_PLACE_SD: Final = 10.0
"""A landmark of unknown place is looked for within so many times its distance."""
NEAREST: Final = 1.0
"""Nothing is taken to be seen from closer than one unit."""


def landmark_places(
    bearings: BearingRows, azimuth_rad: Array, counts: Array, station: Array, turned_rad: Array
) -> Array:
    """Where each bearing's target lies, (2, b, h): known, or where its bearings cross.

    Parameters
    ----------
    bearings
        The bearings.
    azimuth_rad
        As taken in each trial, shape (b, h).
    counts
        1 where a bearing is taken at its word, 0 where it is set aside, shape (b, h).
    station
        Where each was taken, shape (2, b, h).
    turned_rad
        The turn of all azimuths, shape (h,).
    """
    count, h = bearings.size, turned_rad.size
    place = np.zeros((2, count, h))
    for number in range(len(bearings.place)):
        seen = np.flatnonzero(bearings.landmark == number)
        if np.isnan(bearings.place[number]).any():
            found = crossing(azimuth_rad[seen], counts[seen], station[:, seen])
            place[:, seen] = found[:, None, :]
            continue
        turn_rad = turned_rad if bearings.turns[number] else np.zeros(h)
        east, north = bearings.place[number]
        turned = [
            east * np.cos(turn_rad) - north * np.sin(turn_rad),
            north * np.cos(turn_rad) + east * np.sin(turn_rad),
        ]
        place[:, seen] = np.stack(turned)[:, None, :]
    return place


def place_variances(rows: ObservationRows, steps: Array) -> Array:
    """The covariance that landmarks nobody placed leave in pairs and bearings, (p + b, p + b)."""
    bearings = rows.bearings
    variance = np.zeros((rows.pairs + bearings.size,) * 2)
    station = (rows.pair_sign[rows.pairs :] @ steps[:2].T).T[:, :, None]
    for number in range(len(bearings.place)):
        if np.isnan(bearings.place[number]).any():
            seen = np.flatnonzero(bearings.landmark == number)
            azimuth_rad = bearings.azimuth_rad[seen, None]
            found = crossing(azimuth_rad, np.ones_like(azimuth_rad), station[:, seen])
            reach = np.hypot(*(found[:, None] - station[:, seen]))
            walked = float(np.hypot(*steps[:2]).sum())
            sd = UNKNOWN_PLACE_SD * min(float(reach.max()), 10.0 * walked) + walked
            variance[np.ix_(rows.pairs + seen, rows.pairs + seen)] = sd**2
    return variance


def crossing(azimuth_rad: Array, counts: Array, station: Array) -> Array:
    """Where bearings (b, h) from known stations (2, b, h) come closest to crossing, (2, h)."""
    across = np.stack([np.cos(azimuth_rad), -np.sin(azimuth_rad)])
    squares = across[:, None] * across
    along = np.einsum("acbh,cbh->abh", squares, station)
    weight = counts
    found = station.mean(axis=1)
    for _ in range(3):
        info = np.einsum("acbh,bh->ach", squares, weight)
        # Bearings that all but agree cross nowhere in particular: a little pull to their stations.
        info += 1e-4 * weight.sum(axis=0) * np.eye(2)[:, :, None]
        right = np.einsum("abh,bh->ah", along, weight)
        right += 1e-4 * weight.sum(axis=0) * station.mean(axis=1)
        det = info[0, 0] * info[1, 1] - info[0, 1] ** 2
        found = np.stack(
            [
                (info[1, 1] * right[0] - info[0, 1] * right[1]) / det,
                (info[0, 0] * right[1] - info[0, 1] * right[0]) / det,
            ]
        )
        weight = counts / np.maximum(((found[:, None] - station) ** 2).sum(axis=0), NEAREST**2)
    crossed: Array = found
    return crossed
