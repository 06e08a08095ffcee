"""A likely present place followed back: where such a walk began, and how its figure lies on the map."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.chances import Doubt
from pacewright.ground.locate.domain import TILE
from pacewright.ground.locate.kernels import Kernels
from pacewright.ground.locate.posterior import LikelyPlace, likely_places
from pacewright.ground.locate.question import Question
from pacewright.ground.locate.sweep import sweep

Floats = NDArray[np.float64]

_END_WITHIN_M: Final = 150.0
_LEAST_NODE: Final = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class FoundWalk:
    """One likely place and the walk that leads there.

    Attributes
    ----------
    now, start
        Where the walker is, and where such a walk began; in rows and columns of the layers.
    places
        The stations between, shape (n + 1, 2), rows and columns.
    bias_rad, scale
        The compass bias and the scale of lengths that go with it.
    """

    now: LikelyPlace
    start: LikelyPlace
    places: Floats
    bias_rad: float
    scale: float


def follow_back(
    question: Question, doubt: Doubt, now: LikelyPlace, node_chance: Floats, loops: Kernels
) -> FoundWalk | None:
    """The walk that leads to a likely place; None where none does.

    Parameters
    ----------
    question
        The log on the land, on its own cells.
    doubt
        How far it is trusted.
    now
        The place.
    node_chance
        Of every bias and scale.
    loops
        The inner loops.
    """
    nodes = [k for k, chance in enumerate(node_chance) if chance > _LEAST_NODE * node_chance.max()]
    near = _near(question, now, nodes)
    shape = (near.domain.rows, near.domain.columns)
    start = np.zeros(shape, dtype=np.float32)
    logs, parts = [], []
    for node in nodes:
        begins = _disc(near, now, node)
        swept = sweep(near, doubt, node, loops, is_forward=False, begins=begins)
        logs.append(swept.log_chance + math.log(question.nodes.weight[node]))
        parts.append(swept)
    if not np.isfinite(logs).any():
        return None
    shares = np.exp(np.array(logs) - np.logaddexp.reduce(logs))
    for share, part in zip(shares, parts, strict=True):
        rows, columns = part.belief.shape
        start[part.top : part.top + rows, part.left : part.left + columns] += np.float32(share) * part.belief
    found = likely_places(start, question.cell_m, most=1)
    if not found:
        return None
    began = replace(found[0], row=found[0].row + near.domain.top, column=found[0].column + near.domain.left)
    bias = float(shares @ question.nodes.bias_rad[nodes])
    scale = float(shares @ question.nodes.scale[nodes])
    moved = shares @ question.places[nodes].reshape(len(nodes), -1)
    return FoundWalk(now, began, _between(moved.reshape(-1, 2), began, now, question), bias, scale)


def _between(moved: Floats, start: LikelyPlace, now: LikelyPlace, question: Question) -> Floats:
    """Lay the figure from the start to the place; what does not close is spread as legs scatter."""
    places = moved + np.array([start.row, start.column])
    off = np.array([now.row, now.column]) - places[-1]
    scatter = np.cumsum([0.0, *np.trace(question.walk.own_m2, axis1=1, axis2=2)])
    return np.asarray(places + off * (scatter / max(float(scatter[-1]), 1e-12))[:, None])


def _near(question: Question, now: LikelyPlace, nodes: list[int]) -> Question:
    """The question for starts from which the place can be reached."""
    cell_m, domain, walk = question.cell_m, question.domain, question.walk
    moved_m = max((math.hypot(w.east_m, w.north_m) for ways in walk.slips for w in ways), default=0.0)
    room = (5.0 * walk.scatter_m + moved_m + 2 * _END_WITHIN_M) / cell_m
    begins = np.array([now.row, now.column]) - question.places[nodes, -1] - (domain.top, domain.left)
    low = np.maximum(np.floor((begins.min(axis=0) - room) / TILE), 0).astype(int)
    most = np.array([domain.rows, domain.columns]) // TILE
    high = np.minimum(np.ceil((begins.max(axis=0) + room) / TILE), most).astype(int)
    high = np.maximum(high, low + 1)
    low = np.minimum(low, most - 1)
    size = (high - low) * TILE
    return question.cropped(int(low[0] * TILE), int(low[1] * TILE), int(size[0]), int(size[1]))


def _disc(near: Question, now: LikelyPlace, node: int) -> NDArray[np.float32]:
    middle = np.array([now.row, now.column]) - near.places[node, -1] - (near.domain.top, near.domain.left)
    rows, columns = np.mgrid[0 : near.domain.rows, 0 : near.domain.columns] + 0.5
    off_m = np.hypot(rows - middle[0], columns - middle[1]) * near.cell_m
    return np.asarray(off_m <= _END_WITHIN_M, dtype=np.float32)
