"""pacewright check: does the log close, and if not, which slip on which leg explains it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

import click

from pacewright.cli.angles import angle_option
from pacewright.cli.measures import NUMBER
from pacewright.cli.options import (
    frame_option,
    json_option,
    log_files,
    open_log,
    open_walker,
    out_options,
    walker_option,
)
from pacewright.cli.output import Answer, Table, answer_each, write_out, write_picture
from pacewright.exceptions import MissingComplaint, NoAnswerComplaint
from pacewright.files.known_places import open_known

if TYPE_CHECKING:
    from pacewright.core.adjust.closure import Closure
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.pace.walker import Walker
    from pacewright.core.slips.mistakes import Findings
    from pacewright.core.slips.place_mixture import Island
    from pacewright.core.slips.suspects import Suspect
    from pacewright.core.way.frames import FrameKind


@click.command()
@log_files
@walker_option
@click.option(
    "--prior",
    type=NUMBER,
    default=0.5,
    show_default=True,
    metavar="SHARE",
    help="Share of such logs that hold a mistake, before looking.",
)
@frame_option
@click.option(
    "--route", "route_prior", is_flag=True, help="Also hold legs against the general direction of the log."
)
@click.option("--two", is_flag=True, help="Search a long log for two slips as well.")
@click.option(
    "--plan", "plan_file", metavar="PLAN", help="The log of the planned legs, to hold FILE against."
)
@click.option("--planned", is_flag=True, help="FILE is a plan: say where to plan a bearing or a crossing.")
@click.option("--accept", type=int, metavar="NO", help="Write the suspect of this number into --out.")
@click.option("--after", type=int, metavar="LEG", help="With --accept: where the missing leg was.")
@click.option(
    "--undo",
    metavar="LEG",
    help="Put back what was struck out of a leg, a known place, a thing seen, or 'all', and write --out.",
)
@click.option("--draw", "picture", metavar="FILE", help="Draw gap and suspects (.svg, .png or .pdf).")
@out_options("the corrected log")
@angle_option
@json_option
def command(
    files: tuple[str, ...],
    walker_file: str | None,
    prior: float,
    frame: FrameKind | None,
    route_prior: bool,
    two: bool,
    plan_file: str | None,
    planned: bool,
    accept: int | None,
    after: int | None,
    undo: str | None,
    picture: str | None,
    out: str | None,
    force: bool,
    as_json: bool,
) -> int:
    """Say whether a log closes, and which slip on which leg explains it if it does not.

    FILE is a travel log; - reads standard input. Exit code 1: a mistake is more likely than not.
    Nothing is changed unless --accept or --undo is given with --out, and then only in that file.
    """
    _refuse_what_does_not_fit(files, accept, undo, out, planned, picture)
    if plan_file is not None and (planned or undo is not None):
        raise click.UsageError("--plan goes with a search: leave --planned and --undo away.")
    walker = open_walker(walker_file)
    plan = None if plan_file is None else open_log(plan_file)

    def work(file: str) -> Answer:
        log = open_log(file)
        if undo is not None and out is not None:
            return _undo(log, walker, undo, out, force, file)
        if planned:
            return _planned(log, walker, frame)

        def search(one: TravelLog) -> tuple[Findings, tuple[str, ...]]:
            from pacewright.answers.closing import search_log

            known = open_known(one, walker, frame)
            found = search_log(one, walker, known, prior=prior, route_prior=route_prior, plan=plan)
            return found, known.said

        if accept is not None and out is not None:
            return _accept(log, search, accept, after, out, force, file)
        try:
            found = search(log)
        except NoAnswerComplaint as complaint:
            return _only_closures(log, walker, frame, complaint)
        draw = partial(_draw, picture, force) if picture else None
        answer = _checked(*found, two, draw)
        return answer if plan is None else _against(answer, log, plan, found[0])

    return answer_each(files, as_json, work)


def _against(answer: Answer, log: TravelLog, plan: TravelLog, findings: Findings) -> Answer:
    """Say beside the search how the walk went against its plan."""
    from dataclasses import replace

    from pacewright.answers.plan_kept import plan_kept
    from pacewright.files.findings_json import plan_kept_keys
    from pacewright.wording.plan_kept import plan_kept_table, say_plan_kept

    posterior = findings.posterior
    kept = plan_kept(log, plan, posterior.walker, posterior.frame)
    *said, caution = answer.sentences
    return replace(
        answer,
        data={**answer.data, "against_plan": plan_kept_keys(kept)},
        sentences=[*said, *say_plan_kept(kept), caution],
        tables=[*answer.tables, Table(*plan_kept_table(kept))],
    )


def _only_closures(
    log: TravelLog, walker: Walker, kind: FrameKind | None, complaint: NoAnswerComplaint
) -> Answer:
    """The part of the answer that a log too long to be searched still has."""
    from pacewright.core.adjust.closure import find_unexplained
    from pacewright.files.complaint_json import complaint_keys
    from pacewright.files.findings_json import closure_keys
    from pacewright.files.result_json import reading_keys
    from pacewright.wording.check_answer import answer_closures
    from pacewright.wording.findings import CAUTION
    from pacewright.wording.walk import say_not_possible

    known = open_known(log, walker, kind)
    found = answer_closures(log, walker, known.frame, known.placed, known.said)
    data = {
        "closures": closure_keys(found.closures),
        "frame": known.frame.kind,
        "unit": known.frame.unit,
        "mistake_probability": None,
        "search": complaint_keys(complaint),
        **reading_keys(log, walker),
        "says": known.said,
    }
    sentences = [*found.said, *say_not_possible("search", complaint), CAUTION]
    return Answer(data, sentences, finding=bool(find_unexplained(found.closures)))


def _refuse_what_does_not_fit(
    files: tuple[str, ...],
    accept: int | None,
    undo: str | None,
    out: str | None,
    planned: bool,
    picture: str | None,
) -> None:
    asked = [accept is not None, undo is not None, planned]
    if picture is not None and (sum(asked) or len(files) != 1):
        raise click.UsageError("--draw draws one log as it was found: give one FILE and no change.")
    if sum(asked) > 1:
        raise click.UsageError("--accept, --undo and --planned are three different things: give one.")
    changes = accept is not None or undo is not None
    if changes and (out is None or len(files) != 1):
        raise click.UsageError("--accept and --undo write one corrected log: give one FILE and --out.")
    if out is not None and not changes:
        raise click.UsageError("--out writes a corrected log: add --accept or --undo.")
    if out == "-":
        raise click.UsageError("--out must be a file here: what was found is printed beside it.")


def _draw(
    picture: str,
    force: bool,
    findings: Findings,
    closures: Sequence[Closure],
    islands: Sequence[Island],
    said: Sequence[str],
) -> None:
    from pacewright.drawing.reconciled import draw_findings
    from pacewright.wording.findings import CAUTION

    svg = draw_findings(findings, closures, islands, (*said, CAUTION))
    write_picture(picture, svg, force)


def _checked(
    findings: Findings,
    said: tuple[str, ...],
    two: bool,
    draw: Callable[[Findings, Sequence[Closure], Sequence[Island], Sequence[str]], None] | None,
) -> Answer:
    from pacewright.answers.pulled_stations import fineness_of_log
    from pacewright.files.findings_json import (
        advice_keys,
        bearing_slip_keys,
        closure_keys,
        findings_keys,
        island_keys,
        pair_keys,
        pull_keys,
    )
    from pacewright.files.result_json import reading_keys
    from pacewright.wording.check_answer import answer_check
    from pacewright.wording.suspects import say_suspect

    log = findings.posterior.log
    found, fineness = answer_check(findings, said, two=two), fineness_of_log(log)
    data: dict[str, Any] = {
        "closures": closure_keys(found.closures),
        **findings_keys(findings, lambda suspect: say_suspect(suspect, log, fineness)),
        "bearing_slips": bearing_slip_keys(found.bearings),
        "advice": advice_keys(found.advice),
        "pairs": pair_keys(found.pairs),
        "islands": island_keys(found.islands),
        "local_attraction": pull_keys(found.pulled),
        "against_plan": None,
        **reading_keys(log, findings.posterior.walker),
        "says": said,
    }
    if draw is not None:
        draw(findings, found.closures, found.islands, found.found)
    tables = [Table(*one) for one in (found.table, found.corrected_readings) if one is not None]
    return Answer(data, found.sentences, tables, finding=found.is_finding, brief=found.brief)


def _accept(
    log: TravelLog,
    search: Callable[[TravelLog], tuple[Findings, tuple[str, ...]]],
    number: int,
    after: int | None,
    out: str,
    force: bool,
    file: str,
) -> Answer:
    from pacewright.answers.closing import is_finding
    from pacewright.core.slips.corrected_log import accept_suspect
    from pacewright.files.findings_json import findings_keys
    from pacewright.files.log_csv import write_log
    from pacewright.files.result_json import reading_keys
    from pacewright.wording.findings import CAUTION, say_findings
    from pacewright.wording.suspects import say_accepted, say_suspect, suspect_table
    from pacewright.wording.walk import say_assumed

    findings, said = search(log)
    walker = findings.posterior.walker
    shown = len(suspect_table(findings)[1])
    if not 1 <= number <= shown:
        raise MissingComplaint(
            f"there is no suspect {number} in the table of this log", f"Give a number from 1 to {shown}"
        )
    suspect = findings.suspects[number - 1]
    _ask_where(suspect, after)
    corrected = accept_suspect(log, suspect, after)
    write_out(out, write_log(corrected), force)
    then, _ = search(corrected)
    data = {
        "accepted": number,
        "out": out,
        "says": say_suspect(suspect, log),
        "then": findings_keys(then, lambda one: say_suspect(one, corrected)),
        **reading_keys(log, walker),
    }
    sentences = [
        *say_assumed(log, walker),
        *said,
        *say_accepted(suspect, log, out),
        "The corrected log:",
        *say_findings(then),
        CAUTION,
    ]
    return Answer(data, sentences, finding=is_finding(then))


def _ask_where(suspect: Suspect, after: int | None) -> None:
    """Ask for the place of a missing leg where it may be one of several: it is never guessed."""
    if suspect.after_legs is None:
        if after is not None:
            raise click.UsageError("--after is the place of a missing leg: this suspect is none.")
        return
    first, last = suspect.after_legs
    if after is None and first != last:
        raise MissingComplaint(
            f"the missing leg may have been after any of legs {first} to {last}",
            f"Look at the page and add --after with one of {first} to {last}",
        )


def _undo(log: TravelLog, walker: Walker, which: str, out: str, force: bool, file: str) -> Answer:
    from pacewright.core.slips.corrected_log import (
        corrected_legs,
        corrected_names,
        undo_all,
        undo_leg,
        undo_name,
    )
    from pacewright.exceptions import ValueComplaint
    from pacewright.files.log_csv import write_log
    from pacewright.files.result_json import reading_keys
    from pacewright.wording.suspects import say_undone
    from pacewright.wording.walk import say_assumed

    if which == "all":
        restored = undo_all(log)
    elif which in corrected_names(log):
        restored = undo_name(log, which)
    elif which.isdecimal() and len(which) < 8:
        restored = undo_leg(log, int(which))
    else:
        held = ", ".join(map(str, (*corrected_legs(log), *corrected_names(log)))) or "none"
        raise ValueComplaint(
            f"{which[:40]} is neither a leg nor a name with a struck entry",
            f"Give one that has a struck entry ({held}) or the word all",
        )
    write_out(out, write_log(restored), force)
    data = {"undone": which, "out": out, **reading_keys(restored, walker)}
    return Answer(data, [*say_assumed(restored, walker), *say_undone(which, out)])


def _planned(log: TravelLog, walker: Walker, kind: FrameKind | None) -> Answer:
    from pacewright.core.slips.plan_checks import plan_checks
    from pacewright.files.findings_json import plan_keys
    from pacewright.files.result_json import reading_keys
    from pacewright.wording.findings import CAUTION, say_plan
    from pacewright.wording.walk import say_assumed

    known = open_known(log, walker, kind)
    checks = plan_checks(log, walker, known.frame, known.placed)
    data = {
        "frame": known.frame.kind,
        "unit": known.frame.unit,
        "plan": plan_keys(checks),
        **reading_keys(log, walker),
    }
    return Answer(data, [*say_assumed(log, walker), *known.said, *say_plan(checks, log), CAUTION])
