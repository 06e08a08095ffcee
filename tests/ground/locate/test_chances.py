"""What remarks are taken to say of the ground."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.ground.locate.chances import (
    Doubt,
    Roughness,
    crossing_table,
    level_limits,
    station_table,
    usual_slope_pct,
)
from pacewright.ground.locate.ground_said import StationSaid
from pacewright.ground.locate.layers import UNKNOWN_KIND, build_layers, kinds_apart
from support.made_land_walks import as_mapped, hilly_land, notes_at
from support.searches import terrain_of

POINTS = [45.0 * k for k in range(8)]
LAND = hilly_land(300, 0.16, seed=301)


def test_the_sides_and_flat_leave_little_over():
    told = [station_table(StationSaid(faces_deg=one), 0.0, Doubt()) for one in POINTS]
    told.append(station_table(StationSaid(is_flat=True), 0.0, Doubt()))
    total = np.sum(told, axis=0)[:UNKNOWN_KIND]
    assert total.min() > 0.95 and total.max() < 1.5


def test_a_side_is_likeliest_on_ground_that_falls_to_it():
    side, steep, _, _ = kinds_apart()
    table = station_table(StationSaid(faces_deg=90.0), 0.0, Doubt())
    steepest = steep == 7
    best = side[:][steepest][table[:UNKNOWN_KIND][steepest].argmax()]
    assert best == 6
    turned = station_table(StationSaid(faces_deg=90.0), 45.0, Doubt())
    assert side[steepest][turned[:UNKNOWN_KIND][steepest].argmax()] == 9


def test_no_remark_is_ever_impossible():
    """Trap: a wrong remark must not end a search, and by default the doubt is on the high side."""
    assert Doubt().wrong_remarks >= 0.1
    for said in (StationSaid(faces_deg=0.0), StationSaid(lie="ridge"), StationSaid(is_on_stream=True)):
        assert station_table(said, 0.0, Doubt())[:UNKNOWN_KIND].min() > 0.005
    assert crossing_table(True, Doubt())[:8].min() > 0.03


def test_nothing_said_is_nothing_taken():
    assert station_table(StationSaid(), 0.0, Doubt()) is None


@pytest.mark.parametrize("length_m", [80.0, 250.0, 600.0])
def test_level_reaches_farther_on_a_longer_leg(length_m):
    limit, soft = level_limits(length_m, Doubt())
    assert 4.0 < limit < 20.0 and soft > 0
    assert level_limits(length_m, Doubt(height_sd_m=12.0))[1] > soft


def told_and_chances(error_m, doubt, names, said_of):
    """What walkers see on true land, and how likely each remark is taken to be where the map has them."""
    land, rng = LAND, np.random.default_rng(5)
    layers = build_layers(terrain_of(as_mapped(land, error_m, seed=3)))
    share = np.bincount(layers.kind.ravel(), minlength=UNKNOWN_KIND + 1)[:UNKNOWN_KIND] / layers.kind.size
    rough = Roughness(layers.standing_m, usual_slope_pct(share))
    places = rng.uniform((900.0, -8100.0), (8100.0, -900.0), (700, 2))
    rows, columns = (-places[:, 1] / 30.0).astype(int), (places[:, 0] / 30.0).astype(int)
    told = [names.index(notes_at(land, place, said_of, rng)[0]) for place in places]
    remarks = [StationSaid(**one) for one in names_of(said_of)]
    tables = [station_table(one, 0.0, doubt, rough)[layers.kind[rows, columns]] for one in remarks]
    chances = np.stack(tables, axis=1).astype(float)
    chances /= chances.sum(axis=1, keepdims=True)
    return np.log(chances[np.arange(700), told]).mean(), (chances * np.log(chances)).sum(axis=1).mean()


def names_of(said_of):
    if "lie" in said_of:
        return [{"lie": one} for one in ("ridge", "valley", "slope")]
    return [{"is_flat": True}, *({"faces_deg": one} for one in POINTS)]


SIDES = ["[flat]", *(f"[faces {one}]" for one in ("N", "NE", "E", "SE", "S", "SW", "W", "NW"))]
LIES = ["[on ridge]", "[in valley]", "[on slope]"]


@pytest.mark.parametrize(("said_of", "names"), [({"side"}, SIDES), ({"lie"}, LIES)])
def test_remarks_are_as_likely_as_taken_on_a_map_whose_heights_are_off(said_of, names):
    """What is seen is on the mean as unlikely as the chances themselves say, and not more."""
    known = {"other_heights": ()}
    right, expected = told_and_chances(10.0, Doubt(height_sd_m=10.0, **known), names, said_of)
    assert right > expected - 0.06
    trusting, claimed = told_and_chances(10.0, Doubt(height_sd_m=3.0, **known), names, said_of)
    assert trusting < claimed - 0.15 and trusting < right
    exact, told = told_and_chances(0.0, Doubt(height_sd_m=0.0, **known), names, said_of)
    assert exact > told - 0.06 and exact > right + 0.1


def test_errors_of_the_heights_are_weighed_from_the_largest_and_one_that_is_known_stands_alone():
    errors = [(one.height_sd_m, chance) for one, chance in Doubt().by_heights()]
    assert errors == sorted(errors, reverse=True) and len(errors) == 2
    assert sum(chance for _, chance in errors) == pytest.approx(1.0)
    assert errors[0][1] > 0.5
    ((known, chance),) = Doubt(height_sd_m=7.0, other_heights=()).by_heights()
    assert (known.height_sd_m, chance) == (7.0, 1.0)


def test_a_map_of_gentle_ground_is_not_off_by_more_than_its_own_hills():
    """Heights that are off by d, some 200 m long, are themselves as steep as white noise of that length."""
    steep, gentle = 16.0, 4.0
    as_told = [one.height_sd_m for one, _ in Doubt().by_heights()]
    assert [one.height_sd_m for one, _ in Doubt().by_heights(steep)] == as_told
    capped = [one.height_sd_m for one, _ in Doubt().by_heights(gentle)]
    assert capped[0] / capped[1] == pytest.approx(as_told[0] / as_told[1])
    flat = type(LAND)(np.full_like(LAND.height_m, 100.0), LAND.cell_m)
    for error_m, slope_pct in ((capped[0], gentle), (as_told[0], steep)):
        off = np.hypot(*np.gradient(as_mapped(flat, error_m, seed=7).height_m, 30.0)) * 100.0
        # No more than half of the map's steepness, squared; made errors are not of quite that length.
        assert np.sqrt((off**2).mean()) < 1.1 * slope_pct / np.sqrt(2.0)
    known = Doubt(height_sd_m=10.0, other_heights=())
    assert known.by_heights(gentle)[0][0].height_sd_m == 10.0


def test_streams_noted_on_a_map_are_as_likely_as_taken():
    """Water led over true land by another rule and met on legs, against what is taken from heights."""
    rng, doubt = np.random.default_rng(8), Doubt(wrong_remarks=0.08)
    layers = build_layers(terrain_of(LAND))
    starts = rng.uniform((900.0, -8100.0), (8100.0, -900.0), (900, 2))
    turns = rng.uniform(0.0, 2.0 * np.pi, 900)
    right, expected = [], []
    for start, turn in zip(starts, turns, strict=True):
        end = start + 250.0 * np.array([np.sin(turn), np.cos(turn)])
        along = start + np.linspace(0.0, 1.0, 30)[:, None] * (end - start)
        level = layers.stream[(-along[:, 1] / 30.0).astype(int), (along[:, 0] / 30.0).astype(int)].max()
        is_noted = LAND.meets_stream(start, end) != (rng.random() < 0.08)
        chance = float(crossing_table(True, doubt)[level])
        right.append(np.log(chance if is_noted else 1.0 - chance))
        expected.append(chance * np.log(chance) + (1.0 - chance) * np.log(1.0 - chance))
    assert np.mean(right) > np.mean(expected) - 0.03
