"""What one log says of its walker, without what was believed before: the form that all sources give it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Told:
    """A value that a log tells, with the variance it would have if nothing had been believed before."""

    value: float
    variance: float


@dataclass(frozen=True, slots=True)
class Scattered:
    """How much something scattered: squares in the variance believed, over so many numbers' worth."""

    squares: float
    freedom: float


@dataclass(frozen=True, slots=True, eq=False)
class LogEvidence:
    """What one log tells, by its closures and known points or by its track; None where it does not.

    Attributes
    ----------
    scale
        Logarithm of the true length over the reckoned.
    bias
        Of the legs, in radians, beside what was already added.
    bias_weight, bias_pull
        The same for instrument and handling together, as information; shapes (2, 2) and (2,).
    grounds
        By the name of a class of ground, its factor beside the scale.
    azimuth, count, sighting
        Their scatter.
    """

    scale: Told | None
    bias: Told | None
    bias_weight: Array
    bias_pull: Array
    grounds: dict[str, Told]
    azimuth: Scattered
    count: Scattered
    sighting: Scattered


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A log that is not learnt from, and why: sentences that go on from its name, `is left out: ...`."""

    why: str
