"""A whole search: block by block over the land, and all blocks put together.

A block stands alone: given its land it needs nothing of its neighbours, so that blocks can be searched in
any order, on other machines, and again from where a search was stopped. All are surveyed on wide cells first;
those that cannot matter beside the best are not looked at more closely.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.belief import ALIVE_BITS, Belief, Progress, find_belief, find_evidence
from pacewright.ground.locate.chances import Doubt
from pacewright.ground.locate.domain import Domain, domain_of
from pacewright.ground.locate.fitting import chance_anywhere
from pacewright.ground.locate.ground_said import GroundSaid
from pacewright.ground.locate.kernels import kernels
from pacewright.ground.locate.known_things import KnownThing, maps_of
from pacewright.ground.locate.land_layers import LandLayers
from pacewright.ground.locate.layers import GroundLayers
from pacewright.ground.locate.question import Question, pose
from pacewright.ground.locate.walk import Walk
from pacewright.ground.terrain import Terrain

Floats = NDArray[np.float64]

BLOCK_CELLS: Final = 1152
"""Starts of a block each way: with the land about them some 100 MB."""
WORTH_BITS: Final = ALIVE_BITS + 3.0
"""A block is searched where its survey is likelier than one in 2 ** 20 of the best, and as closely as its
tiles would be were the land one block: a survey is coarser than they, so it is given three bits more."""
SURVEY_SHARE: Final = 0.3
"""Of the work at a land of several blocks, about."""


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """A log as a search takes it.

    Attributes
    ----------
    walk, said
        The figure and the remarks.
    doubt
        How far remarks and land are trusted.
    faces_turn_deg
        Added to a side as told, to make it one of the land's grid.
    known
        Bearings to known things, and stations at known places.
    """

    walk: Walk
    said: GroundSaid
    doubt: Doubt
    faces_turn_deg: float = 0.0
    known: tuple[KnownThing, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Sought:
    """A log, and the land that it is searched for on: what the work at every block rests on.

    Attributes
    ----------
    told
        The log.
    terrain
        From `working_terrain`: square cells.
    prior
        Of the start, over the whole land, with sum 1.
    ground
        The land's layers.
    workers, is_plain
        Threads, and whether the compiler is left out.
    """

    told: Told
    terrain: Terrain
    prior: NDArray[np.float32]
    ground: LandLayers
    workers: int = 2
    is_plain: bool = False

    def posed(self, block: Block) -> tuple[GroundLayers, Question]:
        """The land about a block, and the log put to it."""
        return pose_block(self.told, self.terrain, self.prior, block, self.ground)

    def share(self, block: Block) -> float:
        """The chance beforehand that the start lies in a block."""
        return float(_of_block(self.prior, block).sum())


@dataclass(frozen=True, slots=True)
class Block:
    """Rows and columns of starts."""

    top: int
    left: int
    rows: int
    columns: int


@dataclass(frozen=True, slots=True, eq=False)
class BlockFound:
    """What a block came to: evidence with its share of the prior, and belief on a piece of the land.

    Attributes
    ----------
    log_chance
        Natural logarithm of the chance of the log times the prior of the block.
    top, left
        Where the pieces lie.
    start, now
        Belief on the piece.
    node_chance
        Of every bias and scale.
    is_fine
        Whether it stands on the land's own cells.
    by_chance
        Natural logarithm of the chance of the remarks taken at random from this land.
    surveyed
        As `log_chance`, by the survey; 0 where the land is one block and needed none.
    """

    block: Block
    log_chance: float
    top: int
    left: int
    start: NDArray[np.float32]
    now: NDArray[np.float32]
    node_chance: Floats
    is_fine: bool
    by_chance: float
    surveyed: float = 0.0

    @property
    def is_searched(self) -> bool:
        """Whether it was looked at beyond the survey."""
        return self.start.size > 0


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """What a search came to.

    Attributes
    ----------
    log_chance
        Natural logarithm of the chance of the log.
    by_chance
        The same of its remarks, taken at random from this land.
    start, now
        Belief over the whole land, each with sum 1, or all 0 where nothing survived.
    node_chance
        Of every bias and scale.
    is_fine
        Whether it stands on the land's own cells wherever it matters.
    searched
        Share of the possible starts that was searched; less than 1 where the search was stopped.
    """

    log_chance: float
    by_chance: float
    start: NDArray[np.float32]
    now: NDArray[np.float32]
    node_chance: Floats
    is_fine: bool
    searched: float = 1.0


Kept = Callable[[Block], BlockFound | None]
Keep = Callable[[BlockFound], None]
Look = Callable[..., BlockFound]
"""`survey_block` or `search_block`."""


def blocks_of(prior: NDArray[np.float32], side: int = BLOCK_CELLS) -> list[Block]:
    """The blocks in which a walk may have begun, about as large as each other."""
    rows, columns = np.flatnonzero(prior.max(axis=1)), np.flatnonzero(prior.max(axis=0))
    if not rows.size:
        return []
    found = []
    for top, high in _parts(int(rows[0]), int(rows[-1]) + 1, side):
        for left, wide in _parts(int(columns[0]), int(columns[-1]) + 1, side):
            if _of_block(prior, Block(top, left, high, wide)).any():
                found.append(Block(top, left, high, wide))
    return found


def survey_block(sought: Sought, block: Block, progress: Progress | None = None) -> BlockFound:
    """Look at one block on wide cells: its evidence, without a belief."""
    _, question = sought.posed(block)
    told, loops = sought.told, kernels(sought.is_plain)
    evidence = find_evidence(question, told.doubt, loops, workers=sought.workers, told=progress)
    surveyed = _unseen(block, evidence + math.log(sought.share(block)), question.nodes.weight.size)
    return replace(surveyed, by_chance=chance_anywhere(question, told.said))


def _unseen(block: Block, log_chance: float = 0.0, nodes: int = 1) -> BlockFound:
    nothing = np.zeros((0, 0), dtype=np.float32)
    zeros = np.zeros(nodes)
    return BlockFound(block, log_chance, 0, 0, nothing, nothing, zeros, True, 0.0, surveyed=log_chance)


def worth_a_search(surveyed: Iterable[BlockFound]) -> list[tuple[Look, Block]]:
    """How to search those of all blocks that may matter and are not searched yet, the likeliest first."""
    blocks = list(surveyed)
    best = max((one.surveyed for one in blocks), default=0.0)
    left = [one for one in blocks if not one.is_searched and one.surveyed > best - WORTH_BITS * math.log(2)]
    found: list[tuple[Look, Block]] = []
    for one in sorted(left, key=lambda one: (-one.surveyed, one.block.top, one.block.left)):
        bits = min(ALIVE_BITS, WORTH_BITS - (best - one.surveyed) / math.log(2))
        found.append((partial(search_block, alive_bits=bits), one.block))
    return found


def search_block(
    sought: Sought, block: Block, progress: Progress | None = None, *, alive_bits: float = ALIVE_BITS
) -> BlockFound:
    """Search one block."""
    layers, question = sought.posed(block)
    told, loops = sought.told, kernels(sought.is_plain)
    asked = (question, told.doubt, layers.shape, loops)
    belief = find_belief(*asked, workers=sought.workers, told=progress, alive_bits=alive_bits)
    top, left = _corner(sought.terrain, layers)
    by_chance = chance_anywhere(question, told.said)
    return _block_found(block, belief, sought.share(block), by_chance, top, left)


def pose_block(
    told: Told,
    terrain: Terrain,
    prior: NDArray[np.float32],
    block: Block,
    ground: LandLayers | None = None,
) -> tuple[GroundLayers, Question]:
    """The land of a block with all that walks from it can reach, and the log put to it."""
    cell_m = terrain.cell_east_m
    domain = domain_of(told.walk, cell_m, block.top, block.left, block.rows, block.columns)
    room = domain.pad
    rows, columns = terrain.elevation_m.shape
    t, b = max(domain.top - room, 0), min(domain.top + domain.rows + room, rows)
    le, ri = max(domain.left - room, 0), min(domain.left + domain.columns + room, columns)
    layers = (ground or LandLayers(terrain)).piece(t, b, le, ri, with_streams=told.said.speaks_of_streams)
    here = np.zeros(layers.shape, dtype=np.float32)
    rows_here = slice(block.top - t, block.top - t + block.rows)
    columns_here = slice(block.left - le, block.left - le + block.columns)
    mine = _of_block(prior, block)
    here[rows_here, columns_here] = mine / max(float(mine.sum(dtype=np.float64)), 1e-30)
    moved = Domain(domain.top - t, domain.left - le, domain.rows, domain.columns, domain.pad)
    maps, map_of = maps_of(told.known, layers, told.walk.legs + 1)
    question = pose(told.walk, told.said, layers, moved, here, told.doubt, told.faces_turn_deg, maps, map_of)
    return layers, question


def join_blocks(found: Iterable[BlockFound], shape: tuple[int, int]) -> Found:
    """Put blocks together, each weighed by its evidence; the order does not matter beyond rounding."""
    blocks = sorted(found, key=lambda one: (one.block.top, one.block.left))
    logs = np.array([one.log_chance for one in blocks])
    start, now = np.zeros(shape, dtype=np.float32), np.zeros(shape, dtype=np.float32)
    by_chance = float(np.mean([one.by_chance for one in blocks])) if blocks else 0.0
    if not blocks or not np.isfinite(logs).any():
        nodes = blocks[0].node_chance if blocks else np.zeros(1)
        return Found(-math.inf, by_chance, start, now, nodes, False)
    log_chance = float(np.logaddexp.reduce(logs))
    shares = np.exp(logs - log_chance)
    nodes = np.zeros_like(blocks[0].node_chance)
    for one, share in zip(blocks, shares, strict=True):
        nodes += share * one.node_chance
        for goal, piece in ((start, one.start), (now, one.now)):
            rows, columns = piece.shape
            goal[one.top : one.top + rows, one.left : one.left + columns] += piece * np.float32(share)
    for goal in (start, now):
        total = float(goal.sum(dtype=np.float64))
        if total > 0:
            goal /= np.float32(total)
    is_fine = all(one.is_fine for one, share in zip(blocks, shares, strict=True) if share > 1e-3)
    return Found(log_chance, by_chance, start, now, nodes, is_fine)


def search(
    told: Told,
    terrain: Terrain,
    prior: NDArray[np.float32],
    *,
    ground: LandLayers | None = None,
    workers: int = 2,
    progress: Progress | None = None,
    kept: Kept | None = None,
    keep: Keep | None = None,
    is_plain: bool = False,
    side: int = BLOCK_CELLS,
) -> Found:
    """Search a land on square working cells.

    Parameters
    ----------
    told
        The log.
    terrain
        From `working_terrain`.
    prior
        Of the start, on the same cells, with sum 1.
    ground
        The land's layers; by default made of its heights.
    workers
        Threads.
    progress
        Told the share done.
    kept, keep
        What an earlier search came to for a block, and where to leave what this one comes to.
    is_plain
        Leave the compiler out.
    side
        Cells of a block each way.

    Raises
    ------
    KeyboardInterrupt
        It was stopped before anything was known.
    """
    blocks = blocks_of(prior, side)
    sought = Sought(told, terrain, prior, ground or LandLayers(terrain), workers, is_plain)
    found: dict[Block, BlockFound] = {}
    ruled_out: set[Block] = set()

    def look(how: Look, block: Block, done: float, share: float) -> None:
        step = None if progress is None else _part_of(progress, done, share)
        found[block] = with_survey(how(sought, block, step), found.get(block))
        if keep is not None:
            keep(found[block])

    surveys = SURVEY_SHARE if len(blocks) > 1 else 0.0
    try:
        for number, block in enumerate(blocks):
            before = None if kept is None else kept(block)
            if before is not None or not surveys:
                found[block] = before or _unseen(block)
            else:
                look(survey_block, block, number * surveys / len(blocks), surveys / len(blocks))
        left = worth_a_search(found.values())
        ruled_out = set(blocks) - {block for _, block in left}
        for number, (how, block) in enumerate(left):
            share = (1 - surveys) / len(left)
            look(how, block, surveys + number * share, share)
    except KeyboardInterrupt:
        # Stopped by hand: what is known so far is an answer about the part that was searched.
        if not any(one.is_searched for one in found.values()):
            raise
    known = [one for one in found.values() if one.is_searched or one.block in ruled_out]
    joined = join_blocks(known, terrain.elevation_m.shape)
    return replace(joined, searched=sum(sought.share(one.block) for one in known))


def with_survey(searched: BlockFound, surveyed: BlockFound | None) -> BlockFound:
    """A block that was searched, and what its survey came to."""
    return searched if surveyed is None else replace(searched, surveyed=surveyed.surveyed)


def _part_of(progress: Progress, done: float, share: float) -> Progress:
    return lambda part: progress(done + share * part)


def _of_block(prior: NDArray[np.float32], block: Block) -> NDArray[np.float32]:
    return prior[block.top : block.top + block.rows, block.left : block.left + block.columns]


def _parts(first: int, last: int, side: int) -> list[tuple[int, int]]:
    count = max(1, math.ceil((last - first) / side))
    edges = np.linspace(first, last, count + 1).round().astype(int)
    return [(int(low), int(high - low)) for low, high in pairwise(edges)]


def _corner(terrain: Terrain, layers: GroundLayers) -> tuple[int, int]:
    return (
        round((terrain.north_m - layers.north_m) / layers.cell_m),
        round((layers.west_m - terrain.west_m) / layers.cell_m),
    )


def _block_found(
    block: Block, belief: Belief, share: float, by_chance: float, top: int, left: int
) -> BlockFound:
    log_chance = belief.log_chance + math.log(share) if share > 0 else -math.inf
    nodes = belief.node_chance
    return BlockFound(
        block, log_chance, top, left, belief.start, belief.now, nodes, belief.is_fine, by_chance
    )
