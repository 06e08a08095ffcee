"""What is believed of a walker while learning: it fades, and what a log tells is weighed in.

Old evidence counts for half after ten more logs. What tells something odd is trusted less, so that one
bad log cannot spoil the rest.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.learn.evidence import LogEvidence, Scattered, Told
from pacewright.core.pace.pace_walker import SCALE_SD_LEAST_PCT
from pacewright.core.pace.scatter import CompassScatter, CountScatter
from pacewright.core.pace.walker import Evidence, Walker
from pacewright.core.way.frames import class_error_name, class_ratio_sd

Array = NDArray[np.float64]

HALF_LIFE_LOGS: Final = 10.0
"""Evidence counts for half after so many more logs: a season's walking (chosen)."""

DAY_BIAS_SD_DEG: Final = 0.5
"""However many logs, the compass bias of another day may be off by this much: half the step to which
a dial is read (assumed)."""

OUTLYING_SDS: Final = 3.0
"""One log's scatter is cut where it lies more than so many sds above what it should come to."""

FREEDOM: Final = 4.0
"""What a log tells is trusted as if its errors had tails of four degrees of freedom."""


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """What is believed of a walker, as changes from the figures before learning.

    Scale and grounds are logarithms or fractions, bias is of instrument and handling in radians; the
    variances are without what changes from day to day. A scatter is its variance over that before.
    """

    scale: Told
    bias: Array
    bias_variance: float
    grounds: dict[str, Told]
    azimuth: Scattered
    count: Scattered
    sighting: Scattered
    logs: float
    told: frozenset[str] = field(default=frozenset())


def belief_of(walker: Walker) -> Belief:
    """What a walker's figures say before any log."""
    evidence = walker.evidence
    grounds = {class_error_name(one): Told(0.0, class_ratio_sd(one, walker) ** 2) for one in walker.classes}
    return Belief(
        scale=Told(0.0, _without_day(walker.count.scale_sd_pct, SCALE_SD_LEAST_PCT) / 1e4),
        bias=np.zeros(2),
        bias_variance=math.radians(1.0) ** 2 * _without_day(walker.compass.bias_sd_deg, DAY_BIAS_SD_DEG),
        grounds=grounds,
        azimuth=Scattered(evidence.azimuth_freedom, evidence.azimuth_freedom),
        count=Scattered(evidence.count_freedom, evidence.count_freedom),
        sighting=Scattered(evidence.sighting_freedom, evidence.sighting_freedom),
        logs=evidence.logs,
    )


def _without_day(sd: float, day_sd: float) -> float:
    # A figure surer than one day is from another was measured that day; it keeps a little doubt.
    return max(sd**2 - day_sd**2, (0.1 * sd) ** 2, 1e-12)


def fade(belief: Belief, walker: Walker) -> Belief:
    """Let what was known count a little less, but never less than the default."""
    share = 0.5 ** (1.0 / HALF_LIFE_LOGS)
    default_scale = _without_day(CountScatter().scale_sd_pct, SCALE_SD_LEAST_PCT) / 1e4
    default_bias = math.radians(1.0) ** 2 * _without_day(CompassScatter().bias_sd_deg, DAY_BIAS_SD_DEG)
    bias_variance = _faded(belief.bias_variance, default_bias, share)
    compass = walker.compass
    held = np.radians([compass.sighting_bias_deg, compass.bias_deg - compass.sighting_bias_deg])
    # The default is a bias of nothing: what was found moves back to it as it fades.
    kept = share * bias_variance / belief.bias_variance if bias_variance > belief.bias_variance else 1.0
    return replace(
        belief,
        scale=Told(belief.scale.value, _faded(belief.scale.variance, default_scale, share)),
        bias=kept * (belief.bias + held) - held,
        bias_variance=bias_variance,
        grounds={name: _faded_ground(one, share) for name, one in belief.grounds.items()},
        azimuth=_faded_scatter(belief.azimuth, Evidence().azimuth_freedom, share),
        count=_faded_scatter(belief.count, Evidence().count_freedom, share),
        sighting=_faded_scatter(belief.sighting, Evidence().sighting_freedom, share),
        logs=share * belief.logs,
    )


