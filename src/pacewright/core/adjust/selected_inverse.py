"""Solve a symmetric system, and give chosen entries of its inverse without making all of it.

Small systems are solved dense; large ones by a sparse factor, whose inverse is then found only on
the factor's own pattern, from the last unknown to the first. The pattern is worked out from the
matrix: the factor as stored leaves out entries that happen to be zero.

References
----------
K. Takahashi, J. Fagan, M.-S. Chin, Formation of a sparse bus impedance matrix, 1973 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

DENSE_UP_TO: Final = 600
"""Unknowns up to which a dense solution costs less than loading the sparse solver (a third of a second)."""


@dataclass(frozen=True, slots=True, eq=False)
class Factor:
    """A symmetric positive definite matrix, ready to solve.

    Attributes
    ----------
    inverse
        The whole inverse of a small matrix; else None.
    sparse
        The sparse factor of a large one; else None.
    rows, columns
        Where the matrix has entries.
    """

    size: int
    inverse: Array | None
    sparse: Any
    rows: Indices
    columns: Indices

    def solve(self, right: Array) -> Array:
        """Solve for one or more right-hand sides, shape (size,) or (size, k)."""
        solved: Array = self.inverse @ right if self.inverse is not None else self.sparse.solve(right)
        return solved

    def inverse_at(self, rows: Indices, columns: Indices) -> Array:
        """Give the inverse at places where the matrix itself has entries, shape as `rows`."""
        if self.inverse is not None:
            found: Array = self.inverse[rows, columns]
            return found
        return _selected(self, rows.ravel(), columns.ravel()).reshape(rows.shape)


def factorise(rows: Indices, columns: Indices, values: Array, size: int) -> Factor:
    """Factorise a matrix given by its entries; entries of one place are added.

    Raises
    ------
    numpy.linalg.LinAlgError
        The matrix is singular.
    """
    if size <= DENSE_UP_TO:
        summed = np.bincount(rows * size + columns, weights=values, minlength=size * size)
        inverse: Array = np.asarray(np.linalg.inv(summed.reshape(size, size)), dtype=np.float64)
        return Factor(size, inverse, None, rows, columns)
    from scipy.sparse import csc_matrix
    from scipy.sparse.linalg import splu

    matrix = csc_matrix((values, (rows, columns)), shape=(size, size))
    try:
        sparse = splu(
            matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        )
    except RuntimeError as singular:
        raise np.linalg.LinAlgError(str(singular)) from None
    return Factor(size, None, sparse, rows, columns)


@dataclass(frozen=True, slots=True, eq=False)
class _Front:
    """Unknowns eliminated together: `first` up to `last`, then those they still touch."""

    first: int
    last: int
    touched: Indices


def _selected(factor: Factor, rows: Indices, columns: Indices) -> Array:
    place = factor.sparse.perm_c
    if not np.array_equal(place, factor.sparse.perm_r):
        raise np.linalg.LinAlgError("the factor is not symmetric")
    fronts, front_of = _fronts(place[factor.rows], place[factor.columns], factor.size)
    i, j = place[rows], place[columns]
    low, high = np.minimum(i, j), np.maximum(i, j)
    wanted = np.argsort(front_of[low], kind="stable")
    bounds = np.searchsorted(front_of[low][wanted], np.arange(len(fronts) + 1))
    found = np.zeros(rows.size)
    lower = factor.sparse.L.tocsc()
    diagonal = factor.sparse.U.diagonal()
    parent = [int(front_of[front.touched[0]]) if front.touched.size else -1 for front in fronts]
    children = np.bincount([p for p in parent if p >= 0], minlength=len(fronts))
    kept: dict[int, tuple[Indices, Array]] = {}
    for f in range(len(fronts) - 1, -1, -1):
        index, inverse = _front_inverse(fronts[f], lower, diagonal, kept.get(parent[f]))
        mine = wanted[bounds[f] : bounds[f + 1]]
        found[mine] = inverse[np.searchsorted(index, high[mine]), low[mine] - fronts[f].first]
        if children[f]:
            kept[f] = (index, inverse)
        if parent[f] >= 0:
            children[parent[f]] -= 1
            if not children[parent[f]]:
                del kept[parent[f]]
    return found


def _front_inverse(
    front: _Front, lower: Any, diagonal: Array, above: tuple[Indices, Array] | None
) -> tuple[Indices, Array]:
    own = np.arange(front.first, front.last + 1)
    index = np.concatenate([own, front.touched])
    columns = np.zeros((index.size, own.size))
    start, stop = lower.indptr[front.first], lower.indptr[front.last + 1]
    column_of = np.repeat(own - front.first, np.diff(lower.indptr[front.first : front.last + 2]))
    columns[np.searchsorted(index, lower.indices[start:stop]), column_of] = lower.data[start:stop]
    unit_inverse = np.linalg.inv(columns[: own.size]) if own.size > 1 else np.ones((1, 1))
    inverse = np.empty((index.size, index.size))
    corner = (unit_inverse.T / diagonal[own]) @ unit_inverse
    if above is not None:
        at = np.searchsorted(above[0], front.touched)
        rest = above[1][np.ix_(at, at)]
        reach = columns[own.size :] @ unit_inverse
        side = -rest @ reach
        corner = corner - reach.T @ side
        inverse[own.size :, own.size :] = rest
        inverse[own.size :, : own.size] = side
        inverse[: own.size, own.size :] = side.T
    inverse[: own.size, : own.size] = corner
    return index, inverse


def _fronts(rows: Indices, columns: Indices, size: int) -> tuple[list[_Front], Indices]:
    """Work out which unknowns each elimination touches, and join those that touch the same."""
    below = rows > columns
    order = np.argsort(columns[below], kind="stable")
    touching = rows[below][order].tolist()
    bounds = np.searchsorted(columns[below][order], np.arange(size + 1)).tolist()
    touched: list[set[int]] = []
    waiting: list[list[int]] = [[] for _ in range(size)]
    parent = [-1] * size
    for j in range(size):
        mine = set(touching[bounds[j] : bounds[j + 1]]).union(*(touched[c] for c in waiting[j]))
        mine.discard(j)
        touched.append(mine)
        if mine:
            parent[j] = min(mine)
            waiting[parent[j]].append(j)
    fronts: list[_Front] = []
    front_of = np.empty(size, dtype=np.intp)
    first = 0
    for j in range(size):
        if j + 1 < size and parent[j] == j + 1 and len(touched[j]) == len(touched[j + 1]) + 1:
            continue
        front_of[first : j + 1] = len(fronts)
        fronts.append(_Front(first, j, np.array(sorted(touched[j]), dtype=np.intp)))
        first = j + 1
    return fronts, front_of
