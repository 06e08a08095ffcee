"""A symmetric system of weights, solved, and entries of its inverse: dense while it is small, else sparse."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

LOADED_FROM: Final = 400
"""Unknowns from which it pays to load the quicker dense solver, a twentieth of a second."""
DENSE_UP_TO: Final = 1200
"""Unknowns up to which the whole inverse is made, which takes less than loading the sparse solver."""
COLUMNS_AT_ONCE: Final = 64


@dataclass(frozen=True, slots=True, eq=False)
class Information:
    """The inverse covariance of unknowns, ready to solve; those that are held stand at zero.

    Attributes
    ----------
    size
        How many unknowns there are, the held ones among them.
    place
        Where each stands among the free ones; -1 where it is held, shape (size,).
    inverse
        The whole covariance of the free ones of a small system; else None.
    sparse
        The sparse factor of a large one; else None.
    """

    size: int
    place: Indices
    inverse: Array | None
    sparse: Any

    def solve(self, right: Array) -> Array:
        """The solution for a right-hand side, shape (size,); 0 where an unknown is held."""
        solved = np.zeros(self.size)
        free = self.place >= 0
        of_free = right[free]
        solved[free] = self.sparse.solve(of_free) if self.inverse is None else self.inverse @ of_free
        return solved

    def covariance_at(self, rows: Indices, columns: Indices) -> Array:
        """Entries of the covariance, of the common shape of `rows` and `columns`."""
        row, column = self.place[rows], self.place[columns]
        held = (row < 0) | (column < 0)
        if self.inverse is not None:
            found: Array = self.inverse[row, column]
            return np.where(held, 0.0, found)
        at_row, at_column = np.broadcast_arrays(row, column)
        return np.where(held, 0.0, self._solved_at(at_row.ravel(), at_column.ravel()).reshape(held.shape))

    def _solved_at(self, rows: Indices, columns: Indices) -> Array:
        """Solve for the columns that are wanted, some at a time, and keep the entries that are."""
        found = np.zeros(rows.size)
        wanted, which = np.unique(columns, return_inverse=True)
        order = np.argsort(which, kind="stable")
        bounds = np.searchsorted(which[order], np.arange(0, wanted.size + COLUMNS_AT_ONCE, COLUMNS_AT_ONCE))
        free = int(self.place.max()) + 1
        for k, low in enumerate(range(0, wanted.size, COLUMNS_AT_ONCE)):
            some = wanted[low : low + COLUMNS_AT_ONCE]
            unit = np.zeros((free, some.size))
            unit[some, np.arange(some.size)] = 1.0
            mine = order[bounds[k] : bounds[k + 1]]
            found[mine] = self.sparse.solve(unit)[rows[mine], which[mine] - low]
        return found


def inform(rows: Indices, columns: Indices, values: Array, free: Indices, size: int) -> Information:
    """The weights given by their entries; entries of one place are added, those beyond `size` dropped.

    Parameters
    ----------
    rows, columns, values
        The entries, each shape (k,).
    free
        The unknowns that are not held, in rising order.
    size
        How many unknowns there are.

    Raises
    ------
    numpy.linalg.LinAlgError
        The matrix is singular.
    """
    place = np.full(max(size, int(max(rows.max(initial=0), columns.max(initial=0))) + 1), -1, dtype=np.intp)
    place[free] = np.arange(free.size)
    row, column = place[rows], place[columns]
    kept = (row >= 0) & (column >= 0)
    row, column, values, n = row[kept], column[kept], values[kept], free.size
    if n > DENSE_UP_TO:
        return Information(size, place[:size], None, _sparse(row, column, values, n))
    summed: Array = np.bincount(row * n + column, weights=values, minlength=n * n).astype(np.float64)
    return Information(size, place[:size], _inverse(summed.reshape(n, n)), None)


def _inverse(matrix: Array) -> Array:
    # Radians stand beside paces: every unknown is measured in what its own weight leaves of it.
    unit = 1.0 / np.sqrt(np.diag(matrix))
    scaled = matrix * unit[:, None] * unit
    if matrix.shape[0] < LOADED_FROM:
        inverse: Array = np.asarray(np.linalg.inv(scaled), dtype=np.float64)
        return inverse * unit[:, None] * unit
    from scipy.linalg import cholesky, lapack

    lower = cholesky(scaled, lower=True, overwrite_a=True, check_finite=False)
    half, _ = lapack.dpotri(lower, lower=1, overwrite_c=1)
    below: Array = np.tril(half, -1)
    whole: Array = below + below.T + np.diag(np.diag(half))
    return whole * unit[:, None] * unit


def _sparse(rows: Indices, columns: Indices, values: Array, size: int) -> Any:
    from scipy.sparse import csc_matrix
    from scipy.sparse.linalg import splu

    matrix = csc_matrix((values, (rows, columns)), shape=(size, size))
    try:
        return splu(
            matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        )
    except RuntimeError as singular:
        raise np.linalg.LinAlgError(str(singular)) from None
