"""What is said of a log on the map, and beside a recorded track."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pacewright.core.pace.walker import Walker
from pacewright.exceptions import MissingComplaint
from pacewright.ground.grid_text import parse_place
from pacewright.wording.placing import (
    mgrs_digits,
    say_disagreement,
    say_lat_lon,
    say_mgrs,
    say_norths,
    say_not_placed,
    say_not_reached,
    say_placed,
    say_written,
)
from support.logs import log_of
from support.placed import placed_log, small_walk


def as_sure_as(reach_m):
    """A placed log whose stations all reach so far, 95 times in 100."""
    _, placed = small_walk("46.1234567 9.7654321")
    # sqrt(-2 ln 0.05) = 2.4477 standard deviations.
    covariance = np.broadcast_to((reach_m / 2.4477) ** 2 * np.eye(2), placed.covariance_m2.shape)
    return replace(placed, covariance_m2=covariance)


@pytest.mark.parametrize(
    ("reach_m", "digits", "degrees"),
    [
        (0.5, 5, "46.123457 N 9.765432 E"),
        (9, 5, "46.12346 N 9.76543 E"),
        (12, 4, "46.1235 N 9.7654 E"),
        (120, 3, "46.123 N 9.765 E"),
        (9_999, 2, "46.12 N 9.77 E"),
        (200_000, 0, "46 N 10 E"),
    ],
)
def test_a_place_is_written_no_finer_than_it_is_sure(reach_m, digits, degrees):
    placed = as_sure_as(reach_m)
    assert mgrs_digits(placed, 0, 0.95) == digits
    assert say_lat_lon(placed, 0, 0.95) == degrees
    assert len(say_mgrs(placed, 0, 0.95).replace(" ", "")) == 5 + 2 * digits


def test_grid_azimuths_are_left_alone():
    log = log_of((0, 100), azimuth="grid degrees", count="metres")
    placed = placed_log(log, start=parse_place("46.5000000 12.0000000"))
    assert say_norths(log, placed) == "The log's azimuths are grid azimuths: nothing was added to them."


def test_what_is_given_by_rule_and_what_holds_is_told():
    log = log_of((0, 100), azimuth="true degrees", count="metres", more=["known: Gate = 17S 500000 4100000"])
    said = " ".join(say_placed(log, placed_log(log), 0.95))
    assert "S behind the zone was read as the band S (32 to 40 north)" in said
    assert "This rests on Gate." in said


def test_disagreement_is_told_below_one_in_a_hundred_only():
    _, placed = small_walk()
    assert say_disagreement(replace(placed, chance=0.011)) == []
    (said,) = say_disagreement(replace(placed, chance=0.0042))
    assert "scatter alone misses by so much once in 240" in said
    (never,) = say_disagreement(replace(placed, chance=1e-12))
    assert "less than once in 1,000" in never


def test_points_not_reached_are_named():
    _, placed = small_walk()
    assert say_not_reached(placed) == []
    (said,) = say_not_reached(replace(placed, not_reached=("Tower", "Ford")))
    assert said == "Known, and of no use here: Tower, Ford."


def test_what_was_written_says_in_which_coordinates():
    _, placed = small_walk()
    assert say_written("a.csv", None) == "Written: a.csv (east and north from the start)"
    assert say_written("a.csv", placed) == "Written: a.csv (on the map, UTM zone 32 north, by Gate)"


def test_why_a_log_has_no_place_is_told():
    with pytest.raises(MissingComplaint) as refused:
        placed_log(log_of((0, 100)), Walker(), start=parse_place("46 9"))
    assert say_not_placed(refused.value).startswith("Not placed on the map: the azimuths are magnetic")
