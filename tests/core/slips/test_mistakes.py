"""The search for a mistake: rules of the handbooks, brute force, and whether its chances come true."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from pacewright.core.slips.mistake_search import search_slips
from pacewright.core.slips.mistakes import find_mistakes
from pacewright.core.slips.normal_batch import factor, log_density
from pacewright.core.slips.residuals import lay
from pacewright.core.slips.slips import KIND_WEIGHT
from pacewright.core.slips.trial_logs import NOTHING
from pacewright.core.way.frames import map_frame
from pacewright.exceptions import ValueComplaint
from pacewright.files.log_csv import read_log
from support.logs import log_of, walker_like
from support.made_logs import draw_log
from support.simulator import Person, plain_route, sight, walk

WALKER = walker_like()
LOOP = [(20, 410), (75, 330), (130, 520), (205, 460), (262, 380)]
"""Five legs in five directions; the sixth closes them."""


def closed(legs):
    """The legs and one more that closes them, as written: whole degrees and whole counts."""
    azimuth, count = np.radians([a for a, _ in legs]), np.array([c for _, c in legs])
    east, north = -(count * np.sin(azimuth)).sum(), -(count * np.cos(azimuth)).sum()
    last = round(math.degrees(math.atan2(east, north))) % 360, round(math.hypot(east, north))
    return [*legs, last]


def log_with(legs, changed=None, **more):
    rows = list(legs)
    for leg, entry in (changed or {}).items():
        rows[leg - 1] = entry
    notes = [""] * (len(rows) - 1) + ["[at Gate]"]
    return log_of(*[(*row, note) for row, note in zip(rows, notes, strict=True)], **more)


def gap_of(legs):
    """East and north by which legs miss their start, by plain trigonometry."""
    azimuth, count = np.radians([a for a, _ in legs]), np.array([c for _, c in legs])
    return np.array([(count * np.sin(azimuth)).sum(), (count * np.cos(azimuth)).sum()])


def stations_of(legs):
    azimuth, count = np.radians([a for a, _ in legs]), np.array([c for _, c in legs])
    steps = np.stack([count * np.sin(azimuth), count * np.cos(azimuth)], axis=1)
    return np.concatenate([np.zeros((1, 2)), np.cumsum(steps, axis=0)])


@pytest.mark.parametrize("leg", range(1, 7))
def test_a_leg_with_a_wrong_distance_is_parallel_to_the_gap(leg):
    """NAVEDTRA 14071 ch. 7 (fig. 7-41): the bad leg of a distance blunder is parallel to the gap."""
    legs = closed(LOOP)
    azimuth, count = legs[leg - 1]
    spoiled = {leg: (azimuth, 2 * count)}
    findings = find_mistakes(log_with(legs, spoiled))
    written = [spoiled.get(i, one) for i, one in enumerate(legs, start=1)]
    east, north = gap_of(written)
    off = abs(math.sin(math.atan2(east, north) - math.radians(azimuth)))
    assert off < math.sin(math.radians(2))
    best = findings.suspects[0]
    assert (best.legs, best.kind, best.entries[0].count) == ((leg,), "steps_for_paces", count)


@pytest.mark.parametrize("leg", range(1, 7))
@pytest.mark.parametrize("turn", [90, 180])
def test_the_bisector_of_the_gap_meets_the_start_of_a_leg_with_a_wrong_azimuth(leg, turn):
    """NAVEDTRA 14071 ch. 7 (fig. 7-42): the perpendicular bisector of the gap points at the bad station.

    The gap is laid where the two ends of the bad leg are: reckoned forward from the start, and backward
    from the closing.
    """
    legs = closed(LOOP)
    azimuth, count = legs[leg - 1]
    spoiled = {leg: ((azimuth + turn) % 360, count)}
    written = [spoiled.get(i, one) for i, one in enumerate(legs, start=1)]
    places = stations_of(written)
    bad, forward, backward = places[leg - 1], places[leg], places[leg] - places[-1]
    # The closing leg in whole degrees and paces leaves the gap itself a pace or two off.
    assert np.hypot(*(forward - bad)) == pytest.approx(np.hypot(*(backward - bad)), abs=3)
    # Geometry: the gap is 2 l sin(t/2), at right angles to the mean of the two azimuths.
    gap = gap_of(written)
    assert np.hypot(*gap) == pytest.approx(2 * count * math.sin(math.radians(turn / 2)), abs=3)
    mean = math.radians(azimuth + turn / 2)
    assert abs(gap @ [math.sin(mean), math.cos(mean)]) < 3
    findings = find_mistakes(log_with(legs, spoiled))
    assert findings.verdict == "mistake"
    assert leg in [chance.leg for chance in findings.by_leg[:3]]


@pytest.mark.parametrize(
    ("kind", "length"),
    [
        ("azimuth_reversed", 2 * 300),
        ("quadrant_wrong", 2 * 300 * math.sin(math.radians(45))),
        ("tally_lost", 100),
        ("tally_added", 100),
        ("thousand_lost", 1000),
        ("paces_for_steps", 300),
        ("steps_for_paces", 150),
    ],
)
def test_a_slip_moves_the_stations_beyond_by_the_size_of_plain_geometry(kind, length):
    """A wrong azimuth by t on a leg l: 2 l sin(t/2); reversed: 2 l; a tally of n: n (geometry)."""
    posterior = search_slips(log_of((64, 300), (180, 400, "[at Hut]"), (300, 250, "[at Gate]")))
    (change,) = posterior.trials.changes
    moved = [
        float(np.hypot(*change.shift[:2, i]))
        for i, slip in enumerate(posterior.slips)
        if slip.kind == kind and slip.legs == (1,)
    ]
    assert moved
    assert moved == pytest.approx([length] * len(moved))


def test_misread_digits_move_by_the_chord_of_their_angle():
    posterior = search_slips(log_of((164, 300), (300, 250, "[at Gate]")))
    misread = [i for i, s in enumerate(posterior.slips) if s.kind == "digit_misread" and s.legs == (1,)]
    turned_deg = np.array([posterior.slips[i].entries[0].reading.azimuth_deg - 164 for i in misread])
    moved = np.hypot(*posterior.trials.changes[0].shift[:2, misread])
    assert misread and moved == pytest.approx(np.abs(2 * 300 * np.sin(np.radians(turned_deg) / 2)))


def test_a_declination_error_only_turns_a_closed_loop():
    """A common declination error rotates the loop, which closes as well as before (geometry)."""
    findings = find_mistakes(log_with(closed(LOOP)))
    assert "declination_mirrored" in findings.unseen
    turned = [
        mark for s, mark in zip(findings.posterior.slips, findings.posterior.mark, strict=True) if not s.legs
    ]
    assert turned and max(turned) < 1e-9


def test_a_mirrored_declination_shows_at_a_known_point():
    far = [(90, 1200), (80, 1100, "[at Hut]")]
    east, north = gap_of([row[:2] for row in far]) * 1.6
    turn = np.radians(-20)
    placed = east * np.cos(turn) + north * np.sin(turn), north * np.cos(turn) - east * np.sin(turn)
    log = log_of(
        *far, azimuth="true degrees", more=[f"known: Hut = local {placed[0]:.0f} {placed[1]:.0f} +-5 m"]
    )
    findings = find_mistakes(log, WALKER)
    assert findings.by_kind[0][0] == "declination_mirrored"
    assert findings.suspects[0].turn_deg in (-18, -20, -22)
    assert findings.verdict == "mistake"


def test_the_batch_of_normal_densities_is_that_of_scipy():
    rng = np.random.default_rng(1)
    for m in (1, 2, 5, 9):
        roots = rng.standard_normal((m, m, 7))
        covariance = np.einsum("ikh,jkh->ijh", roots, roots) + np.eye(m)[:, :, None]
        residual = rng.standard_normal((m, 7))
        expected = [
            multivariate_normal(np.zeros(m), covariance[:, :, i]).logpdf(residual[:, i]) for i in range(7)
        ]
        np.testing.assert_allclose(log_density(residual, covariance), expected, rtol=1e-9)
        lower = factor(covariance).lower
        np.testing.assert_allclose(np.einsum("ikh,jkh->ijh", lower, lower), covariance, rtol=1e-9)


def test_residuals_scatter_as_the_search_believes():
    """Against 40 000 walks of a simulator that knows nothing of this code: closure, known point, bearings."""
    rng = np.random.default_rng(2)
    route = plain_route([20, 75, 130, 205, 262, 340], [410, 330, 520, 460, 380, 510])
    walked = walk(rng, route, 40_000)
    tower = np.array([900.0, 2600.0])
    read = sight(rng, walked, 3, tower)
    middle, end = walked.places_m[0, 3], walked.places_m[0, 6]
    rows = [
        *zip(route.azimuth_deg[:3], route.count[:3], ["", "", "[at Hut]"], strict=True),
        (int(np.round(np.degrees(np.arctan2(*(tower - middle))))) % 360, "", "[see Fire tower]"),
        *zip(route.azimuth_deg[3:], route.count[3:], ["", "", "[at Oak]"], strict=True),
    ]
    known = [
        f"known: Hut = local {middle[0]:.1f} {middle[1]:.1f} +-5 m",
        f"known: Oak = local {end[0]:.1f} {end[1]:.1f} +-5 m",
        f"known: Fire tower = local {tower[0]:.1f} {tower[1]:.1f} +-5 m",
    ]
    log = log_of(*rows, more=known)
    posterior = search_slips(log, WALKER, frame=map_frame(log.heading, WALKER))
    believed = lay(posterior.model, NOTHING).at().covariance[:, :, 0]
    reckoned = stations_of(list(zip(route.azimuth_deg, route.count * 1.6, strict=True)))
    beta = np.radians(read.astype(float))
    line = np.stack([np.cos(beta), -np.sin(beta)], axis=1)
    blur = 5.0 * rng.standard_normal((40_000, 6))
    residual = np.concatenate(
        [
            walked.places_m[:, 3] + blur[:, :2] - reckoned[3],
            walked.places_m[:, 6] + blur[:, 2:4] - reckoned[6],
            (line * (tower + blur[:, 4:] - reckoned[3])).sum(axis=1)[:, None],
        ],
        axis=1,
    )
    sd = np.sqrt(np.diag(believed))
    np.testing.assert_allclose(np.cov(residual.T) / np.outer(sd, sd), believed / np.outer(sd, sd), atol=0.04)


def test_all_chances_sum_to_one():
    made = draw_log(np.random.default_rng(3), "loop", 8, known=True, sightings=1)
    findings = find_mistakes(read_log(made.text.encode()), WALKER)
    none = findings.posterior.none_probability
    for chances in (
        [s.probability for s in findings.suspects],
        [c.probability for c in findings.by_leg],
        [p for _, p in findings.by_kind],
    ):
        assert sum(chances) + none == pytest.approx(1)


@pytest.mark.statistical
def test_the_chances_come_true():
    """Of 300 logs with one mistake: what was said of the top leg and kind, against how often it was so."""
    rng = np.random.default_rng(4)
    leg_said, leg_was, kind_said, kind_was = [], [], [], []
    for number in range(300):
        made = draw_log(
            rng, ("loop", "wander")[number % 2], 6, known=number % 3 > 0, sightings=number % 3 // 2
        )
        findings = find_mistakes(read_log(made.text.encode()), WALKER)
        # No reading is wrong in these logs: what is said of legs, given that it is a leg.
        there = findings.posterior.leg_probability
        top = findings.by_leg[0]
        kind, chance = next(pair for pair in findings.by_kind if pair[0] in KIND_WEIGHT)
        leg_said.append(top.probability / there)
        truth = (None, made.leg) if made.kind == "leg_missing" else (made.leg, None)
        leg_was.append((top.leg, top.after_leg) == truth)
        kind_said.append(chance / there)
        kind_was.append(kind == made.kind)
    for said, was in ((leg_said, leg_was), (kind_said, kind_was)):
        expected, spread = np.sum(said), math.sqrt(np.sum(np.array(said) * (1 - np.array(said))))
        assert abs(np.sum(was) - expected) < 2.5 * spread


@pytest.mark.statistical
def test_clean_logs_are_seldom_accused_when_the_scatter_is_believed_wrongly():
    """200 clean logs, scatter lognormally 25 % off: 2.5 % accused is the aim, 5.5 % is 2.7 sd above it."""
    rng = np.random.default_rng(5)
    accused = 0
    for number in range(200):
        azimuth, count = np.exp(0.25 * rng.standard_normal(2))
        person = Person(azimuth_sd_deg=2.5 * azimuth, count_sd=0.05 * count)
        made = draw_log(rng, "loop", 8, known=number % 2 > 0, mistake=False, person=person)
        accused += find_mistakes(read_log(made.text.encode()), WALKER).verdict == "mistake"
    assert accused <= 11


def test_a_mixture_of_scatters_accuses_less_than_one():
    legs = closed(LOOP)
    log = log_with(legs, {3: (130, 780)})
    mixed = search_slips(log).bayes_factor
    single = search_slips(log, levels=(1.0,), level_shares=(1.0,)).bayes_factor
    assert 1 < mixed < single


def test_a_missing_leg_closes_any_loop_and_is_not_believed_for_that():
    findings = find_mistakes(log_with(closed(LOOP)))
    missing = [s for s in findings.suspects if s.kind == "leg_missing"]
    assert findings.verdict == "none"
    assert sum(s.probability for s in missing) < 0.05


@pytest.mark.parametrize("side", [5, 50, 500, 5000])
def test_a_square_that_closes_to_the_pace_is_clean(side):
    """A leg of no length missing would close it as well; it must not be the likeliest for that."""
    findings = find_mistakes(log_of((0, side), (90, side), (180, side), (270, side, "[at Gate]")))
    assert findings.verdict == "none"
    assert findings.bayes_factor < 0.5


def test_a_missing_leg_is_given_as_a_range_of_places():
    legs = closed(LOOP)
    findings = find_mistakes(log_with([*legs[:2], *legs[3:]]))
    (missing,) = [s for s in findings.suspects if s.kind == "leg_missing"]
    assert missing.after_legs == (0, 5)
    assert missing.entries[0].azimuth == pytest.approx(legs[2][0], abs=8)
    assert missing.entries[0].count == pytest.approx(legs[2][1], rel=0.15)
    chances = {c.after_leg: c.probability for c in findings.by_leg if c.after_leg is not None}
    assert set(chances) == set(range(6))
    assert len({round(p, 12) for p in chances.values()}) == 1


def test_a_known_point_parts_the_places_of_a_missing_leg():
    legs = closed(LOOP)
    middle = stations_of([(a, c * 1.6) for a, c in legs])[3]
    rows = [(*legs[0], ""), (*legs[2], "[at Hut]"), (*legs[3], ""), (*legs[4], ""), (*legs[5], "[at Gate]")]
    log = log_of(*rows, more=[f"known: Hut = local {middle[0]:.0f} {middle[1]:.0f} +-5 m"])
    missing = [s for s in find_mistakes(log, WALKER).suspects if s.kind == "leg_missing"]
    assert [s.after_legs for s in missing] == [(0, 2), (2, 5)]
    assert missing[0].probability > 20 * missing[1].probability


def test_a_leg_missing_beside_a_named_station_lies_on_the_way_to_it():
    """The bearing to Elm, right behind, tells of a leg missing between Elm and the next station alone."""
    log = log_of((0, 200), (90, 300, "[at Elm]"), (180, 300), (225, "", "[see Elm]"), (270, 300), (0, 200))
    findings = find_mistakes(log)
    gap = findings.posterior.gap_probability[1]
    assert findings.posterior.gaps[1].after_legs == (2, 3)
    assert gap > 0.9 * findings.posterior.leg_probability
    # One bearing against the legs alone: it may as well be what is wrong.
    assert findings.by_reading[0].slip.name == "Elm"
    assert findings.chance_in(frozenset({3, 4, 5})) > gap
    assert findings.chance_in(frozenset({4, 5})) < 1 - gap
    assert findings.chance_in(frozenset({1, 2, 3, 4, 5})) == pytest.approx(
        findings.posterior.leg_probability - findings.posterior.gap_probability[2] / 3, abs=1e-9
    )


def test_slips_that_put_the_same_entry_back_are_one_suspect():
    findings = find_mistakes(log_of((120, 400), (300, 400, "[at Gate]")))
    (one,) = [s for s in findings.suspects if s.legs == (1,) and s.entries[0].azimuth == 210]
    assert set(one.kinds) == {"digits_swapped", "quadrant_wrong"}


def test_a_small_tally_among_many_legs_is_said_not_to_show():
    rng = np.random.default_rng(6)
    made = draw_log(rng, "loop", 24, mistake=False)
    findings = find_mistakes(read_log(made.text.encode()), WALKER)
    assert {"tally_lost", "declination_mirrored"} <= set(findings.unseen)
    few = find_mistakes(log_with(closed([(0, 150), (120, 150)])))
    assert "tally_lost" not in few.unseen


def test_with_nothing_observed_every_kind_is_unseen():
    findings = find_mistakes(log_of((120, 400), (30, 300)))
    assert not findings.observed
    assert findings.mistake_probability == pytest.approx(0.5)
    assert {"tally_lost", "azimuth_reversed", "leg_missing"} <= set(findings.unseen)


def test_a_back_azimuth_names_the_reversed_leg():
    legs = closed([(0, 600), (90, 500), (180, 600)])
    notes = ["", "[back 270]", "", "[at Gate]"]
    reversed_leg = [legs[0], (270, 500), *legs[2:]]
    with_back = find_mistakes(log_of(*[(*row, note) for row, note in zip(reversed_leg, notes, strict=True)]))
    without = find_mistakes(log_with(legs, {2: (270, 500)}))
    assert with_back.suspects[0].legs == (2,)
    assert with_back.suspects[0].kind == "azimuth_reversed"
    assert with_back.suspects[0].probability > max(0.99, without.suspects[0].probability)


def test_bearings_to_a_landmark_of_unknown_place_help():
    legs = closed(LOOP)
    tower = np.array([2500.0, 700.0])
    places = stations_of(legs)

    def rows(bearings):
        azimuth, count = legs[3]
        for number, (a, c) in enumerate(legs, start=1):
            spoiled = (azimuth, count + 300) if number == 4 else (a, c)
            yield (*spoiled, "[at Gate]" if number == 6 else "")
            if number in bearings:
                toward = math.degrees(math.atan2(*(tower - places[number])))
                yield round(toward) % 360, "", "[see Fire tower]"

    without = find_mistakes(log_of(*rows(())))
    seen = find_mistakes(log_of(*rows((1, 2, 3, 4, 5))))

    def chance(findings):
        return next(c.probability for c in findings.by_leg if c.leg == 4)

    assert seen.posterior.frame.kind == "walker"
    assert seen.posterior.model.rows.bearings.size == 5
    assert chance(seen) > chance(without)


def test_a_route_prior_can_be_switched_on():
    legs = closed([(10, 400), (70, 400), (130, 400), (190, 400), (250, 400)])
    log = log_with(legs, {3: (310, 400)})
    plain = find_mistakes(log)
    routed = find_mistakes(log, route_prior=True)

    def chance(findings):
        return next(
            s.probability for s in findings.suspects if s.legs == (3,) and s.entries[0].azimuth == 130
        )

    assert chance(routed) > chance(plain)


@pytest.mark.parametrize("prior", [0.0, 1.0, -0.2, math.nan, math.inf])
def test_a_prior_that_is_no_share_is_refused(prior):
    with pytest.raises(ValueComplaint, match="is not a share of logs with a mistake"):
        find_mistakes(log_with(closed(LOOP)), prior=prior)


def test_the_bayes_factor_does_not_depend_on_the_prior():
    log = log_with(closed(LOOP), {2: (75, 660)})
    low, high = find_mistakes(log, prior=0.1), find_mistakes(log, prior=0.9)
    assert low.bayes_factor == pytest.approx(high.bayes_factor)
    odds = low.mistake_probability / (1 - low.mistake_probability)
    assert odds == pytest.approx(low.bayes_factor / 9)
