"""The chances of every digit that a box may hold, by a recogniser whose weights come with its package."""

from __future__ import annotations

import functools
import importlib.util
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from pacewright.exceptions import MissingComplaint, how_to_install
from pacewright.reading.photographs import open_vision
from pacewright.reading.second_look import second_look

_HIGH_PX: Final = 48
"""The height of a line that the recogniser was taught with."""
_WIDE_PX: Final = 96
_BATCH: Final = 24
_PACKAGE: Final = "rapidocr"
_WEIGHTS: Final = "*_rec_*.onnx"


@dataclass(frozen=True, slots=True)
class _Look:
    """One way to show a digit: how high, how often side by side, how far it leans."""

    size_px: int
    times: int
    lean: float


_LOOKS: Final = (_Look(30, 2, 0.0), _Look(34, 1, 0.2))
"""A digit is shown more than once: where the recogniser wavers, its answers differ.

Of eight looks tried, one by one and together, on 900 digits from made photographs of real handwriting these
two together were as often right as any three.
"""


def digit_chances(inks: Sequence[np.ndarray]) -> np.ndarray:
    """The chance of every digit for every box.

    Parameters
    ----------
    inks
        What is written in each box, cut to it: arrays (rows, columns) of 0 to 1.

    Returns
    -------
    numpy.ndarray
        Array (boxes, 10); a row sums to at most 1: what is left is the chance that it is no digit.

    Raises
    ------
    MissingComplaint
        The recogniser is not installed.

    References
    ----------
    The recogniser: PP-OCRv6 by its authors, as packed in rapidocr 3.10; a line of text is read by
    connectionist temporal classification (A. Graves and others, 2006), whose chances are added up here.
    """
    if not inks:
        return np.zeros((0, 10))
    session, columns = _recogniser()
    first = np.asarray(sum(_seen(session, columns, inks, look) for look in _LOOKS) / len(_LOOKS))
    return _footed(_agreed(first, second_look(inks)), inks)


def _footed(chances: np.ndarray, inks: Sequence[np.ndarray]) -> np.ndarray:
    """Let a 9 that stands on a level foot be a 2 as well: both opinions take a looped 2 for a 9."""
    for own, ink in zip(chances, inks, strict=True):
        if own.argmax() == 9 and foot_share(ink) >= _FOOT:
            own[[2, 9]] = (own[2] + own[9]) / 2
    return chances


def foot_share(ink: np.ndarray) -> float:
    """How much of its width a digit stands on: what is written in its lowest part, from left to right."""
    low = np.flatnonzero((ink[int(len(ink) * (1 - _LOWEST)) :] > _INKED).any(axis=0))
    return float(low[-1] - low[0] + 1) / ink.shape[1] if len(low) else 0.0


_LOWEST: Final = 0.18
_INKED: Final = 0.4
_FOOT: Final = 0.6
"""Of 9s in one half of the test's hands 99 in 100 stand on less than 0.53 of their width."""


def _agreed(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    """What two opinions come to: chances multiplied, the second counting less."""
    log = (1 - _SECOND) * np.log(first + _FLOOR) + _SECOND * np.log(second + _FLOOR)
    both = np.exp(log - log.max(axis=1, keepdims=True))
    # Where the first sees no digit at all there is none.
    return np.asarray(both / both.sum(axis=1, keepdims=True) * first.sum(axis=1, keepdims=True))


_SECOND: Final = 0.28
_FLOOR: Final = 0.001
"""The weight of the second opinion, and what either takes for certain at most.

Chosen on 3,350 digits of one half of the test's hands; how well it reads is counted on the other half.
"""


def _seen(session: Any, columns: list[int], inks: Sequence[np.ndarray], look: _Look) -> np.ndarray:
    name = session.get_inputs()[0].name
    found = []
    for at in range(0, len(inks), _BATCH):
        lines = np.stack([_line(ink, look) for ink in inks[at : at + _BATCH]])
        shown = np.repeat((1 - 2 * lines)[:, None].astype(np.float32), 3, axis=1)
        (told,) = session.run(None, {name: shown})
        own = told[:, :, columns]
        seen = own.sum(axis=1) if look.times > 1 else own.max(axis=1)
        found.append(seen / np.maximum(seen.sum(axis=1), _LEAST_SEEN)[:, None])
    return np.concatenate(found)


_LEAST_SEEN: Final = 0.001
"""Less than so much of a digit at all is no digit, and no digit of it becomes sure."""


def _line(ink: np.ndarray, look: _Look) -> np.ndarray:
    """Show a digit in the middle of a line: array (48, width), 1 black."""
    cv2 = open_vision()
    if look.lean:
        more = int(look.lean * len(ink)) + 1
        matrix = np.array([[1, look.lean, 0], [0, 1, 0]], dtype=np.float32)
        ink = cv2.warpAffine(ink, matrix, (ink.shape[1] + more, ink.shape[0]))
    scale = look.size_px / max(ink.shape[0], 0.9 * ink.shape[1])
    size = max(3, round(ink.shape[1] * scale)), max(3, min(_HIGH_PX, round(ink.shape[0] * scale)))
    one = cv2.resize(ink, size, interpolation=cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC)
    gap = np.zeros((size[1], round(0.2 * look.size_px)), dtype=np.float32)
    word = np.hstack([one, *[gap, one] * (look.times - 1)])
    word = word[:, :_WIDE_PX]
    line = np.zeros((_HIGH_PX, _WIDE_PX), dtype=np.float32)
    top, left = (_HIGH_PX - word.shape[0]) // 2, (_WIDE_PX - word.shape[1]) // 2
    line[top : top + word.shape[0], left : left + word.shape[1]] = np.clip(word, 0, 1)
    return line


@functools.lru_cache(maxsize=1)
def _recogniser() -> tuple[Any, list[int]]:
    """The recogniser, and in which of its columns the digits stand."""
    try:
        import onnxruntime
    except ImportError:
        raise _missing() from None
    settings = onnxruntime.SessionOptions()
    settings.intra_op_num_threads = 2
    settings.log_severity_level = 3
    session = onnxruntime.InferenceSession(str(_weights()), settings, providers=["CPUExecutionProvider"])
    letters = session.get_modelmeta().custom_metadata_map["character"].splitlines()
    return session, [1 + letters.index(str(digit)) for digit in range(10)]


def _weights() -> Path:
    # Its folder is found without importing the package, which would load far more than its weights.
    found = importlib.util.find_spec(_PACKAGE)
    for folder in (found.submodule_search_locations or []) if found else []:
        for file in sorted(Path(folder).glob(f"models/{_WEIGHTS}")):
            return file
    raise _missing()


def _missing() -> MissingComplaint:
    return MissingComplaint("reading digits needs libraries that are not installed", how_to_install("read"))
