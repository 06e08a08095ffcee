"""What is said of a pocket page that was written."""

from __future__ import annotations

from pacewright.core.pace.walker import Walker


def say_page_written(file: str, size_bytes: int, walker: Walker) -> list[str]:
    """Say what was written, whose figures are inside, and what to do with it.

    >>> say_page_written("pocket.html", 187_400, Walker())[1]
    'No pace count is inside: lengths stay in paces, as they do without --walker.'
    """
    whose = f" of {walker.name}" if walker.name else ""
    inside = (
        f"The figures{whose} are inside: whoever gets the file gets them."
        if walker.per_100_m is not None
        else "No pace count is inside: lengths stay in paces, as they do without --walker."
    )
    return [
        f"{file}: {size_bytes / 1000:.0f} kB, all in one file.",
        inside,
        "Copy it to the phone and open it there once before you go. Batteries die: take paper and pencil first.",
    ]
