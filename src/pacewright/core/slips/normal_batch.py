"""Many small normal densities at once: factor, solve, log density, and what follows from observations.

The batch stands in the last axis, so that a factor of a few rows is a handful of operations on long
arrays whatever the number of trials.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Factored:
    """Lower triangular factors L of covariances, shape (m, m, h)."""

    lower: Array

    def whiten(self, right: Array) -> Array:
        """Solve L x = right; `right` has shape (m, ..., h)."""
        lower = self.lower
        solved = np.empty(np.broadcast_shapes(right.shape, (*right.shape[:-1], lower.shape[-1])))
        for i in range(lower.shape[0]):
            row = right[i]
            if i:
                row = row - np.einsum("jh,j...h->...h", lower[i, :i], solved[:i])
            solved[i] = row / lower[i, i]
        return solved

    def log_root_determinant(self) -> Array:
        """Half the log determinant of each covariance, shape (h,)."""
        m = self.lower.shape[0]
        half: Array = np.log(self.lower[range(m), range(m)]).sum(axis=0)
        return half


def factor(covariance: Array) -> Factored:
    """The Cholesky factors of covariances of shape (m, m, h)."""
    m, _, h = covariance.shape
    lower = np.zeros((m, m, h))
    for j in range(m):
        column = covariance[j:, j]
        if j:
            column = column - np.einsum("ikh,kh->ih", lower[j:, :j], lower[j, :j])
        # A covariance that rounding has left a hair below zero must not end in a complaint.
        pivot = np.sqrt(np.maximum(column[0], 1e-12 * np.maximum(covariance[j, j], 1e-12)))
        lower[j, j] = pivot
        lower[j + 1 :, j] = column[1:] / pivot
    return Factored(lower)


def log_density(residual: Array, covariance: Array) -> Array:
    """The log density of residuals, shape (m, h), under covariances (m, m, h); shape (h,)."""
    factored = factor(covariance)
    white = factored.whiten(residual)
    m = residual.shape[0]
    density: Array = -0.5 * np.einsum("mh,mh->h", white, white) - factored.log_root_determinant()
    density -= 0.5 * m * np.log(2.0 * np.pi)
    return density


def log_sum(values: Array, axis: int = -1) -> Array:
    """log(sum(exp(values))) along an axis without overflow."""
    if values.shape[axis] == 0:
        return np.full(values.sum(axis=axis).shape, -np.inf)
    top = np.max(values, axis=axis, keepdims=True)
    top = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        total: Array = np.log(np.exp(values - top).sum(axis=axis)) + np.squeeze(top, axis=axis)
    return total
