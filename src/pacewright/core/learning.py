"""A walker's figures set right by adjusted logs, each with its uncertainty.

Known points tell the pace count and the compass bias, and only where the log shows them; closures and
bearings tell how counts, azimuths and bearings scatter. Old evidence counts for half after ten more
logs. A log that does not fit its own walker is set aside, and one that tells something odd is trusted
less, so that one bad log cannot spoil the rest.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjustment import Adjustment
from pacewright.core.frames import class_error_name, class_ratio_sd
from pacewright.core.log_evidence import LogEvidence, Scattered, Told, find_evidence
from pacewright.core.pace_walker import SCALE_SD_LEAST_PCT
from pacewright.core.scatter import CompassScatter, CountScatter
from pacewright.core.student import f_exceeded
from pacewright.core.walker import Evidence, PaceClass, Walker

Array = NDArray[np.float64]

HALF_LIFE_LOGS: Final = 10.0
"""Evidence counts for half after so many more logs: a season's walking (chosen)."""

SET_ASIDE_BELOW: Final = 0.01
"""A log that fits its walker worse than chance would have it one time in a hundred is set aside."""

DAY_BIAS_SD_DEG: Final = 0.5
"""However many logs, the compass bias of another day may be off by this much: half the step to which
a dial is read (assumed)."""

OUTLYING_SDS: Final = 3.0
"""One log's scatter is cut where it lies more than so many sds above what it should come to."""

FREEDOM: Final = 4.0
"""What a log tells is trusted as if its errors had tails of four degrees of freedom."""


@dataclass(frozen=True, slots=True)
class Change:
    """One figure before and after.

    Attributes
    ----------
    name, unit
        Such as `pace count`, `paces to 100 m`.
    before, before_sd, after, after_sd
        With the standard deviation of each.
    """

    name: str
    unit: str
    before: float
    before_sd: float
    after: float
    after_sd: float


@dataclass(frozen=True, slots=True)
class Learnt:
    """A walker after learning, what changed, and sentences on logs that told nothing or were set aside."""

    walker: Walker
    changes: tuple[Change, ...]
    said: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Belief:
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


def learn(walker: Walker, *adjustments: Adjustment) -> Learnt:
    """Give the walker that adjusted logs make of a walker, and what changed.

    Parameters
    ----------
    walker
        The walker before, with whom the logs were adjusted.
    adjustments
        The walker's own logs, the oldest first, each one once; in the map frame where they are to tell
        the pace count or the compass bias.
    """
    belief, said = _belief(walker), []
    for number, adjustment in enumerate(adjustments, start=1):
        which = "The log" if len(adjustments) == 1 else f"Log {number}"
        reason = _set_aside(adjustment, belief)
        if reason:
            said.append(f"{which} {reason}")
            continue
        evidence = find_evidence(adjustment, walker)
        belief = _weigh_in(_fade(belief, walker), evidence)
        if evidence.scale is None and evidence.bias is None:
            said.append(
                f"{which} tells neither pace count nor compass bias; it takes a known point for that."
            )
    return Learnt(_walker(walker, belief), tuple(_changes(walker, belief)), tuple(said))


def _set_aside(adjustment: Adjustment, belief: _Belief) -> str | None:
    if not adjustment.redundancy:
        return "has nothing that checks it and teaches nothing: no marker met again, no known point."
    freedom = min(belief.azimuth.freedom, belief.count.freedom)
    chance = f_exceeded(adjustment.misfit2 / adjustment.redundancy, adjustment.redundancy, freedom)
    if chance < SET_ASIDE_BELOW:
        return (
            "is set aside: it fits so badly that a mistake is likelier than scatter. Look for the mistake, "
            "mend the log, and learn from it then."
        )
    return None


def _belief(walker: Walker) -> _Belief:
    evidence = walker.evidence
    grounds = {class_error_name(one): Told(0.0, class_ratio_sd(one, walker) ** 2) for one in walker.classes}
    return _Belief(
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


def _fade(belief: _Belief, walker: Walker) -> _Belief:
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
        azimuth=_faded_scatter(belief.azimuth, Evidence().azimuth_freedom, share),
        count=_faded_scatter(belief.count, Evidence().count_freedom, share),
        sighting=_faded_scatter(belief.sighting, Evidence().sighting_freedom, share),
        logs=share * belief.logs,
    )


def _faded(variance: float, default: float, share: float) -> float:
    if variance >= default:
        return variance
    return 1.0 / (1.0 / default + share * (1.0 / variance - 1.0 / default))


def _faded_scatter(one: Scattered, default: float, share: float) -> Scattered:
    if one.freedom <= default:
        return one
    freedom = default + share * (one.freedom - default)
    return Scattered(one.squares * freedom / one.freedom, freedom)


def _weigh_in(belief: _Belief, evidence: LogEvidence) -> _Belief:
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


def _joined_bias(belief: _Belief, evidence: LogEvidence, told: Told) -> tuple[Array, float]:
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


