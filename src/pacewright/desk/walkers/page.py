"""What the page of a walker shows: its figures, its trials as the command tells them, its earlier states."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from pacewright.core.pace.pace_table import PIN_PCT
from pacewright.core.pace.walker import Walker
from pacewright.desk.models import KeptWalker, WalkerPast
from pacewright.desk.walkers.trial_table import calibrate, kept_table
from pacewright.exceptions import Complaint

COMPASS: Final = {
    "azimuth_sd_deg": "Azimuth walked, scatter in degrees",
    "bias_sd_deg": "Compass bias of a day, in degrees",
    "sighting_sd_deg": "Bearing taken standing, scatter in degrees",
}
"""Figures of the compass that can be typed, and what they are called."""


@dataclass(frozen=True, slots=True)
class CompassField:
    """One figure of the compass: its key, its name, what stands in it, where it is from, what is wrong."""

    key: str
    label: str
    text: str
    origin: str = ""
    wrong: str = ""


@dataclass(frozen=True, slots=True)
class PastState:
    """An earlier state, or why it cannot be read."""

    kept: WalkerPast
    said: tuple[str, ...]
    runs: int


def stands_now(walker: Walker) -> dict[str, Any]:
    """A walker's figures for the page: the sentences, and the rows of the pace table."""
    from pacewright.wording.walker import say_figures, walker_class_rows

    heading, rows = walker_class_rows(walker)
    return {"said": say_figures(walker), "heading": heading, "rows": rows}


def compass_fields(
    walker: Walker, typed: Mapping[str, str] | None = None, wrong: Mapping[str, str] | None = None
) -> list[CompassField]:
    """The fields of the compass, with what was typed into them where that is no figure."""
    fields = []
    for key, label in COMPASS.items():
        text = typed[key] if typed else f"{getattr(walker.compass, key):g}"
        origin = walker.origin.get(f"compass.{key}", "the default, or as the file has it")
        fields.append(CompassField(key, label, text, origin, (wrong or {}).get(key, "")))
    return fields


def said_trials(kept: KeptWalker) -> dict[str, Any]:
    """What `pacewright calibrate` says and draws of the kept trials, or nothing without trials."""
    if not kept.trials_csv.strip():
        return {}
    from pacewright.drawing.charts import draw_pace_trials
    from pacewright.wording.pacing import calibration_rows, say_calibration

    try:
        found = calibrate(kept_table(kept.trials_csv, 0))
        heading, rows = calibration_rows(found.table, PIN_PCT)
    except Complaint as complaint:
        return {"trials_wrong": complaint}
    return {
        "trials_said": say_calibration(found.table, found.ordinary, PIN_PCT),
        "trials_heading": heading,
        "trials_rows": rows,
        "trials_figure": draw_pace_trials(found.table, f"Pace trials, {kept.name}"),
        "trials_classes": [one.label for one in found.table.classes],
        "trials_ordinary": found.ordinary.label,
    }


def past_states(kept: KeptWalker) -> list[PastState]:
    """Every earlier state, the latest first, with its figures in a sentence each."""
    return [PastState(past, _said(past), _runs(past)) for past in kept.past.all()]


def _said(past: WalkerPast) -> tuple[str, ...]:
    from pacewright.files.walker_toml import read_walker
    from pacewright.wording.walker import say_figures

    try:
        return tuple(say_figures(read_walker(past.toml.encode("utf-8"))))
    except Complaint as complaint:
        return (complaint.sentence,)


def _runs(past: WalkerPast) -> int:
    try:
        return len(kept_table(past.trials_csv, 0).rows)
    except Complaint:
        return 0
