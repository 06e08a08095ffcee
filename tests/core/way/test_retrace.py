"""The way back leg by leg: boxings, remarks and counts turned round, and where it comes out."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pacewright.core.compass import back_azimuth, parse_azimuth
from pacewright.core.log.remarks import Altitude, At, BackReading, Faces, LegSlope, StationOn
from pacewright.core.log.travel_log import Note, Sighting
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.core.way.reckoning import reckon
from pacewright.core.way.regions import Region
from pacewright.core.way.retrace import retrace, retrace_covariance
from pacewright.exceptions import ValueComplaint
from pacewright.files.log_csv import read_log, write_log
from support.authorities import read_authority
from support.logs import log_of, walker_like
from support.simulator import USUAL, draw_routes, walk, walk_instruction, write_log_text

UP = PaceClass("", "up", None, 70.0, per_100_m_sd=3.0)
DOWN = PaceClass("", "down", None, 56.0, per_100_m_sd=2.0)
HILLY = walker_like(USUAL, UP, DOWN)

LOG = log_of(
    (346, "", "[see Fire tower]"),
    (305, 240, "[box right 40] pond; [down]"),
    ("", "", "wet here [on stream]"),
    (38, 185, "[at Split oak] dry so far [faces NE]"),
    (52, "", "[see Fire tower] between two firs"),
    (97, 70, "[est 15%] river [cross stream] [alt 512 m]"),
    ("S40W", 330, "[at Cinder Fen] [ground brush]"),
    (10, "", "[see Fire tower]"),
)


def legs_of(log):
    return [(leg.azimuth_deg, leg.count, leg.at_name) for leg in log.legs]


def test_the_legs_come_in_reverse_by_their_back_azimuths():
    assert legs_of(retrace(LOG)) == [
        (40.0, 330.0, None),
        (277.0, 70.0, "Split oak"),
        (218.0, 185.0, None),
        (125.0, 240.0, "Gate"),
    ]
    assert retrace(LOG).heading.start == "Cinder Fen"


@pytest.mark.parametrize(
    "source", ["back_bearings_loop.csv", "back_bearings_open.csv", "back_bearings_quadrants.csv"]
)
def test_back_azimuths_are_the_printed_ones(source):
    for row in read_authority(source):
        (leg,) = retrace(log_of((row["corrected_fore"], 100))).legs
        assert leg.azimuth_deg == pytest.approx(parse_azimuth(row["corrected_back"]), abs=1e-4), row["leg"]


def test_a_box_on_the_right_lies_on_the_left_when_coming_back():
    (leg,) = retrace(log_of((0, 100, "[box right 40] [box left 15]"))).legs
    assert [(box.side, box.offset) for box in leg.boxes] == [("right", 15.0), ("left", 40.0)]


def test_down_becomes_up():
    (leg,) = retrace(log_of((0, 100, "[down]"))).legs
    assert leg.find(LegSlope) == LegSlope("up")


def test_what_was_said_of_a_station_is_said_where_it_is_reached_again():
    back = retrace(LOG)
    assert back.legs[1].find(Faces) is not None
    assert back.legs[0].find(Altitude) is not None
    assert back.legs[3].find(At) == At("Gate")


def test_bearings_and_notes_stay_at_their_stations():
    assert [station for station, _ in retrace(LOG).sightings()] == [0, 2, 4]
    kinds = [type(row).__name__ for row in retrace(LOG).rows]
    assert kinds == ["Sighting", "Leg", "Leg", "Sighting", "Leg", "Note", "Leg", "Sighting"]
    note = next(row for row in retrace(LOG).rows if isinstance(row, Note))
    assert note.cells.notes == "wet here [on stream]"
    assert note.find(StationOn) == StationOn("stream")


def test_nothing_said_of_the_last_station_is_lost():
    first = retrace(log_of((0, 100, "[at Oak] [on ridge]"), (40, "", "[see Fire tower]"))).rows
    assert first[0].find(StationOn) == StationOn("ridge")
    assert isinstance(first[1], Sighting)


def test_prose_is_kept_and_marked_as_of_the_way_out():
    assert "(out: pond)" in retrace(LOG).legs[3].cells.notes


def test_a_reading_backward_is_the_azimuth_held_on_the_way_out():
    (leg,) = retrace(log_of((40, 100, "[back 221]"))).legs
    assert leg.azimuth_deg == 220.0
    assert leg.find(BackReading).azimuth_deg == 40.0


def test_retracing_a_retraced_log_gives_the_way_again():
    again = retrace(retrace(LOG))
    assert legs_of(again) == legs_of(LOG)
    assert [leg.boxes for leg in again.legs] == [leg.boxes for leg in LOG.legs]
    assert [leg.slope for leg in again.legs] == [leg.slope for leg in LOG.legs]
    assert again.heading.start == "Gate"
    assert [station for station, _ in again.sightings()] == [s for s, _ in LOG.sightings()]


def test_a_retraced_log_can_be_written_and_read():
    back = retrace(LOG)
    assert legs_of(read_log(write_log(back))) == legs_of(back)


@pytest.mark.parametrize(
    ("azimuth", "north"),
    [
        ("magnetic degrees", "226°54'23\""),
        ("magnetic degrees", "NNE"),
        ("true mils", "17"),
        ("grid gon", "12.5"),
    ],
)
def test_turning_an_azimuth_round_loses_nothing(azimuth, north):
    log = log_of((north, 100), azimuth=azimuth)
    (leg,) = retrace(log).legs
    assert leg.azimuth_deg == pytest.approx(back_azimuth(log.legs[0].azimuth_deg), abs=1 / 3600)


@pytest.mark.parametrize(("here", "there"), [(4, 0), (3, 1), (1, 4), (0, 2)])
def test_the_recorded_legs_come_out_at_the_goal(here, there):
    """From the end, by exactly what was recorded."""
    out, back = reckon(LOG), reckon(retrace(LOG, here, there))
    assert out.place[here] + back.place[-1] == pytest.approx(out.place[there], abs=1e-9)


def test_a_way_from_a_station_to_itself_is_refused():
    with pytest.raises(ValueComplaint, match="both the start and the goal"):
        retrace(LOG, 2, 2)


def test_where_the_pace_table_tells_up_from_down_the_count_back_is_another():
    """A hundred metres up is 70 paces, and back down 56."""
    log = log_of((30, 140, "[up] steep"), (80, 100))
    level, slope = retrace(log, walker=HILLY).legs
    assert (level.count, slope.count) == (100.0, 112.0)
    assert slope.cells.notes.endswith("(out: 140 paces; steep)")
    assert [leg.count for leg in retrace(log).legs] == [100.0, 140.0]
    out, back = reckon(log, HILLY), reckon(retrace(log, walker=HILLY), HILLY)
    assert out.place[2] + back.place[2] == pytest.approx([0, 0], abs=1e-9)


def test_half_a_pace_of_the_count_back_goes_up():
    """181 paces up, at twice as many to 100 m as down, are 90.5 paces down."""
    walker = walker_like(USUAL, PaceClass("", "up", None, 60.0), PaceClass("", "down", None, 30.0))
    (leg,) = retrace(log_of((30, 181, "[up]")), walker=walker).legs
    assert leg.cells.count == "91"


def test_metres_are_the_same_up_and_down():
    log = log_of((30, 140, "[up]"), count="metres")
    assert retrace(log, walker=HILLY).legs[0].count == 140.0


def test_without_a_pace_table_every_count_stands():
    log = log_of((30, 140, "[up] [ground brush]"))
    assert retrace(log, walker=walker_like()).legs[0].count == 140.0


def inside(covariance, beside):
    return Region(np.zeros(2), covariance, 0.95, "ellipse", np.zeros(2)).contains(beside).mean()


@pytest.mark.parametrize("shape", ["loop", "wander", "straight"])
@pytest.mark.parametrize("n_legs", [3, 15])
def test_who_retraces_leg_by_leg_stands_in_the_stated_region(shape, n_legs):
    """6 routes of 4,000 walks: one sd 0.14 %. Boxes are walked again, the other way round."""
    rng = np.random.default_rng(n_legs)
    shares = []
    for route in draw_routes(rng, shape, n_legs, 6):
        route.boxed[::3] = 50
        walked = walk(rng, route, 4_000)
        log = read_log(write_log_text(walked.notes(0)).encode())
        covariance = retrace_covariance(log, walker_like(), n_legs, 0)
        ends = walked.places_m[:, -1].copy()
        for leg in retrace(log).legs:
            ways = [(leg.azimuth_deg, leg.count)]
            for box in leg.boxes:
                hand = 90 if box.side == "right" else -90
                ways += [(leg.azimuth_deg + hand, box.offset), (leg.azimuth_deg - hand, box.offset)]
            for azimuth, count in ways:
                ends += walk_instruction(rng, azimuth, count, walked.bias_deg, walked.scale)
        shares.append(inside(covariance, ends / (USUAL.pace_m * walked.scale[:, None])))
    assert np.mean(shares) == pytest.approx(0.95, abs=0.01)


@pytest.mark.parametrize("classes", [(UP, DOWN), (UP,), ()], ids=["up and down", "up", "no table"])
def test_what_the_pace_counts_up_and_down_are_off_is_in_the_region(classes):
    """40,000 walks of a leg up and a leg on the level and back, each with its own true pace up and down."""
    walker = walker_like(USUAL, *classes)
    log = log_of((0, 700, "[up]"), (90, 300))
    covariance = retrace_covariance(log, walker, 2, 0)
    rng = np.random.default_rng(9)
    walks = 40_000
    pace = {None: np.ones(walks)}
    for one in classes:
        off = one.per_100_m_sd / one.per_100_m * rng.standard_normal(walks)
        pace[one.slope] = 62.5 / one.per_100_m * (1 + off)
    beside = np.zeros((walks, 2))
    for leg in (*log.legs, *retrace(log, walker=walker).legs):
        angle = np.radians(leg.azimuth_deg + 2.5 * rng.standard_normal(walks))
        length = leg.count * (1 + 0.05 * rng.standard_normal(walks)) * pace.get(leg.slope, pace[None])
        beside += length[:, None] * np.stack([np.sin(angle), np.cos(angle)], axis=1)
    assert inside(covariance, beside) == pytest.approx(0.95, abs=0.01)


def test_retracing_scatters_by_every_leg_out_and_back():
    walker = Walker()
    covariance = retrace_covariance(log_of((0, 1000)), walker, 1, 0)
    across = 1000 * math.radians(math.hypot(2.5, 1 / math.sqrt(12)))
    assert covariance == pytest.approx(np.diag([2 * across**2, 2 * (50**2 + 1 / 12)]), rel=1e-9, abs=1e-9)
