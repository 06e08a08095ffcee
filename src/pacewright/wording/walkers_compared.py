"""Two walkers side by side, in plain sentences and tables."""

from __future__ import annotations

from pacewright.answers.walkers_compared import PaceDifference, WalkersCompared
from pacewright.wording.adjusted_answer import Said
from pacewright.wording.numbers import say_length


def say_walkers_compared(found: WalkersCompared) -> Said:
    """Say how two walkers differ, what of it is more than chance, and show both their figures.

    >>> from pacewright.answers.walkers_compared import compare_walkers
    >>> from pacewright.core.pace.walker import Walker
    >>> two = compare_walkers(Walker("Ines", 60.0), Walker("Tam", 60.5))
    >>> say_walkers_compared(two).sentences[0]
    'Ines takes 60 paces to 100 m, Tam 60.5: no more than chance lies between them.'
    """
    one, other = (walker.name or "A walker" for walker in (found.one, found.other))
    lacking = [walker.name or "a walker" for walker in (found.one, found.other) if walker.per_100_m is None]
    first = [f"There is no pace count of {' and none of '.join(lacking)}."] if lacking else []
    first += [_say_pace(pace, one, other) for pace in found.paces if not pace.label]
    tables = [_figures(found, one, other)]
    if found.paces:
        tables.insert(0, _paces(found, one, other))
    return Said(tuple(first or ["They have no pace count in common."]), tuple(tables))


def _say_pace(pace: PaceDifference, one: str, other: str) -> str:
    counts = f"{one} takes {pace.one:g} paces to 100 m, {other} {pace.other:g}"
    if not pace.is_beyond_chance:
        return f"{counts}: no more than chance lies between them."
    way = "too far" if pace.off_in_1000_m > 0 else "too short"
    far = say_length(abs(pace.off_in_1000_m), "metre")
    return f"{counts}: {other} walking by the count of {one} would end {far} {way} on 1000 m."


def _paces(found: WalkersCompared, one: str, other: str) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    rows: list[tuple[str, ...]] = [
        (
            pace.label or "ordinary",
            f"{pace.one:.1f}",
            f"{pace.other:.1f}",
            f"{pace.one - pace.other:+.1f}",
            "" if not pace.sd else "yes" if pace.is_beyond_chance else "no",
        )
        for pace in found.paces
    ]
    return ("paces to 100 m", one, other, "difference", "more than chance"), rows


def _figures(found: WalkersCompared, one: str, other: str) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    def row(name: str, *values: float) -> tuple[str, ...]:
        return (name, *(f"{value:g}" for value in values))

    compasses = (found.one.compass, found.other.compass)
    counts = (found.one.count, found.other.count)
    return ("how they scatter", one, other), [
        row("a count, per cent", *(count.count_sd_pct for count in counts)),
        row("the pace count, known to per cent", *(count.scale_sd_pct for count in counts)),
        row("an azimuth walked, degrees", *(compass.azimuth_sd_deg for compass in compasses)),
        row("a bearing standing, degrees", *(compass.sighting_sd_deg for compass in compasses)),
        row("the compass of a day, degrees", *(compass.bias_sd_deg for compass in compasses)),
    ]
