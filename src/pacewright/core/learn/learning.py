"""A walker's figures set right by adjusted logs and compared tracks, each with its uncertainty.

Known points tell the pace count and the compass bias, and only where the log shows them; closures and
bearings tell how counts, azimuths and bearings scatter. A recorded track tells all but the bearings.
Old evidence counts for half after ten more logs. A log that does not fit its own walker, or its track,
is set aside, and one that tells something odd is trusted less, so that one bad log cannot spoil the rest.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

from pacewright.core.adjust.adjustment import Adjustment
from pacewright.core.learn.believed_figures import (
    FREEDOM,
    HALF_LIFE_LOGS,
    Belief,
    belief_of,
    bias_sd_deg,
    fade,
    scale_sd_pct,
    weigh_in,
)
from pacewright.core.learn.evidence import LeftOut, LogEvidence, Scattered, Told
from pacewright.core.learn.log_evidence import find_evidence
from pacewright.core.learn.track_evidence import TrackedWalk, find_track_evidence, ordinary_length
from pacewright.core.pace.student import f_exceeded, student_two_sided
from pacewright.core.pace.walker import Evidence, PaceClass, Walker
from pacewright.core.way.frames import ASSUMED_PACE_M, class_error_name, class_ratio_sd

SET_ASIDE_BELOW: Final = 0.01
"""A log that fits its walker worse than chance would have it one time in a hundred is set aside."""

ASSUMED_PACE_SD_PCT: Final = 15.0
"""How far the pace assumed of a walker never measured may be off (assumed): 1.3 to 1.75 m, two steps of a
short and of a long stride."""


Source = Adjustment | TrackedWalk | LeftOut
"""A log as it is learnt from: adjusted, beside its track, or not at all."""


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


def learn(walker: Walker, *logs: Source, names: Sequence[str] = ()) -> Learnt:
    """The walker that adjusted logs and compared tracks make of a walker, and what changed.

    Parameters
    ----------
    walker
        The walker before, with whom the logs were adjusted or compared.
    logs
        The walker's own logs, the oldest first, each one once: adjusted, in the map frame where it is to
        tell the pace count or the compass bias, or compared with its recorded track. One that is left out
        says why and teaches nothing.
    names
        What each log is called, such as its file; numbers if left out.
    """
    begun = _begun(walker, logs)
    belief, said = belief_of(begun), []
    for number, log in enumerate(logs, start=1):
        which = "The log" if len(logs) == 1 else names[number - 1] if names else f"Log {number}"
        told = _told(log, begun, belief)
        if isinstance(told, str):
            said.append(f"{which} {told}")
            continue
        belief = weigh_in(fade(belief, begun), told)
        if told.scale is None and told.bias is None:
            said.append(
                f"{which} tells neither pace count nor compass bias; it takes a known point for that."
            )
    if not belief.told:
        return Learnt(walker, (), tuple(said))
    if "scale" not in belief.told:
        begun = walker
    after = _walker(begun, belief)
    return Learnt(after, tuple(_changes(begun, after, belief)), tuple(said))


def _begun(walker: Walker, logs: Sequence[Source]) -> Walker:
    """The walker to begin with: a track can tell the pace count of one who was never measured."""
    tracks = [log for log in logs if isinstance(log, TrackedWalk)]
    if walker.per_100_m is not None or not any(ordinary_length(one) for one in tracks):
        return walker
    count = replace(walker.count, scale_sd_pct=ASSUMED_PACE_SD_PCT)
    origin = {**walker.origin, "pace.per_100_m": f"an assumed pace of {ASSUMED_PACE_M:g} m"}
    return replace(walker, per_100_m=100.0 / ASSUMED_PACE_M, count=count, origin=MappingProxyType(origin))


def _told(log: Source, walker: Walker, belief: Belief) -> LogEvidence | str:
    """What a log tells, or why it tells nothing."""
    if isinstance(log, LeftOut):
        return log.why
    if isinstance(log, TrackedWalk):
        return _told_by_track(log, walker, belief)
    return _told_by_adjustment(log, walker, belief)


def _told_by_adjustment(adjustment: Adjustment, walker: Walker, belief: Belief) -> LogEvidence | str:
    if not adjustment.redundancy:
        return "has nothing that checks it and teaches nothing: no marker met again, no known point."
    freedom = min(belief.azimuth.freedom, belief.count.freedom)
    chance = f_exceeded(adjustment.misfit2 / adjustment.redundancy, adjustment.redundancy, freedom)
    if chance < SET_ASIDE_BELOW:
        return (
            "is set aside: it fits so badly that a mistake is likelier than scatter. Look for the mistake, "
            "mend the log, and learn from it then."
        )
    return find_evidence(adjustment, walker)


def _told_by_track(tracked: TrackedWalk, walker: Walker, belief: Belief) -> LogEvidence | str:
    if not tracked.fits:
        return "is set aside: its track does not look like it. Check that both are of the same walk."
    turn = tracked.turn
    off_deg = math.degrees(turn.value - float(belief.bias.sum()))
    if _chance(off_deg, math.degrees(math.sqrt(turn.variance)), bias_sd_deg(belief)) < SET_ASIDE_BELOW:
        return (
            f"is set aside: all its azimuths are off by {abs(off_deg):.0f} deg, more than this compass is "
            "believed to be. Look for a wrong declination or for iron near the compass, mend the log, and "
            "learn from it then."
        )
    length = ordinary_length(tracked)
    if length is not None:
        off = length.value - belief.scale.value
        if _chance(100.0 * off, 100.0 * math.sqrt(length.variance), scale_sd_pct(belief)) < SET_ASIDE_BELOW:
            return (
                f"is set aside: its legs are {math.exp(off):.2f} times as long as counted, more than this "
                "pace count is believed to be off. Look for steps counted as paces, mend the log, and learn "
                "from it then."
            )
    return find_track_evidence(tracked, walker)


def _chance(off: float, *sds: float) -> float:
    """The chance of being off so far, by what a log tells and what was believed together."""
    return student_two_sided(abs(off) / math.hypot(*sds), FREEDOM)


def _walker(walker: Walker, belief: Belief) -> Walker:
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
            bias_sd_deg=round(bias_sd_deg(belief), 3),
        )
    new_count = replace(count, count_sd_pct=_scatter(count.count_sd_pct, belief.count, 0.0))
    if "scale" in belief.told:
        new_count = replace(new_count, scale_sd_pct=round(scale_sd_pct(belief), 3))
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


def _class(one: PaceClass, belief: Belief, longer: float) -> PaceClass:
    name = class_error_name(one)
    found = belief.grounds[name] if name in belief.told else Told(0.0, 0.0)
    per_100_m = one.per_100_m * longer / (1.0 + found.value)
    sd = one.per_100_m_sd * longer if name not in belief.told else math.sqrt(found.variance) * per_100_m
    return replace(one, per_100_m=round(per_100_m, 3), per_100_m_sd=round(sd, 3))


def _scatter(sd: float, one: Scattered, interval: float) -> float:
    """A scatter at its new level, what rounding adds left as it is."""
    rounding = interval**2 / 12.0
    return round(
        math.sqrt(max((0.1 * sd) ** 2, (sd**2 + rounding) * one.squares / one.freedom - rounding)), 3
    )


_FIGURES: Final = {
    "scale": ("pace.per_100_m", "pace.scale_sd_pct"),
    "bias": ("compass.bias_deg", "compass.bias_sd_deg"),
    "azimuth": ("compass.azimuth_sd_deg",),
    "count": ("pace.count_sd_pct",),
    "sighting": ("compass.sighting_sd_deg",),
}
_BEGUN: Final = "; begun from: "


def _origin(walker: Walker, belief: Belief) -> MappingProxyType[str, str]:
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


def _changes(walker: Walker, after: Walker, belief: Belief) -> Sequence[Change]:
    found = []
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
