"""How far a search on a ground is, kept in a folder with what it found: a desk started anew goes on."""

from __future__ import annotations

import contextlib
import json
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from django.conf import settings

KEPT_DAYS: Final = 14
_TOLD_EVERY_S: Final = 0.5
_STEP_PERCENT: Final = 5


@dataclass(frozen=True, slots=True)
class Progress:
    """What share of a search is done, and how long the rest takes; None while that is not known."""

    share: float
    left_s: float | None

    @property
    def shown(self) -> str:
        """What of it a page shows, in steps: a page is sent anew only with more."""
        return str(_STEP_PERCENT * int(100 * self.share / _STEP_PERCENT))


def search_folder() -> Path:
    """The folder of what searches have come to; what is older than two weeks is taken out of it."""
    folder = Path(settings.DATA) / "searches"
    folder.mkdir(mode=0o700, exist_ok=True)
    before = time.time() - KEPT_DAYS * 86_400
    for file in folder.iterdir():
        if file.is_file() and file.stat().st_mtime < before:
            file.unlink(missing_ok=True)
    return folder


def progress_of(key: str) -> Progress | None:
    """How far the search of a question is; None where nothing is known of it."""
    try:
        told = json.loads(_path(key).read_text(encoding="utf-8"))
        share, first, begun = float(told["share"]), float(told["first"]), float(told["begun"])
        now = float(told["now"])
    except (OSError, ValueError, KeyError, TypeError):
        return None
    # What an earlier search had done is no measure of this one's pace.
    done = share - first
    return Progress(share, (now - begun) * (1.0 - share) / done if done > 0.02 else None)


def teller(key: str, clock: Callable[[], float] = time.time) -> Callable[[float], None]:
    """What a search tells of its progress: it is written where `progress_of` finds it."""
    path, begun = _path(key), clock()
    path.parent.mkdir(mode=0o700, exist_ok=True)
    first: list[float] = []
    last = 0.0

    def tell(share: float) -> None:
        nonlocal last
        now = clock()
        if not first:
            first.append(share)
        elif now - last < _TOLD_EVERY_S:
            return
        last = now
        told = json.dumps({"share": share, "first": first[0], "begun": begun, "now": now})
        # A disk that is full is no reason to stop a search.
        with contextlib.suppress(OSError):
            coming = path.with_suffix(".part")
            coming.write_text(told, encoding="utf-8")
            coming.replace(path)

    return tell


def say_progress(progress: Progress | None) -> str:
    """Say how far a search is.

    >>> say_progress(Progress(0.43, 75.0)), say_progress(Progress(0.004, None))
    ('40 % is done; the rest takes about 1 min.', 'It has begun.')
    """
    if progress is None or progress.shown == "0":
        return "It has begun."
    left = "" if progress.left_s is None else f"; the rest takes about {_say_time(progress.left_s)}"
    return f"{progress.shown} % is done{left}."


def _say_time(seconds: float) -> str:
    return f"{max(5, 5 * round(seconds / 5))} s" if seconds < 60 else f"{round(seconds / 60)} min"


def _path(key: str) -> Path:
    return Path(settings.DATA) / "searches" / f"{key[:40]}.progress"
