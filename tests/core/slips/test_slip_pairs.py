"""Two slips in one log: found where the observations can carry them, and never stealing one slip."""

from __future__ import annotations

import numpy as np

from pacewright.core.slips.mistake_search import search_slips
from pacewright.core.slips.slip_pairs import find_pairs
from pacewright.files.log_csv import read_log
from support.logs import log_of, walker_like
from support.made_logs import draw_log

WALKER = walker_like()


def test_two_slips_on_either_side_of_a_known_point_are_both_found():
    rows = [(0, 500), (90, 900), (45, 400, "[at Hut]"), (180, 700), (250, 600), (290, 779, "[at Gate]")]
    places = [np.array([np.sin(np.radians(a)), np.cos(np.radians(a))]) * c * 1.6 for a, c, *_ in rows]
    east, north = np.sum(places[:3], axis=0)
    rows[1], rows[4] = (270, 900), (70, 600)
    log = log_of(*rows, more=[f"known: Hut = local {east:.0f} {north:.0f} +-5 m"])
    pairs = find_pairs(search_slips(log, WALKER))
    assert pairs.suspects_two
    assert pairs.pairs[0].legs == (2, 5)
    assert [slip.kind for slip in pairs.pairs[0].slips] == ["azimuth_reversed"] * 2


def test_one_slip_is_not_taken_for_two():
    """20 loops with one mistake each."""
    rng = np.random.default_rng(1)
    for _ in range(20):
        made = draw_log(rng, "loop", 8, known=True)
        assert not find_pairs(search_slips(read_log(made.text.encode()), WALKER)).suspects_two


def test_the_chances_of_pairs_of_legs_are_part_of_one():
    made = draw_log(np.random.default_rng(2), "loop", 6, known=True)
    posterior = search_slips(read_log(made.text.encode()), WALKER)
    pairs = find_pairs(posterior, most=1000)
    assert abs(sum(pair.probability for pair in pairs.pairs) - 1) < 1e-9
    both = [pair.legs for pair in pairs.pairs if None not in pair.legs]
    assert both
    assert all(first < second for first, second in both)


def test_a_log_with_nothing_observed_has_no_pairs():
    pairs = find_pairs(search_slips(log_of((0, 500), (90, 400))))
    assert pairs.pairs == ()
    assert not pairs.suspects_two
