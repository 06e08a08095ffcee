"""pacewright adjust: spread what a log does not close by; learn the walker's figures from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Literal

import click

from pacewright.cli.angles import angle_option
from pacewright.cli.options import (
    frame_option,
    json_option,
    log_files,
    open_log,
    open_walker,
    out_options,
    probability_option,
    walker_option,
)
from pacewright.cli.output import Answer, Table, answer_each, say, write_out, write_picture
from pacewright.cli.placing import open_model, open_truth

if TYPE_CHECKING:
    from pacewright.answers.estimate import Estimate, KnownPlaces
    from pacewright.core.adjust.adjustment import Adjustment
    from pacewright.core.adjust.rule_adjustment import RuleAdjustment
    from pacewright.core.learn.evidence import LeftOut
    from pacewright.core.learn.learning import Source
    from pacewright.core.learn.track_evidence import TrackedWalk
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.pace.walker import Walker
    from pacewright.core.way.frames import FrameKind

Rule = Literal["least-squares", "compass", "transit"]


@click.command()
@log_files
@walker_option
@frame_option
@click.option(
    "--rule",
    type=click.Choice(["least-squares", "compass", "transit"]),
    default="least-squares",
    show_default=True,
    help="The textbook rules use closures and known points only, and say nothing of how sure it is.",
)
@click.option(
    "--level-lengths",
    is_flag=True,
    help="Lengths were taped along the slope: reduce each leg by its [slope 12 deg] or [slope 20 %].",
)
@click.option("--mean-back", is_flag=True, help="Take the mean of each azimuth and its [back 126].")
@click.option("--robust", is_flag=True, help="Let an outlying leg, bearing or place pull less.")
@click.option(
    "--learn",
    "to_learn",
    is_flag=True,
    help="Learn pace count, compass bias and scatter from these logs; before and after are shown.",
)
@click.option(
    "--truth",
    "truth_files",
    multiple=True,
    metavar="TRACK.gpx",
    help="With --learn: the recorded track of the same walk, to learn from in place of closures and known "
    "points. With several logs once for each, in their order.",
)
@click.option("--draw", "picture", metavar="FILE", help="Draw before and after (.svg, .png or .pdf).")
@out_options("the walker file after learning (TOML)", "; with --learn, learn from another walker's log")
@probability_option
@angle_option
@json_option
def command(
    files: tuple[str, ...],
    walker_file: str | None,
    frame: FrameKind | None,
    rule: Rule,
    level_lengths: bool,
    mean_back: bool,
    robust: bool,
    to_learn: bool,
    truth_files: tuple[str, ...],
    picture: str | None,
    out: str | None,
    force: bool,
    probability: float,
    as_json: bool,
) -> int:
    """Adjust a travel log as a whole: legs, closures, back azimuths, bearings, known points.

    FILE is a travel log (CSV: azimuth,count,notes under a heading); - reads standard input. Several logs
    of one walker, the oldest first, can be learnt from at once; one that check says holds a mistake is left
    out. Exit code 1: a log fits worse than scatter explains, is left out, or does not look like its track.
    """
    from pacewright.answers.closing import adjust_log, adjust_to_learn
    from pacewright.files.known_places import open_estimate, open_known
    from pacewright.wording.estimate import say_condemned

    _check_options(rule, robust, to_learn, out)
    _check_tracks(files, truth_files, to_learn)
    if picture is not None and len(files) != 1:
        raise click.UsageError("--draw draws one log: give one FILE.")
    walker = open_walker(walker_file)
    sources: list[tuple[str, Source]] = []
    tracks = iter(truth_files)

    def work(file: str) -> Answer:
        track = next(tracks, None)
        log = _made_ready(open_log(file), level_lengths, mean_back)
        if to_learn and not force:
            _refuse_other(log, walker)
        where, estimate = open_known(log, walker, frame), open_estimate(log, walker)
        warned = say_condemned(estimate, is_spread=robust or rule != "least-squares")
        if rule != "least-squares":
            answer, by_rule = _by_rule(log, walker, where, rule, warned, as_json)
            _draw(log, by_rule, probability, warned, picture, force)
            return answer
        adjustment = adjust_log(estimate, where, robust=robust)
        answer = _by_least_squares(estimate, adjustment, where, probability, as_json)
        if track is not None:
            beside, told = _beside_track(log, walker, track)
            sources.append((file, told))
            answer = _joined(answer, beside)
        elif to_learn:
            # A track itself tells which legs are mistakes; without one the search does.
            why_not = _left_out(log, walker, where)
            sources.append((file, why_not or adjust_to_learn(log, walker, where, robust=robust)))
            answer = replace(answer, finding=answer.finding or why_not is not None)
        _draw(log, adjustment, probability, warned, picture, force)
        return answer

    code = answer_each(files, as_json, work)
    if to_learn and sources:
        _learn(walker, sources, out, force, as_json)
    return code


def _made_ready(log: TravelLog, is_slope: bool, mean_back: bool) -> TravelLog:
    from pacewright.core.adjust.reduced_log import level_lengths, mean_of_both_ends

    log = level_lengths(log) if is_slope else log
    return mean_of_both_ends(log) if mean_back else log


def _refuse_other(log: TravelLog, walker: Walker) -> None:
    from pacewright.wording.left_out import refuse_other_walker

    refuse_other_walker(log, walker)


def _left_out(log: TravelLog, walker: Walker, where: KnownPlaces) -> LeftOut | None:
    from pacewright.wording.left_out import find_left_out

    return find_left_out(log, walker, where.frame, where.placed)


def _check_options(rule: Rule, robust: bool, to_learn: bool, out: str | None) -> None:
    if out is not None and not to_learn:
        raise click.UsageError("--out writes the walker after learning; add --learn.")
    if rule != "least-squares" and (robust or to_learn):
        raise click.UsageError(f"--robust and --learn go with least squares, not with the {rule} rule.")
    if out == "-":
        raise click.UsageError("Give --out a file name; standard output holds the answer.")


def _check_tracks(files: tuple[str, ...], truth_files: tuple[str, ...], to_learn: bool) -> None:
    if not truth_files:
        return
    if not to_learn:
        raise click.UsageError("--truth is learnt from: add --learn (pacewright reckon --truth compares).")
    if len(truth_files) != len(files):
        raise click.UsageError(
            f"--truth goes with each FILE, in their order: there are {len(files)} of FILE and "
            f"{len(truth_files)} of --truth. Learn from logs with a track and logs without in two runs."
        )


def _beside_track(log: TravelLog, walker: Walker, path: str) -> tuple[Answer, TrackedWalk]:
    from pacewright.files.truth_json import truth_keys
    from pacewright.ground.track_truth import compare
    from pacewright.wording.truth import say_truth

    comparison = compare(log, open_truth(path), walker, open_model(log))
    keys = {"truth": truth_keys(comparison)}
    return Answer(keys, say_truth(comparison), finding=not comparison.fits), comparison.told


def _joined(first: Answer, second: Answer) -> Answer:
    data: dict[str, Any] = {**first.data, **second.data}
    sentences = [*first.sentences, *second.sentences]
    return Answer(data, sentences, [*first.tables, *second.tables], first.finding or second.finding)


def _by_least_squares(
    estimate: Estimate, adjustment: Adjustment, where: KnownPlaces, probability: float, as_json: bool
) -> Answer:
    from pacewright.answers.closing import pulled_stations
    from pacewright.wording.adjustment import is_finding
    from pacewright.wording.estimate import say_condemned

    log, walker = estimate.log, estimate.walker
    warned = say_condemned(estimate, is_spread=not adjustment.is_as_written)
    finding = is_finding(adjustment) or bool(warned)
    pulled = pulled_stations(estimate)
    from pacewright.wording.adjusted_answer import say_adjusted

    told = say_adjusted(log, adjustment, probability, where.said, walker, warned, pulled)
    if as_json:
        from pacewright.files.adjustment_json import adjustment_keys
        from pacewright.files.findings_json import pull_keys
        from pacewright.files.result_json import reading_keys

        keys = {
            **adjustment_keys(adjustment),
            **reading_keys(log, walker),
            "local_attraction": None if pulled is None else pull_keys(pulled),
            "says": where.said,
            "doubts": warned,
        }
        return Answer(keys, told.sentences, finding=finding)
    tables = [Table(*table) for table in told.tables]
    return Answer({}, told.sentences, tables, finding=finding, brief=told.brief)


def _by_rule(
    log: TravelLog,
    walker: Walker,
    where: KnownPlaces,
    rule: Literal["compass", "transit"],
    warned: Sequence[str],
    as_json: bool,
) -> tuple[Answer, RuleAdjustment]:
    from pacewright.answers.closing import adjust_by_textbook
    from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
    from pacewright.wording.adjusted_answer import say_adjusted

    adjustment = adjust_by_textbook(log, walker, where, rule)
    told = say_adjusted(log, adjustment, DEFAULT_PROBABILITY, where.said, walker, warned)
    if as_json:
        from pacewright.files.adjustment_json import rule_keys
        from pacewright.files.result_json import reading_keys

        keys = {**rule_keys(adjustment), **reading_keys(log, walker), "says": where.said, "doubts": warned}
        return Answer(keys, told.sentences), adjustment
    tables = [Table(*table) for table in told.tables]
    return Answer({}, told.sentences, tables, brief=told.brief), adjustment


def _draw(
    log: TravelLog,
    adjustment: Adjustment | RuleAdjustment,
    probability: float,
    warned: Sequence[str],
    picture: str | None,
    force: bool,
) -> None:
    if picture is None:
        return
    from pacewright.core.adjust.rule_adjustment import RuleAdjustment
    from pacewright.drawing.reconciled import draw_adjusted
    from pacewright.wording.adjustment import say_adjustment, say_rule
    from pacewright.wording.walk import CAUTION

    if isinstance(adjustment, RuleAdjustment):
        said = say_rule(log, adjustment)
    else:
        said = say_adjustment(log, adjustment, probability)
    svg = draw_adjusted(log, adjustment, probability, (*warned, *said, CAUTION))
    write_picture(picture, svg, force)


def _learn(
    walker: Walker,
    sources: Sequence[tuple[str, Source]],
    out: str | None,
    force: bool,
    as_json: bool,
) -> None:
    from pacewright.core.learn.learning import learn
    from pacewright.files.adjustment_json import learnt_keys
    from pacewright.files.walker_toml import write_walker
    from pacewright.wording.adjustment import learnt_table, say_learnt

    learnt = learn(walker, *(one for _, one in sources), names=[file for file, _ in sources])
    if out is not None:
        write_out(out, write_walker(learnt.walker), force)
    if as_json:
        say(Answer({**learnt_keys(learnt), "out": out}), as_json=True)
        return
    sentences = ["", *say_learnt(learnt, walker)]
    if out is not None:
        sentences.append(f"The walker file is {out}.")
    say(Answer({}, sentences, [Table(*learnt_table(learnt))] if learnt.changes else []), as_json=False)
