"""A search spread over the machines of a cluster: the same blocks, the same functions, the same answer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from pacewright.exceptions import MissingComplaint, ValueComplaint, how_to_install
from pacewright.ground.locate.land_layers import LandLayers
from pacewright.ground.locate.search import (
    BLOCK_CELLS,
    SURVEY_SHARE,
    Block,
    BlockFound,
    Found,
    Look,
    Sought,
    blocks_of,
    join_blocks,
    survey_block,
    with_survey,
    worth_a_search,
)

if TYPE_CHECKING:
    from pacewright.answers.locate import Searcher
    from pacewright.ground.locate.belief import Progress
    from pacewright.ground.locate.search import Keep, Kept, Told
    from pacewright.ground.terrain import Terrain

_WAIT_S = 20
_TRIES = 5


def searcher_on(address: str, side: int = BLOCK_CELLS) -> Searcher:
    """What searches on the workers of a scheduler; a worker that dies is done without.

    Parameters
    ----------
    address
        Of the scheduler, such as `tcp://192.168.1.20:8786`.
    side
        Cells of a block each way.

    Raises
    ------
    MissingComplaint
        When it is used: the library for it is not installed.
    ValueComplaint
        When it is used: nobody answers there.
    """

    def search_there(
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
    ) -> Found:
        blocks = blocks_of(prior, side)
        before = [None if kept is None else kept(block) for block in blocks]
        found = {one.block: one for one in before if one is not None}
        with _client(address) as client:
            layers = LandLayers(terrain, None if ground is None else ground.streams)
            sought = client.scatter(Sought(told, terrain, prior, layers, workers, is_plain), broadcast=True)

            def look(left: list[tuple[Look, Block]], done: float, share: float) -> None:
                hows, there = [how for how, _ in left], [block for _, block in left]
                jobs = client.map(_one, there, hows, sought=sought, retries=_TRIES, pure=False)
                for number, job in enumerate(_as_completed(jobs), start=1):
                    result: BlockFound = job.result()
                    found[result.block] = with_survey(result, found.get(result.block))
                    if keep is not None:
                        keep(found[result.block])
                    if progress is not None:
                        progress(done + share * number / len(left))

            look([(survey_block, one) for one in blocks if one not in found], 0.0, SURVEY_SHARE)
            look(worth_a_search(found.values()), SURVEY_SHARE, 1 - SURVEY_SHARE)
        return join_blocks(found.values(), terrain.elevation_m.shape)

    return search_there


def _one(block: Any, how: Look, sought: Any) -> BlockFound:
    return how(sought, block)


def _client(address: str) -> Any:
    try:
        from distributed import Client
    except ImportError:
        raise MissingComplaint(
            "searching on several machines needs distributed, which is not installed",
            how_to_install("cluster"),
        ) from None
    try:
        return Client(address, timeout=_WAIT_S)
    except (OSError, ValueError):
        raise ValueComplaint(
            f"no scheduler answers at {address[:80]}", "Start one there, and workers that have this tool"
        ) from None


def _as_completed(jobs: Any) -> Any:
    from distributed import as_completed

    return as_completed(jobs)
