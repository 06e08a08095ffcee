"""Pace trials to a pace table."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.stats

from pacewright.core.pace.pace_outliers import find_straying, rank_straying
from pacewright.core.pace.pace_trials import PaceRun, paces_from_metres, paces_from_steps
from pacewright.core.pace.pacing import fit_pace_table, settled_scatter
from pacewright.exceptions import MissingComplaint, ValueComplaint
from support.authorities import close_to_printed, read_authority

PUBLISHED = read_authority("pace_tables.csv")


def run(count, ground="", slope="level", load_kg=None, distance_m=100.0, **more):
    return PaceRun(ground, slope, load_kg, distance_m, count, **more)


# common practice: four runs averaged.
def test_runs_of_62_69_63_and_64_average_64_and_a_half():
    table = fit_pace_table([run(c) for c in (62, 69, 63, 64)])
    (one,) = table.classes
    assert one.per_100_m == 64.5
    assert one.pace_m == pytest.approx(np.mean([100 / c for c in (62, 69, 63, 64)]))
    assert not one.borrowed


def test_the_interval_of_one_class_is_that_of_the_reference_library():
    counts = np.array([62, 69, 63, 64.0])
    (one,) = fit_pace_table([run(c) for c in counts]).classes
    low, high = scipy.stats.t.interval(0.95, 3, counts.mean(), scipy.stats.sem(counts))
    assert (one.low, one.high) == pytest.approx((low, high))
    assert one.run_sd_pct == pytest.approx(100 * counts.std(ddof=1) / counts.mean())


def test_69_among_four_runs_is_named_as_farthest_but_not_pointed_at():
    table = fit_pace_table([run(c) for c in (62, 69, 63, 64)])
    assert table.outlying == ()
    assert table.farthest is not None
    assert table.farthest.run.count == 69
    assert table.farthest.others_per_100_m == 63
    logs = np.log([62, 63, 64])
    t = (math.log(69) - logs.mean()) / (logs.std(ddof=1) * math.sqrt(4 / 3))
    assert table.farthest.p_value == pytest.approx(4 * 2 * scipy.stats.t.sf(t, 2))
    assert 0.1 < table.farthest.p_value < 0.2


# Civil Air Patrol, ground team slides: out 121, back 119.
def test_out_121_and_back_119_are_120_steps_and_300_for_250_m():
    rows = [row for row in PUBLISHED if row["example"] == "patrol"]
    (one,) = fit_pace_table([run(paces_from_steps(float(row["count"]))) for row in rows[:2]]).classes
    assert 2 * one.per_100_m == pytest.approx(float(rows[1]["printed"]))
    assert 2 * paces_from_metres(float(rows[2]["distance"]), one.per_100_m) == pytest.approx(300)


# "Field surveying" class slides: twelve runs, the highest and the lowest dropped. The tool drops none,
# and the printed figure lies in the interval of all twelve.
def test_twelve_runs_of_a_survey_class_average_as_printed():
    counts = [float(row["count"]) for row in PUBLISHED if row["example"] == "survey class"]
    runs = [run(c, distance_m=30.48) for c in counts]
    printed = next(row["printed"] for row in PUBLISHED if row["quantity"] == "trimmed_per_100_ft")
    trimmed = [run(c, distance_m=30.48) for c in sorted(counts)[1:-1]]
    (one,) = fit_pace_table(trimmed).classes
    assert close_to_printed(one.per_100_m * 0.3048, printed)
    (whole,) = fit_pace_table(runs).classes
    assert whole.runs == 12
    assert whole.low < float(printed) / 0.3048 < whole.high


# US Army SMCT 071-329-1006: 116 steps on the level, 148 cross-country.
def test_cross_country_takes_1_28_times_the_steps():
    level, rough = (float(row["printed"]) / 2 for row in PUBLISHED if row["example"] == "task")
    table = fit_pace_table([*[run(level)] * 3, *[run(rough, "cross-country")] * 3])
    assert table.classes[1].per_100_m / table.classes[0].per_100_m == pytest.approx(1.28, abs=0.005)


# Moss (1917), par. 1887: steps shorten both ways. A trial walked the other way round is as good.
def test_downhill_has_the_sign_that_the_runs_have():
    moss = next(row for row in read_authority("slope_steps.csv") if row["slope_deg"] == "10")
    level = paces_from_steps(130)
    for down in (paces_from_steps(float(moss["down_steps_per_100_m"])), 0.95 * level):
        table = fit_pace_table([*[run(level)] * 4, *[run(down, slope="down")] * 3])
        assert table.classes[1].per_100_m == pytest.approx(down)


def test_a_single_downhill_run_is_drawn_to_level_alike_from_either_side():
    level = [run(c) for c in (63, 64, 65, 64)]
    longer = fit_pace_table([*level, run(64 * 1.05, slope="down")]).classes[1]
    shorter = fit_pace_table([*level, run(64 / 1.05, slope="down")]).classes[1]
    assert math.log(longer.per_100_m / 64) == pytest.approx(-math.log(shorter.per_100_m / 64), abs=1e-3)


def test_every_per_cent_that_is_not_level_is_its_own_class():
    table = fit_pace_table([run(62, slope=s) for s in (0, 2, "level", 12, -12, "up")])
    assert [(c.slope, c.direction, c.runs) for c in table.classes] == [
        ("level", "level", 3),
        ("up 12%", "up", 1),
        ("down 12%", "down", 1),
        ("up", "up", 1),
    ]


def test_a_class_of_one_run_leans_on_the_rest_and_says_so():
    level = [run(c) for c in (62, 63, 64, 63, 62)]
    brush = [run(c, "brush") for c in (71, 72, 73, 72)]
    up = [run(c, slope="up") for c in (69, 70, 68, 69)]
    table = fit_pace_table([*level, *brush, *up, run(90, "brush", "up")])
    lone = table.classes[-1]
    added_up = 72 * 69 / 62.8
    assert lone.borrowed
    assert added_up < lone.per_100_m < lone.own_per_100_m == 90
    assert 0 < lone.own_share < 1
    assert [c.borrowed for c in table.classes[:-1]] == [False] * 3


def test_a_class_alone_in_the_table_has_nothing_to_lean_on():
    (one,) = fit_pace_table([run(62)]).classes
    assert (one.per_100_m, one.borrowed) == (62, False)


def test_without_repeated_runs_the_scatter_is_the_assumed_one():
    table = fit_pace_table([run(62), run(70, "brush")])
    assert table.scatter_assumed
    assert table.run_sd_pct == pytest.approx(5)
    assert not fit_pace_table([run(62), run(63), run(64)]).scatter_assumed


def test_equal_counts_do_not_make_a_count_perfectly_known():
    (one,) = fit_pace_table([run(62)] * 4).classes
    assert one.scatter_pct == pytest.approx(100 / 62 / math.sqrt(12))
    assert one.low < 62 < one.high


def test_as_many_more_runs_as_stated_pin_the_count():
    (one,) = fit_pace_table([run(c) for c in (60, 62, 64, 62)]).classes
    more = one.runs_more_for(1.0)
    sd = one.scatter_pct

    def half_width(extra):
        return scipy.stats.t.ppf(0.975, 3 + extra) * sd / math.sqrt(4 + extra)

    assert half_width(more) <= 1.0 < half_width(more - 1)
    assert one.runs_more_for(50) == 0


@pytest.mark.parametrize("target", [0, -1, math.nan, 1e-6])
def test_a_per_cent_that_cannot_be_pinned_is_refused(target):
    (one,) = fit_pace_table([run(c) for c in (60, 62, 64, 62)]).classes
    with pytest.raises(ValueComplaint):
        one.runs_more_for(target)


@pytest.mark.parametrize(
    ("count", "slip"),
    [
        (52, "ten_missed"),
        (72, "ten_twice"),
        (124, "steps_for_paces"),
        (31, "paces_for_steps"),
        (57, None),
    ],
)
def test_an_outlying_run_is_kept_and_pointed_at_with_the_slip_that_explains_it(count, slip):
    ordinary = [62, 63, 61, 62, 62.5, 62, 61.5]
    table = fit_pace_table([*[run(c) for c in ordinary], run(count, line=9)])
    (one,) = table.outlying
    assert (one.run.line, one.slip) == (9, slip)
    assert table.classes[0].runs == 8
    assert table.classes[0].per_100_m == pytest.approx(np.mean([*ordinary, count]))
    assert one.per_100_m_without == pytest.approx(np.mean(ordinary))
    assert one.run_sd_pct_without < one.run_sd_pct


@pytest.mark.parametrize("counts", [(62, 63, 62), (62, 62, 62, 62, 62, 63), (62, 62, 62, 62, 64)])
def test_a_count_that_differs_by_one_or_two_from_equal_ones_is_no_miscount(counts):
    assert fit_pace_table([run(c) for c in counts]).outlying == ()


def test_a_hundred_lost_on_a_long_course_is_recognised():
    counts = [372, 375, 369, 374, 272, 371]
    table = fit_pace_table([run(c, distance_m=600) for c in counts])
    assert [(o.run.count, o.slip) for o in table.outlying] == [(272, "hundred_missed")]


def test_a_ten_is_a_ten_of_what_was_counted():
    counts = [124, 125, 123, 124, 126, 114, 124, 125]
    table = fit_pace_table([run(paces_from_steps(c), counted_in="steps") for c in counts])
    assert [(o.run.written_count, o.slip) for o in table.outlying] == [(114, "ten_missed")]


def test_two_runs_that_disagree_are_both_pointed_at():
    steady = [run(c) for c in (62, 63, 62, 63, 62, 63, 62)]
    table = fit_pace_table([*steady, run(70, "brush"), run(80, "brush")])
    assert sorted((o.run.count, o.one_of_two) for o in table.outlying) == [(70, True), (80, True)]


# Rosner (1983), the worked example of the NIST/SEMATECH e-Handbook, 1.3.5.17.3.
def test_the_published_outliers_are_found_although_they_hide_each_other():
    (row,) = read_authority("outliers_rosner.csv")
    values = np.array([float(v) for v in row["values"].split()])
    group = [0] * len(values)
    ranked = rank_straying(values, group, 10)
    assert [values[one.index] for one in find_straying(values, group)] == [
        float(v) for v in row["outliers_5_pct"].split()
    ]
    for i, (one, statistic, critical) in enumerate(
        zip(ranked, row["statistic"].split(), row["critical"].split(), strict=True)
    ):
        n = len(values) - i
        # Internally studentised, as the handbook prints it; it cuts some digits off (3.1189 is its 3.118).
        internal = abs(one.ratio) * (n - 1) / math.sqrt(n * (n - 2 + one.ratio**2))
        assert close_to_printed(internal, statistic, units=1.0)
        assert (one.p_value < 0.05) == (float(statistic) > float(critical))


def test_ordinary_trials_are_falsely_pointed_at_in_about_one_of_twenty():
    rng = np.random.default_rng(11)
    tables = 1000
    group = [0] * 5 + [1] * 4 + [2] * 3
    found = sum(bool(find_straying(0.03 * rng.standard_normal(12), group)) for _ in range(tables))
    assert 0.02 < found / tables < 0.09


def simulated(rng, sizes, run_sd):
    """A made-up walker's trials: every class's true count, and its runs. No sign for downhill."""
    ground = {g: 0.12 * rng.standard_normal() for g in ("heath", "brush", "sand")}
    slope = {s: 0.08 * rng.standard_normal() for s in ("level", "up", "down")}
    truth, runs = {}, []
    for (g, s), n in sizes.items():
        truth[g, s] = 62 * math.exp(ground[g] + slope[s] + 0.03 * rng.standard_normal())
        runs += [run(truth[g, s] * (1 + run_sd * e), g, s) for e in rng.standard_normal(n)]
    return truth, runs


SIZES = {
    ("heath", "level"): 6,
    ("heath", "up"): 3,
    ("brush", "level"): 4,
    ("sand", "level"): 3,
    ("heath", "down"): 1,
    ("brush", "up"): 1,
    ("sand", "down"): 2,
}


@pytest.fixture(scope="module")
def many_tables():
    rng = np.random.default_rng(20)
    made = [simulated(rng, SIZES, 0.03) for _ in range(400)]
    return [(truth, fit_pace_table(runs)) for truth, runs in made]


def test_the_interval_of_a_class_on_its_own_mean_holds_95_times_in_100(many_tables):
    held = [
        c.low < truth[c.ground, c.slope] < c.high
        for truth, table in many_tables
        for c in table.classes
        if not c.borrowed
    ]
    assert len(held) == 1600
    assert 0.93 < np.mean(held) < 0.97


def test_the_interval_of_a_borrowed_class_holds_about_94_times_in_100(many_tables):
    held = [
        c.low < truth[c.ground, c.slope] < c.high
        for truth, table in many_tables
        for c in table.classes
        if c.borrowed
    ]
    assert len(held) == 1200
    assert 0.92 < np.mean(held) < 0.97


def test_the_pooled_scatter_is_unbiased(many_tables):
    variances = [(table.run_sd_pct / 3) ** 2 for _, table in many_tables]
    assert np.mean(variances) == pytest.approx(1, abs=0.06)


def test_a_borrowed_class_is_nearer_the_truth_than_its_own_runs(many_tables):
    borrowed = [
        (
            math.log(c.per_100_m / truth[c.ground, c.slope]),
            math.log(c.own_per_100_m / truth[c.ground, c.slope]),
        )
        for truth, table in many_tables
        for c in table.classes
        if c.borrowed
    ]
    leaning, own = np.sqrt(np.mean(np.square(borrowed), axis=0))
    assert leaning < 0.95 * own


def test_the_weight_of_the_default_scatter_fades_with_runs():
    assert settled_scatter(0.02, 0) == pytest.approx(0.05)
    assert settled_scatter(0.02, 4) > settled_scatter(0.02, 40) > 0.02


def test_a_class_is_found_by_the_beginning_of_its_name():
    table = fit_pace_table([run(62, "heath"), run(70, "heath", "up"), run(72, "brush")])
    assert table.find_class("Heath level").slope == "level"
    assert table.find_class("brush").ground == "brush"
    with pytest.raises(MissingComplaint, match="fits several classes"):
        table.find_class("heath")
    with pytest.raises(MissingComplaint, match=r"no class is called 'sand'.*Name one of: heath, level; "):
        table.find_class("sand")


def test_a_table_needs_a_run():
    with pytest.raises(MissingComplaint):
        fit_pace_table([])
