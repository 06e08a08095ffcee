"""The keys of a graded class."""

from __future__ import annotations

import json
import math

from pacewright.files.grade_json import report_keys
from pacewright.wording.teaching import say_grade, say_learner
from support.taught_class import NAMES, taught_class


def keys() -> dict[str, object]:
    written = json.dumps(report_keys(taught_class(), say_grade, say_learner), allow_nan=False)
    read: dict[str, object] = json.loads(written)
    return read


def test_a_class_is_plain_json_without_anything_that_is_no_number() -> None:
    report = keys()
    assert {one["learner"] for one in report["learners"]} == set(NAMES)  # type: ignore[attr-defined, index]
    assert len(report["walks"]) == 5 * len(NAMES)  # type: ignore[arg-type]


def test_a_walk_holds_its_miss_its_suspects_its_mark_and_how_sure_it_is() -> None:
    for walk in keys()["walks"]:  # type: ignore[attr-defined]
        assert math.isclose(walk["miss"]["chance"], math.exp(-(walk["miss"]["multiple"] ** 2)), rel_tol=1e-9)
        assert 0.0 <= walk["luck"]["low"] <= walk["luck"]["high"] <= walk["full_marks"]
        assert all(0.0 <= slip["chance"] <= 1.0 + 1e-9 for slip in walk["suspects"])
        assert 0.0 <= walk["mark"] <= walk["full_marks"]


def test_a_learner_holds_every_figure_with_its_interval() -> None:
    for one in keys()["learners"]:  # type: ignore[attr-defined]
        for figure in ("bias_deg", "scale_pct", "azimuth_sd_deg", "count_sd_pct"):
            assert one[figure]["low"] < one[figure]["value"] < one[figure]["high"]
        assert one["place_low"] <= one["place"] <= one["place_high"]
