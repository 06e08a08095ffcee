"""Drawings of a log that does not close: the gap, the suspects, before and after."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import numpy as np
import pytest

from pacewright.core.adjust.adjustment import adjust
from pacewright.core.adjust.closure import find_closures
from pacewright.core.adjust.rule_adjustment import adjust_by_rule
from pacewright.core.slips.mistakes import find_mistakes
from pacewright.core.slips.place_mixture import find_islands
from pacewright.core.way.reckoning import reckon
from pacewright.drawing.reconciled import draw_adjusted, draw_findings
from support.logs import log_of

SLIPPED = ((0, 900), (90, 700), (180, 500), (270, 700, "[at Gate]"))
CLEAN = ((0, 900), (90, 700), (180, 905), (270, 700, "[at Gate]"))


def drawn(*rows):
    findings = find_mistakes(log_of(*rows, start="Gate"))
    posterior = findings.posterior
    reckoning = reckon(posterior.log, posterior.walker, posterior.frame)
    closures = find_closures(posterior.log, reckoning, posterior.observations)
    svg = draw_findings(findings, closures, find_islands(posterior, 2))
    return findings, " ".join(ET.fromstring(svg).itertext())


def test_suspects_are_other_figures_with_their_chance():
    findings, words = drawn(*SLIPPED)
    assert "other figure, chance" in words
    assert "misclosure" in words
    assert f"{100 * findings.suspects[0].probability:.0f} %" in words


def test_a_log_that_shows_no_mistake_is_drawn_without_suspects():
    findings, words = drawn(*CLEAN)
    assert findings.verdict == "none"
    assert "other figure, chance" not in words
    assert "misclosure" in words


def test_a_log_in_which_nothing_could_show_is_drawn_without_regions_of_suspects():
    findings, words = drawn(*SLIPPED[:3])
    assert not findings.observed
    assert "region of a suspect" not in words
    assert "region of a suspect" in drawn(*SLIPPED)[1]


@pytest.mark.parametrize("rule", [None, "compass", "transit"])
def test_before_and_after_stand_in_one_drawing(rule):
    log = log_of(*CLEAN, start="Gate")
    adjustment = adjust(log) if rule is None else adjust_by_rule(log, rule=rule)
    words = " ".join(ET.fromstring(draw_adjusted(log, adjustment)).itertext())
    assert "as walked" in words
    assert ("region of a station" in words) == (rule is None)
    assert np.allclose(adjustment.place[-1], 0, atol=0.2)
