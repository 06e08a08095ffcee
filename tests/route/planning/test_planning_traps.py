"""What a plan's reckoning must not fall into; each a thing that misled a study of the method.

Sizes: 15 m at a sight, a default walker (azimuth 2.5 deg, read to a degree, bias 1.5 deg, count 5 %, scale
3 %). The formulas are first-order error propagation (C. D. Ghilani, Adjustment Computations, eq. 8.2), worked
anew here.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import LineString, box

from pacewright.core.pace.walker import Walker
from pacewright.ground.landmarks import stream_lines
from pacewright.route.planning.figures import WalkFigures, walk_figures
from pacewright.route.planning.kernels import cast_rays, end_on_lines, sample_rays
from pacewright.route.planning.land import PlanLand, bare_ground, make_land
from pacewright.route.planning.lines import Line, Sight
from pacewright.route.planning.obstacles import barred_by_area
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.search import Asked, Searcher
from pacewright.route.planning.step import Dial, Step, sure_spread
from pacewright.route.planning.steps import seen_chance, steps_from
from pacewright.route.planning.walking import walk_plan
from support.made_plans import ground

FIGURES = walk_figures(Walker(per_100_m=62.5))
FLAT = (-4000.0, -4000.0, 4000.0, 4000.0)


def flat(lines: list[Line], *sights: Sight) -> PlanLand:
    return make_land(None, lines, [Sight("start", (0.0, 0.0), True), *sights], bounds=FLAT)


def line(kind: str, *places: tuple[float, float]) -> Line:
    return Line(kind, np.array(places, dtype=np.float64))


def steps(land: PlanLand, figures: WalkFigures = FIGURES, turn_deg: float = 0.0) -> list[Step]:
    made = steps_from(land, figures, Dial(360, turn_deg), (0.0, 0.0), sure_spread(figures), onto_lines=True)
    return [made.one(k) for k in range(len(made))]


def onto(land: PlanLand, line_number: int = 0) -> PlanLeg:
    """The leg due north onto a line, as the reckoning has it."""
    place, spread = (0.0, 0.0), np.array(sure_spread(FIGURES))
    count, met = cast_rays()(*place, 360, 0.0, 3000.0, land.segments)
    _, free = sample_rays()(*place, 360, 0.0, 51, *land.sampled)
    walker = np.array([FIGURES.azimuth_sd_rad, FIGURES.length_sd, FIGURES.stands_sd_m, 2.5, 60.0, 3.0, 90.0])
    _, rows = end_on_lines()(
        count, met, free, 0.0, spread, walker, land.kinds,
        land.first_sight, land.sight_rows, land.closed_first, land.closed,
    )  # fmt: skip
    (row,) = (
        one for one in rows if one[0] == 0 and one[3] < 0 and int(met[0, int(one[1]), 1]) == line_number
    )
    far, _, along, _ = met[0, int(row[1])]
    return PlanLeg(
        "line", place, (0.0, far), far, 0.0, 0.0, row[5], row[6], 1.0, line=line_number, along=along,
        chance=float(row[4]),
    )  # fmt: skip


def test_a_slanting_line_is_looked_for_over_a_longer_stretch() -> None:
    square = flat([line("track", (-3000, 1000), (3000, 1000))])
    # The same distance straight ahead, the line turned by 45 degrees.
    slant = flat([line("track", (-2000, -1000), (2000, 3000))])
    legs = [onto(land) for land in (square, slant)]
    along, across = FIGURES.length_sd * 1000.0, FIGURES.azimuth_sd_rad * 1000.0
    own = FIGURES.stands_sd_m
    sds = [math.hypot(along, own), math.sqrt(along**2 + across**2 + 2 * own**2)]
    for leg, sd in zip(legs, sds, strict=True):
        assert leg.length_m == pytest.approx(1000.0)
        assert leg.length_m - leg.look_m == pytest.approx(2.5 * sd, rel=0.01)
        assert leg.stop_m - leg.length_m == pytest.approx(3.0 * sd, rel=0.01)


def test_every_azimuth_is_one_that_can_be_dialled() -> None:
    land = flat([line("track", (-3000, 1000), (3000, 1000))], Sight("goal", (120.0, 1000.0), True))
    for turn_deg in (0.0, 11.3):
        searcher = Searcher(
            land, FIGURES, Dial(360, turn_deg), Asked((0.0, 0.0), sure_spread(FIGURES), 0, (1,))
        )
        way = searcher.fastest()
        assert way is not None
        dialled = [leg for leg in way.legs if not leg.follows]
        assert dialled
        for leg in dialled:
            assert leg.dial_deg == round(leg.dial_deg)
            assert (leg.azimuth_deg - leg.dial_deg) % 360.0 == pytest.approx(turn_deg)
            # The place that the leg is meant to end at lies on what is dialled, not on what was wished.
            step = np.subtract(leg.to_m, leg.from_m)
            assert math.degrees(math.atan2(*step)) % 360.0 == pytest.approx(leg.azimuth_deg % 360.0)


def test_what_a_drifting_walker_meets_beside_the_straight_ray_counts() -> None:
    target = line("stream", (-2000, 1000), (2000, 1000))
    # Three degrees and more to the right another stream lies in the looking stretch; the ray itself is clear.
    decoy = line("stream", (50, 900), (600, 900))
    alone, beside = flat([target]), flat([target, decoy])
    chances, walked = [onto(land).chance for land in (alone, beside)], []
    for land in (alone, beside):
        leg = onto(land)
        crowd = walk_plan(land, FIGURES, [leg], sure_spread(FIGURES), np.random.default_rng(3), 20_000)
        walked.append(crowd.arrived)
    assert chances[0] > 0.97
    assert chances[1] < chances[0] - 0.1
    # The reckoning takes the start and the azimuth as one scatter: near, and the walking has the last word.
    assert walked == pytest.approx(chances, abs=0.03)


def test_a_line_of_another_kind_is_not_taken_for_the_one_looked_for() -> None:
    target = line("track", (-2000, 1000), (2000, 1000))
    stream = line("stream", (-2000, 950), (2000, 950))
    assert onto(flat([target, stream])).chance > 0.97


def test_no_ray_slips_through_where_streams_meet_or_step_diagonally() -> None:
    land = make_land(ground(), [Line("stream", points) for points in stream_lines(ground())], [])
    corners = [(0.0, 0.0), (90.0, 90.0), (180.0, 0.0), (90.0, -90.0), (0.0, 0.0)]
    ring = np.array(corners) + 500.0
    # A ring of diagonal steps, in two lines that share their ends, closed about (590, 500).
    closed = flat([Line("stream", ring[:3]), Line("stream", ring[2:])])
    count, met = cast_rays()(590.0, 500.0, 360, 0.003, 500.0, closed.segments)
    assert (count == 1).all() and (met[:, 0, 0] < 91.0).all()
    meets = {tuple(np.round(one.points_m[-1], 3)) for one in land.lines}
    starts = {tuple(np.round(one.points_m[0], 3)) for one in land.lines}
    # Every confluence is one point of all its streams.
    assert len(meets & starts) > 50


def test_an_attack_point_is_near_enough_within_250_metres() -> None:
    # 0.95 at 250 m, from the study's own defaults (3.13 degrees and 5.47 % all in all): the formula anew.
    sd = np.array([math.hypot(15.0, 0.0547 * far) for far in (250.0, 465.0)])
    chance = seen_chance(np.zeros(2), sd, sd, 50.0)
    assert chance[0] == pytest.approx(1 - math.exp(-(50.0**2) / (2 * sd[0] ** 2)), abs=0.002)
    assert chance[0] == pytest.approx(0.95, abs=0.005)
    assert chance[1] < 0.8


def test_a_common_bias_does_not_wear_off_over_many_legs() -> None:
    land = flat([])
    leg = PlanLeg("count", (0.0, 0.0), (0.0, 500.0), 500.0, 0.0, 0.0, 500.0, 500.0, 8.0)
    crowd = walk_plan(land, FIGURES, [leg] * 8, sure_spread(FIGURES), np.random.default_rng(4), 20_000)
    across = crowd.places_m[-1][:, 0].std()
    common = 4000.0 * FIGURES.bias_sd_rad
    own = 500.0 * FIGURES.turn_sd_rad * math.sqrt(8.0)
    assert common > own
    assert across == pytest.approx(math.sqrt(common**2 + own**2 + 15.0**2), rel=0.03)


def test_sights_of_one_look_are_taken_for_one_another() -> None:
    tracks = [line("track", (-3000, 1000), (3000, 1000))]
    # Two paths come in, 150 m apart: whoever looks for the second may take the first.
    near = [line("path", (400, 1000), (400, 1600)), line("path", (550, 1000), (550, 1600))]
    far = [line("path", (-1500, 1000), (-1500, 1600)), line("path", (550, 1000), (550, 1600))]
    best = []
    for paths in (near, far):
        land = flat([*tracks, *paths])
        goal = max(
            k for k, one in enumerate(land.sights) if np.allclose(one.place_m, (550.0, 1000.0), atol=1.0)
        )
        best.append(max(one.chance for one in steps(land) if one.sight == goal and one.key[4] == 1))
    assert best[0] < best[1] - 0.05


@pytest.mark.parametrize(
    ("other", "is_taken"), [((60.0, 600.0), True), ((0.0, 0.0), False), ((60.0, 900.0), False)]
)
def test_the_nearer_of_two_sights_alike_is_taken_but_not_the_one_set_out_from(
    other: tuple[float, float], is_taken: bool
) -> None:
    land = flat([], Sight("hut", (0.0, 600.0)), Sight("hut", other), Sight("oak", (0.0, 900.0)))
    legs = [
        PlanLeg("sight", (0.0, 0.0), (0.0, 600.0), 600.0, 0.0, 0.0, 500.0, 700.0, 9.0, sight=1),
        PlanLeg("sight", (0.0, 600.0), (0.0, 900.0), 300.0, 0.0, 0.0, 240.0, 360.0, 5.0, sight=3),
    ]
    walked = walk_plan(land, FIGURES, legs, sure_spread(FIGURES), np.random.default_rng(3), 20_000)
    # The first leg by a plain draw: who is within 50 m of the hut, and no nearer to the other one.
    places = np.random.default_rng(4).standard_normal((200_000, 2))
    places *= [
        math.hypot(15.0, 600.0 * FIGURES.azimuth_sd_rad), math.hypot(15.0, 600.0 * FIGURES.length_sd)
    ]  # fmt: skip
    kept = np.hypot(*places.T) <= 50.0
    if is_taken:
        kept &= places[:, 0] < 30.0
    assert 1.0 - walked.lost[0] == pytest.approx(kept.mean(), abs=0.012)
    # Where it is the goal, who sees it has arrived.
    last = walk_plan(land, FIGURES, legs[:1], sure_spread(FIGURES), np.random.default_rng(3), 20_000)
    assert last.arrived == pytest.approx((np.hypot(*places.T) <= 50.0).mean(), abs=0.012)


def test_a_plan_goes_round_what_is_barred_and_its_walkers_keep_off() -> None:
    ring = np.array([(-700.0, 500.0), (700.0, 500.0), (700.0, 700.0), (-700.0, 700.0)])
    shut = {"marsh": barred_by_area(bare_ground(FLAT), ring)}
    tracks = [line("track", (-3000, 1500), (3000, 1500))]
    sights = [Sight("start", (0.0, 0.0), True), Sight("goal", (0.0, 1500.0), True)]
    land = make_land(None, tracks, sights, shut, bounds=FLAT)
    searcher = Searcher(land, FIGURES, Dial(), Asked((0.0, 0.0), sure_spread(FIGURES), 0, (1,)))
    searcher.open_by_count()
    way = searcher.fastest()
    assert way is not None
    crowd = walk_plan(land, FIGURES, way.legs, sure_spread(FIGURES), np.random.default_rng(5), 2000)
    inside = np.zeros(2000, dtype=bool)
    for before, after in zip(crowd.places_m[:-1], crowd.places_m[1:], strict=True):
        for share in np.linspace(0.0, 1.0, 60):
            place = before + share * (after - before)
            inside |= (np.abs(place[:, 0]) < 700.0) & (place[:, 1] > 500.0) & (place[:, 1] < 700.0)
    assert inside.mean() < 0.05


def test_without_a_line_that_leads_round_legs_by_count_do() -> None:
    # Without free waypoints plans took up to 1.7 times as long, or were none: here a wall shuts the way.
    wall = barred_by_area(
        bare_ground(FLAT), np.array([(-500.0, 280.0), (500.0, 280.0), (500.0, 340.0), (-500.0, 340.0)])
    )
    sights = [Sight("start", (0.0, 0.0), True), Sight("goal", (0.0, 650.0), True)]
    land = make_land(None, [], sights, {"wall": wall}, bounds=FLAT)
    searcher = Searcher(land, FIGURES, Dial(), Asked((0.0, 0.0), sure_spread(FIGURES), 0, (1,)))
    assert searcher.safest() is None
    searcher.open_by_count()
    way = searcher.safest()
    assert way is not None and way.legs[0].ends == "count"
    places = [way.legs[0].from_m, *(leg.to_m for leg in way.legs)]
    assert not LineString(places).intersects(box(-500.0, 280.0, 500.0, 340.0))
