"""Compiling the inner loops where the compiler is installed; without it they run as they stand."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any


@lru_cache(maxsize=1)
def is_compiler_there() -> bool:
    """Whether the compiler of the `terrain` extra is installed."""
    try:
        import numba
    except ImportError:
        return False
    return bool(numba.__version__)


def compiled(function: Callable[..., Any], **options: Any) -> Callable[..., Any]:
    """A function compiled, or itself where there is no compiler.

    Compiled code is kept on disk beside the package, or in the user's folder where that cannot be written.
    """
    if not is_compiler_there():
        return function
    import numba

    # A division by zero must not raise in the midst of a loop: the array library's rule is kept.
    settings = {"nogil": True, "cache": True, "error_model": "numpy", **options}
    made: Callable[..., Any] = numba.njit(**settings)(function)
    return made
