"""The cord of nine and four beads, in both customs. The customs themselves: common practice."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pacewright.core.pace.tally import BEADS_IN_CORD, Tally, count_of_tally, tally_of_count, whole_count
from pacewright.exceptions import ValueComplaint

moderate = settings(max_examples=150, deadline=None)


@pytest.mark.parametrize(
    ("count", "tally"),
    [
        (0, Tally(0, 0, 0)),
        (99, Tally(0, 0, 99)),
        (100, Tally(0, 1, 0)),
        (999, Tally(0, 9, 99)),
        (1000, Tally(1, 0, 0)),
        (1480, Tally(1, 4, 80)),
        (4999, Tally(4, 9, 99)),
    ],
)
def test_a_bead_is_a_hundred_paces_and_the_tenth_slides_an_upper_one(count, tally):
    assert tally_of_count(count) == tally
    assert count_of_tally(tally) == count


@pytest.mark.parametrize("quarters", range(-30, 31))
def test_a_half_goes_up_as_the_decimal_library_rounds_it(quarters):
    rounded = Decimal(quarters / 4).quantize(Decimal(1), ROUND_HALF_UP)
    assert whole_count(quarters / 4) == rounded


def test_a_half_that_was_worked_out_in_binary_is_a_half():
    """102.5 comes out as 102.49999999999999."""
    assert 2.05 * 50 < 102.5
    assert whole_count(2.05 * 50) == 103


def slide_beads(beads: int) -> tuple[int, int, int]:
    """Work the cord bead by bead, as the hand does: full cords, upper beads down, lower beads down."""
    cords = upper = lower = 0
    for _ in range(beads):
        lower += 1
        if lower == 10:
            lower, upper = 0, upper + 1
        if upper == 5:
            upper, cords = 0, cords + 1
    return cords, upper, lower


@moderate
@given(st.integers(0, 200))
def test_the_setting_is_that_of_beads_slid_one_by_one_past_a_full_cord(beads):
    tally = tally_of_count(100 * beads + 37)
    assert (tally.full_cords, tally.upper_beads, tally.hundreds) == slide_beads(beads)
    assert tally.paces == 37


def test_fifty_beads_leave_the_cord_empty_again():
    tally = tally_of_count(100 * BEADS_IN_CORD)
    assert (tally.full_cords, tally.upper_beads, tally.hundreds, tally.paces) == (1, 0, 0, 0)
    assert count_of_tally(tally) == 5000


@pytest.mark.parametrize("paces_per_bead", [62.5, 64.1, 58.3, 71, 120])
def test_in_the_custom_of_metres_a_bead_is_the_walkers_own_pace_count(paces_per_bead):
    for beads in (1, 3, 10, 27, 49, 50, 63):
        tally = tally_of_count(beads * paces_per_bead, paces_per_bead)
        assert (10 * tally.thousands + tally.hundreds, tally.paces) == (beads, 0)


@moderate
@given(st.floats(0, 999_999), st.floats(40, 160))
def test_a_count_comes_back_from_the_cord_in_either_custom(count, paces_per_bead):
    tally = tally_of_count(count, paces_per_bead)
    assert 0 <= tally.hundreds <= 9 and 0 <= tally.upper_beads <= 4
    assert 0 <= tally.paces < paces_per_bead
    assert count_of_tally(tally, paces_per_bead) == pytest.approx(count, abs=2e-7)


@pytest.mark.parametrize("count", [-1, float("nan"), float("inf"), 1_000_001])
def test_no_such_count_stands_on_a_cord(count):
    with pytest.raises(ValueComplaint) as raised:
        tally_of_count(count)
    assert str(raised.value) == f"{count:g} is not a count for a tally cord. Give 0 to 1,000,000 paces."


@pytest.mark.parametrize("worth", [0, -62.5, float("nan"), float("inf")])
def test_a_bead_of_no_worth_is_refused(worth):
    with pytest.raises(ValueComplaint) as raised:
        tally_of_count(100, worth)
    assert str(raised.value) == (
        f"a bead cannot be worth {worth:g} paces. Give 100, or your own pace count per 100 m."
    )