def _walker(walker: Walker, belief: _Belief) -> Walker:
    if not belief.told:
        return walker
    compass, count = walker.compass, walker.count
    handling_deg = compass.bias_deg - compass.sighting_bias_deg
    sighting_bias_deg = compass.sighting_bias_deg + math.degrees(belief.bias[0])
    new_compass = replace(
        compass,
        azimuth_sd_deg=_scatter(compass.azimuth_sd_deg, belief.azimuth, compass.reading_interval_deg),
        sighting_sd_deg=_scatter(compass.sighting_sd_deg, belief.sighting, compass.reading_interval_deg),
    )
    if "bias" in belief.told:
        new_compass = replace(
            new_compass,
            bias_deg=round(sighting_bias_deg + handling_deg + math.degrees(belief.bias[1]), 3),
            sighting_bias_deg=round(sighting_bias_deg, 3),
            bias_sd_deg=round(_bias_sd_deg(belief), 3),
        )
    new_count = replace(count, count_sd_pct=_scatter(count.count_sd_pct, belief.count, 0.0))
    if "scale" in belief.told:
        new_count = replace(new_count, scale_sd_pct=round(_scale_sd_pct(belief), 3))
    longer = math.exp(-belief.scale.value) if "scale" in belief.told else 1.0
    return replace(
        walker,
        per_100_m=None if walker.per_100_m is None else round(walker.per_100_m * longer, 3),
        compass=new_compass,
        count=new_count,
        classes=tuple(_class(one, belief, longer) for one in walker.classes),
        origin=_origin(walker, belief),
        evidence=Evidence(
            logs=round(belief.logs, 3),
            azimuth_freedom=round(belief.azimuth.freedom, 3),
            count_freedom=round(belief.count.freedom, 3),
            sighting_freedom=round(belief.sighting.freedom, 3),
        ),
    )


def _class(one: PaceClass, belief: _Belief, longer: float) -> PaceClass:
    name = class_error_name(one)
    found = belief.grounds[name] if name in belief.told else Told(0.0, 0.0)
    per_100_m = one.per_100_m * longer / (1.0 + found.value)
    sd = one.per_100_m_sd * longer if name not in belief.told else math.sqrt(found.variance) * per_100_m
    return replace(one, per_100_m=round(per_100_m, 3), per_100_m_sd=round(sd, 3))


def _scatter(sd: float, one: Scattered, interval: float) -> float:
    """Give a scatter at its new level, what rounding adds left as it is."""
    rounding = interval**2 / 12.0
    return round(
        math.sqrt(max((0.1 * sd) ** 2, (sd**2 + rounding) * one.squares / one.freedom - rounding)), 3
    )


def _scale_sd_pct(belief: _Belief) -> float:
    return math.hypot(100.0 * math.sqrt(belief.scale.variance), SCALE_SD_LEAST_PCT)


def _bias_sd_deg(belief: _Belief) -> float:
    return math.hypot(math.degrees(math.sqrt(belief.bias_variance)), DAY_BIAS_SD_DEG)


_FIGURES: Final = {
    "scale": ("pace.per_100_m", "pace.scale_sd_pct"),
    "bias": ("compass.bias_deg", "compass.bias_sd_deg"),
    "azimuth": ("compass.azimuth_sd_deg",),
    "count": ("pace.count_sd_pct",),
    "sighting": ("compass.sighting_sd_deg",),
}
_BEGUN: Final = "; begun from: "


def _origin(walker: Walker, belief: _Belief) -> MappingProxyType[str, str]:
    """Say in the walker file where each figure learnt comes from, and what it began with."""
    origin = dict(walker.origin)
    of_grounds = {name: (f"pace.{name.replace(' ', '.')}",) for name in belief.grounds}
    for name, keys in {**_FIGURES, **of_grounds}.items():
        if name in belief.told:
            for key in keys:
                begun = origin.get(key, "the default, or as written").rsplit(_BEGUN, maxsplit=1)[-1]
                logs = f"{belief.logs:.1f} logs' worth, half of it forgotten every {HALF_LIFE_LOGS:g} logs"
                origin[key] = f"own logs ({logs}){_BEGUN}{begun}"
    return MappingProxyType(origin)


def _changes(walker: Walker, belief: _Belief) -> Sequence[Change]:
    after, found = _walker(walker, belief), []
    compass, count = walker.compass, walker.count
    if "scale" in belief.told and walker.per_100_m is not None and after.per_100_m is not None:
        before_sd, after_sd = (w.count.scale_sd_pct / 100.0 * (w.per_100_m or 0.0) for w in (walker, after))
        found.append(
            Change("pace count", "paces to 100 m", walker.per_100_m, before_sd, after.per_100_m, after_sd)
        )
    for before, now in zip(walker.classes, after.classes, strict=True):
        if before != now and class_error_name(before) in belief.told:
            name = class_error_name(before).removeprefix("ground ")
            sds = (class_ratio_sd(before, walker) * before.per_100_m, now.per_100_m_sd)
            found.append(
                Change(
                    f"pace count on {name}", "paces to 100 m", before.per_100_m, sds[0], now.per_100_m, sds[1]
                )
            )
    if "bias" in belief.told:
        new = after.compass
        found.append(
            Change(
                "compass bias", "deg", compass.bias_deg, compass.bias_sd_deg, new.bias_deg, new.bias_sd_deg
            )
        )
    evidence = walker.evidence
    for key, name, unit, sd, new_sd, old_freedom, new_freedom in (
        (
            *("azimuth", "scatter of azimuths", "deg", compass.azimuth_sd_deg, after.compass.azimuth_sd_deg),
            *(evidence.azimuth_freedom, belief.azimuth.freedom),
        ),
        (
            *("count", "scatter of counts", "%", count.count_sd_pct, after.count.count_sd_pct),
            *(evidence.count_freedom, belief.count.freedom),
        ),
        (
            *(
                "sighting",
                "scatter of bearings",
                "deg",
                compass.sighting_sd_deg,
                after.compass.sighting_sd_deg,
            ),
            *(evidence.sighting_freedom, belief.sighting.freedom),
        ),
    ):
        if key in belief.told:
            sds = (sd / math.sqrt(2.0 * old_freedom), new_sd / math.sqrt(2.0 * new_freedom))
            found.append(Change(name, unit, sd, sds[0], new_sd, sds[1]))
    return found
