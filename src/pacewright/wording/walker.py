"""A walker's own figures in plain sentences."""

from __future__ import annotations

from pacewright.core.pace.pace_trials import looks_like_steps, paces_from_steps, steps_from_paces
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.wording.numbers import say_whole


def say_figures(walker: Walker) -> list[str]:
    """Say a walker's figures: the pace count, how counts scatter, the compass.

    >>> say_figures(Walker())[0]
    'No pace count yet: lengths stay in paces. Pace trials give one.'
    """
    compass, count = walker.compass, walker.count
    return [
        _say_pace_count(walker),
        f"A leg's count scatters by {count.count_sd_pct:g} %, by {_paces(count.count_floor)} at least.",
        f"Compass: an azimuth walked scatters by {compass.azimuth_sd_deg:g} deg, a bearing taken standing by "
        f"{compass.sighting_sd_deg:g} deg; the compass may be off by {compass.bias_sd_deg:g} deg all day.",
        *_say_found_bias(walker),
        *say_doubtful_figures(walker),
    ]


def say_doubtful_figures(walker: Walker) -> list[str]:
    """Say which pace counts of a walker file look like steps, as calibrating asks of a level count.

    >>> say_doubtful_figures(Walker(per_100_m=144.0))
    ['Were steps counted? pace.per_100_m = 144 looks like steps. A pace is two steps: if so, write 72.']
    """
    figures = [("pace", walker.per_100_m)]
    figures += [(_key(one), one.per_100_m) for one in walker.classes if one.slope in (None, "level")]
    return [
        f"Were steps counted? {key}.per_100_m = {per_100_m:g} looks like steps. A pace is two steps: if so, write "
        f"{paces_from_steps(per_100_m):g}."
        for key, per_100_m in figures
        if per_100_m is not None and looks_like_steps(per_100_m)
    ]


def _key(one: PaceClass) -> str:
    ground = f"pace.ground.{one.ground}" if one.ground else "pace.slope"
    return f"{ground}.{one.slope}" if one.slope else ground


def _paces(length: float) -> str:
    return f"{length:g} pace{'' if length == 1 else 's'}"


def _say_pace_count(walker: Walker) -> str:
    if walker.per_100_m is None:
        return "No pace count yet: lengths stay in paces. Pace trials give one."
    return (
        f"{walker.per_100_m:g} paces to 100 m ({say_whole(steps_from_paces(walker.per_100_m))} steps), known to "
        f"{walker.count.scale_sd_pct:g} %."
    )


def _say_found_bias(walker: Walker) -> list[str]:
    if not walker.compass.bias_deg:
        return []
    return [
        f"On the map {walker.compass.bias_deg:+.1f} deg is added to every azimuth walked: known points have told so."
    ]


def walker_class_rows(walker: Walker) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """The pace table of a walker file as a heading and rows of text; no rows where it has none.

    >>> walker_class_rows(Walker(classes=(PaceClass("brush", None, None, 71.0, runs=4),)))[1]
    [('brush', '71', '4')]
    """
    rows: list[tuple[str, ...]] = [
        (_label(one), f"{one.per_100_m:g}", str(one.runs) if one.runs else "") for one in walker.classes
    ]
    return ("ground, slope", "paces to 100 m", "runs"), rows


def _label(one: PaceClass) -> str:
    return ", ".join(part for part in (one.ground or "ordinary ground", one.slope or "") if part)
