"""Two cards or rows exchanged, where a plan is known; the walks are laid out by plain trigonometry."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from pacewright.core.slips.corrected_log import accept_suspect
from pacewright.core.slips.mistakes import find_mistakes
from pacewright.core.slips.slips import find_slips
from pacewright.exceptions import MissingComplaint
from pacewright.files.log_csv import read_log
from support.logs import log_of

PLAN = [(10, 600), (52, 500), (95, 400), (180, 300), (120, 500), (250, 700)]
SWAPPED = [PLAN[0], PLAN[2], PLAN[1], *PLAN[3:]]


def logged(written, walked, known_at, rng=None):
    """A log of legs as written, one station of which is known where the legs walked lead."""
    east = north = 0.0
    for azimuth, count in walked[:known_at]:
        if rng is not None:
            azimuth, count = azimuth + 2.5 * rng.standard_normal(), count * (1 + 0.05 * rng.standard_normal())
        east += count * math.sin(math.radians(azimuth))
        north += count * math.cos(math.radians(azimuth))
    rows = [f"{azimuth},{count}," for azimuth, count in written]
    rows[known_at - 1] += "[at Barn]"
    known = f"# known: Barn = local {east:.0f} {north:.0f} +-10 m"
    head = f"# start: Gate\n# count: metres\n{known}\nazimuth,count,notes\n"
    return read_log((head + "\n".join(rows) + "\n").encode())


def planned(rows=PLAN, head="# count: metres\n"):
    return read_log((head + "azimuth,count,notes\n" + "".join(f"{a},{c},\n" for a, c in rows)).encode())


@pytest.mark.parametrize(("written", "walked"), [(SWAPPED, PLAN), (PLAN, SWAPPED)])
def test_rows_or_cards_exchanged_are_found_where_something_between_them_shows_it(written, walked):
    log = logged(written, walked, 2)
    found = find_mistakes(log, plan=planned())
    assert found.verdict == "mistake"
    first = found.suspects[0]
    assert (first.kind, first.legs) == ("rows_exchanged", (2, 3))
    assert first.probability > 0.9
    corrected = accept_suspect(log, first)
    assert [(leg.azimuth_deg, leg.count) for leg in corrected.legs] == walked
    assert "[was " in corrected.legs[1].cells.notes and "[at Barn]" in corrected.legs[1].cells.notes
    assert find_mistakes(corrected, plan=planned()).verdict == "none"
    total = sum(one.probability for one in found.suspects) + found.posterior.none_probability
    assert total == pytest.approx(1)


def test_cards_exchanged_in_walking_and_written_truly_are_no_mistake():
    assert find_mistakes(logged(SWAPPED, SWAPPED, 2), plan=planned()).mistake_probability < 0.2


def test_where_nothing_between_them_shows_it_neither_is_believed_to_be_sure():
    """Rows in the other order than the cards: written wrongly or walked so, as likely as not."""
    found = find_mistakes(logged(SWAPPED, PLAN, 4), plan=planned())
    chance = dict(found.by_kind)["rows_exchanged"]
    assert 0.5 < chance / (1 - found.mistake_probability) < 1.5


def test_without_a_plan_no_rows_are_exchanged():
    log = logged(SWAPPED, PLAN, 2)
    assert not [slip for slip in find_slips(log) if slip.kind == "rows_exchanged"]
    assert dict(find_mistakes(log).by_kind)["rows_exchanged"] == 0


def test_a_row_that_leaves_its_card_is_the_likelier_suspect():
    tallied = [*PLAN[:2], (95, 500), *PLAN[3:]]
    log = logged(tallied, PLAN, 4)
    with_plan, without = (find_mistakes(log, plan=plan).suspects for plan in (planned(), None))
    (there,) = [one.probability for one in with_plan if one.legs == (3,) and one.kind == "tally_added"]
    (here,) = [one.probability for one in without if one.legs == (3,) and one.kind == "tally_added"]
    assert there > 3 * here


def test_the_chances_of_a_pair_sum_to_one_and_halve_between_neighbours_and_the_rest():
    slips = [slip for slip in find_slips(log_of(*PLAN), follows_plan=True) if slip.kind == "rows_exchanged"]
    assert [slip.legs for slip in slips] == sorted(
        itertools.combinations(range(1, 7), 2), key=lambda p: p[::-1]
    )
    near = sum(math.exp(slip.place_weight) for slip in slips if slip.legs[1] == slip.legs[0] + 1)
    assert near == pytest.approx(0.5)
    assert sum(math.exp(slip.place_weight) for slip in slips) == pytest.approx(1)


def test_few_honest_logs_are_accused_of_an_exchange():
    rng, accused = np.random.default_rng(5), 0
    for _ in range(60):
        log = logged(PLAN, PLAN, int(rng.integers(2, 6)), rng)
        accused += dict(find_mistakes(log, plan=planned()).by_kind)["rows_exchanged"] > 0.5
    assert accused <= 1


@pytest.mark.parametrize(
    ("plan", "words"),
    [
        (planned(PLAN[:5]), "the plan has 5 legs and the log 6"),
        (planned(head="# count: paces\n"), "the plan is in magnetic azimuths and paces"),
    ],
)
def test_the_plan_of_another_walk_is_refused(plan, words):
    with pytest.raises(MissingComplaint, match=words):
        find_mistakes(logged(PLAN, PLAN, 2), plan=plan)
