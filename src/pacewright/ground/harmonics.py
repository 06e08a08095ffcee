"""The sums of a spherical harmonic field: Schmidt quasi-normal, regular at the poles, all points at once."""

from __future__ import annotations

import math
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

REFERENCE_RADIUS_M: Final = 6_371_200.0
"""Geomagnetic reference radius of the model."""


class Coefficients(Protocol):
    """What the sums need of a model: coefficients by row n, column m, and their yearly change, in nT."""

    @property
    def g_nt(self) -> Array: ...  # noqa: D102
    @property
    def h_nt(self) -> Array: ...  # noqa: D102
    @property
    def g_change_nt(self) -> Array: ...  # noqa: D102
    @property
    def h_change_nt(self) -> Array: ...  # noqa: D102


def field_sums(
    model: Coefficients, sine: Array, cosine: Array, longitude_rad: Array, radius_m: Array
) -> tuple[Array, Array]:
    """The field and its yearly change in the geocentric frame.

    Parameters
    ----------
    model
        The coefficients.
    sine, cosine
        Of the geocentric latitude, shape (n,); the cosine may be 0.
    longitude_rad
        Shape (n,).
    radius_m
        From the centre of the Earth, shape (n,).

    Returns
    -------
    at_epoch, change
        North, east, down in nT, and in nT a year, shape (3, n).

    Notes
    -----
    For every order m > 0 the recursion runs on the Legendre functions divided by the cosine of the
    latitude. They are polynomials at the poles, where the functions themselves over the cosine would
    be 0/0: the east part and the derivative need no special case.

    References
    ----------
    The US/UK World Magnetic Model for 2025-2030, technical report (2024), equations 4 to 12; the
    recursion: Langel, The main field, in Geomagnetism vol. 1 (1987), from memory.
    """
    degrees = model.g_nt.shape[0] - 1
    # north, east, down at the epoch, then their change
    sums = np.zeros((6, sine.size))
    shrink = REFERENCE_RADIUS_M / radius_m
    seed = shrink**2
    for m in range(degrees + 1):
        if m:
            seed = seed * shrink * (_diagonal(m) if m == 1 else _diagonal(m) * cosine)
        reduced = _reduced_functions(m, degrees, seed, shrink, sine)
        if m:
            functions, slope = reduced * cosine, _slopes(m, reduced, shrink, sine)
        else:
            functions = reduced
            slope = None
        _add_order(sums, model, m, functions, reduced, slope, longitude_rad)
        if m == 1:
            # The slope of the zonal functions is made of the sectoral ones of order 1.
            _add_zonal_north(sums, model, functions)
    return sums[:3], sums[3:]


def _diagonal(m: int) -> float:
    """The factor from one sectoral function to the next."""
    return 1.0 if m == 1 else math.sqrt((2 * m - 1) / (2 * m))


def _reduced_functions(m: int, degrees: int, seed: Array, shrink: Array, sine: Array) -> Array:
    """The functions of order m, times their power of the radius, over the cosine unless m is 0.

    One row a degree from m on, shape (degrees - m + 1, n).
    """
    rows = np.empty((degrees - m + 1, sine.size))
    rows[0] = seed
    shrunk_sine = shrink * sine
    shrink2 = shrink * shrink
    for n in range(m + 1, degrees + 1):
        k, root = n - m, math.sqrt(n * n - m * m)
        rows[k] = rows[k - 1] * shrunk_sine * ((2 * n - 1) / root)
        if k > 1:
            rows[k] -= rows[k - 2] * shrink2 * (math.sqrt((n - 1) ** 2 - m * m) / root)
    return rows


def _slopes(m: int, reduced: Array, shrink: Array, sine: Array) -> Array:
    """The derivative by colatitude of the functions of order m > 0, shape as `reduced`."""
    n = np.arange(m, m + reduced.shape[0], dtype=np.float64)[:, None]
    slope = n * sine * reduced
    slope[1:] -= np.sqrt(n[1:] ** 2 - m * m) * shrink * reduced[:-1]
    return slope


def _add_order(
    sums: Array,
    model: Coefficients,
    m: int,
    functions: Array,
    reduced: Array,
    slope: Array | None,
    longitude_rad: Array,
) -> None:
    for first, g_all, h_all in ((0, model.g_nt, model.h_nt), (3, model.g_change_nt, model.h_change_nt)):
        pair = np.stack([g_all[m:, m], h_all[m:, m]])
        if m == 0:
            pair[:, 0] = 0.0  # there is no degree 0
        n_plus_1 = np.arange(m + 1, g_all.shape[0] + 1, dtype=np.float64)
        cosine_m, sine_m = np.cos(m * longitude_rad), np.sin(m * longitude_rad)
        g, h = (pair * n_plus_1) @ functions
        sums[first + 2] -= g * cosine_m + h * sine_m
        if slope is None:
            continue
        g, h = pair @ slope
        sums[first] += g * cosine_m + h * sine_m
        g, h = (m * pair) @ reduced
        sums[first + 1] += g * sine_m - h * cosine_m


def _add_zonal_north(sums: Array, model: Coefficients, of_order_1: Array) -> None:
    n = np.arange(1, of_order_1.shape[0] + 1, dtype=np.float64)
    factor = -np.sqrt(n * (n + 1) / 2)
    sums[0] += (factor * model.g_nt[1:, 0]) @ of_order_1
    sums[3] += (factor * model.g_change_nt[1:, 0]) @ of_order_1