def _faded(variance: float, default: float, share: float) -> float:
    if variance >= default:
        return variance
    return 1.0 / (1.0 / default + share * (1.0 / variance - 1.0 / default))


def _faded_ground(one: Told, share: float) -> Told:
    # The ordinary ground under a name of its own is no guess that could grow old.
    if one.variance <= 0:
        return one
    return Told(one.value, _faded(one.variance, (CountScatter().scale_sd_pct / 100.0) ** 2, share))


def _faded_scatter(one: Scattered, default: float, share: float) -> Scattered:
    if one.freedom <= default:
        return one
    freedom = default + share * (one.freedom - default)
    return Scattered(one.squares * freedom / one.freedom, freedom)


def weigh_in(belief: Belief, evidence: LogEvidence) -> Belief:
    """What is believed when one more log has told what it tells."""
    told = set(belief.told)
    scale, bias, bias_variance = belief.scale, belief.bias, belief.bias_variance
    if evidence.scale is not None:
        told.add("scale")
        scale = _joined(scale, evidence.scale, (SCALE_SD_LEAST_PCT / 100.0) ** 2)
    if evidence.bias is not None:
        told.add("bias")
        bias, bias_variance = _joined_bias(belief, evidence, evidence.bias)
    grounds = dict(belief.grounds)
    for name, new in evidence.grounds.items():
        told.add(name)
        grounds[name] = _joined(grounds[name], new, 0.0)
    for name, one in (
        ("azimuth", evidence.azimuth),
        ("count", evidence.count),
        ("sighting", evidence.sighting),
    ):
        if one.freedom > 0.01:
            told.add(name)
    return replace(
        belief,
        scale=scale,
        bias=bias,
        bias_variance=bias_variance,
        grounds=grounds,
        azimuth=_added(belief.azimuth, evidence.azimuth),
        count=_added(belief.count, evidence.count),
        sighting=_added(belief.sighting, evidence.sighting),
        logs=belief.logs + 1.0,
        told=frozenset(told),
    )


def _trust(off: float, variance: float) -> float:
    return min(1.0, (FREEDOM + 1.0) / (FREEDOM + off**2 / variance))


def _joined(old: Told, new: Told, day_variance: float) -> Told:
    """Join what was believed with what a log tells, the odder the less."""
    variance = new.variance + day_variance
    off = new.value - old.value
    variance /= _trust(off, old.variance + variance)
    gain = old.variance / (old.variance + variance)
    return Told(old.value + gain * off, (1.0 - gain) * old.variance)


def _joined_bias(belief: Belief, evidence: LogEvidence, told: Told) -> tuple[Array, float]:
    variance = told.variance + math.radians(DAY_BIAS_SD_DEG) ** 2
    trust = _trust(told.value - float(belief.bias.sum()), belief.bias_variance + variance)
    share = trust * told.variance / variance
    before = 2.0 / belief.bias_variance * np.eye(2)
    covariance = np.linalg.inv(before + share * evidence.bias_weight)
    bias: Array = covariance @ (before @ belief.bias + share * evidence.bias_pull)
    return bias, float(covariance.sum())


def _added(old: Scattered, new: Scattered) -> Scattered:
    # Only what is clearly outlying is cut: to weigh all that is large would bring every scatter down.
    if new.freedom <= 0:
        return old
    level = old.squares / old.freedom
    most = level * (new.freedom + OUTLYING_SDS * math.sqrt(2.0 * new.freedom))
    trust = min(1.0, most / new.squares) if new.squares > 0 else 1.0
    return Scattered(old.squares + trust * new.squares, old.freedom + trust * new.freedom)


def scale_sd_pct(belief: Belief) -> float:
    """How far the pace count may be off on another day, in per cent."""
    return math.hypot(100.0 * math.sqrt(belief.scale.variance), SCALE_SD_LEAST_PCT)


def bias_sd_deg(belief: Belief) -> float:
    """How far the compass may be off on another day, in degrees."""
    return math.hypot(math.degrees(math.sqrt(belief.bias_variance)), DAY_BIAS_SD_DEG)
