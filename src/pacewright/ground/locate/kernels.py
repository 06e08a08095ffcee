"""Which of the two sets of inner loops is there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from pacewright.ground.locate.compiling import is_compiler_there


@dataclass(frozen=True, slots=True)
class Kernels:
    """The inner loops: `scatter` a belief, `weigh` it, `clear` tiles of it; and which tiles that takes."""

    scatter: Callable[..., None]
    weigh: Callable[..., None]
    clear: Callable[..., None]
    runs_of: Callable[..., Any]
    spread_tiles: Callable[..., Any]
    slid_tiles: Callable[..., None]


def kernels(is_plain: bool = False) -> Kernels:
    """The compiled loops where the compiler is installed, or else those of the array library."""
    if is_compiler_there() and not is_plain:
        from pacewright.ground.locate import kernels_compiled as loops
    else:
        from pacewright.ground.locate import kernels_plain as loops  # type: ignore[no-redef]
    return Kernels(
        loops.scatter, loops.weigh, loops.clear, loops.runs_of, loops.spread_tiles, loops.slid_tiles
    )
