"""What stands on paper: what to expect on a leg, and what to do to the dial."""

from __future__ import annotations

import pytest

from pacewright.ground.north import NorthRelation
from pacewright.wording.sheets import say_dial, say_expect, say_north
from support.logs import log_of


@pytest.mark.parametrize(
    ("notes", "told"),
    [
        ("", ""),
        ("[box left 30] bog", "box left: 30 out, 30 back; bog"),
        ("[est]", "estimated only, to 20 %"),
        ("[ground brush] [up] [cross stream]", "ground brush; up; cross a stream"),
        (
            "[on ridge] [faces NE] [alt 512 m]",
            "ends on a ridge; the ground there faces NE; its end lies at 512 m",
        ),
        ("[time 14:32] [was 52] [back 126] fence [at Oak]", "ends at Oak; fence"),
    ],
)
def test_what_to_expect_leaves_out_what_is_past(notes, told):
    assert say_expect(log_of((306, 100, notes)).legs[0], (), "degrees") == told


def test_a_bearing_from_the_end_is_in_the_unit_of_the_log():
    log = log_of((0, 100), (1600, "", "[see Fire tower]"), azimuth="grid mils")
    ((_, seen),) = log.sightings()
    assert say_expect(log.legs[0], (seen,), "mils") == "Fire tower bears 1600 from its end"
    assert say_north(log.heading) == "grid mils"


@pytest.mark.parametrize(
    ("declination_deg", "convergence_deg", "from_map", "to_map", "side"),
    [
        # G-M angle east: grid to magnetic takes away, magnetic to grid adds (FM 3-25.26, from memory).
        (10.0, 0.0, "take 10.0 deg away", "add 10.0 deg", "10.0 deg east of it, to the right"),
        (-10.0, 0.0, "add 10.0 deg", "take 10.0 deg away", "10.0 deg west of it, to the left"),
        (5.0, -2.0, "take 7.0 deg away", "add 7.0 deg", "7.0 deg east of it, to the right"),
        (3.0, 3.0, "leave it as it is", "leave it as it is", "along the grid lines"),
    ],
)
def test_the_dial_is_turned_by_the_grid_magnetic_angle(
    declination_deg, convergence_deg, from_map, to_map, side
):
    first, second, third = say_dial(NorthRelation(declination_deg, convergence_deg))
    assert first.startswith(f"From the map to the dial: {from_map}, ")
    assert second.startswith(f"From the dial to the map: {to_map}, ")
    assert side in third
