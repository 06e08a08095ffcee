"""pacewright check: does the log close, and if not, which slip on which leg explains it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import partial
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, Final

import click

from pacewright.cli.known_places import open_known
from pacewright.cli.options import (
    frame_option,
    json_option,
    log_files,
    open_log,
    open_walker,
    out_options,
    walker_option,
)
from pacewright.cli.output import Answer, Table, answer_each, write_out
from pacewright.exceptions import NoAnswerComplaint

if TYPE_CHECKING:
    from pacewright.core.closure import Closure
    from pacewright.core.frames import FrameKind
    from pacewright.core.islands import Island
    from pacewright.core.local_attraction import LocalAttraction
    from pacewright.core.mistakes import Findings
    from pacewright.core.travel_log import TravelLog
    from pacewright.core.walker import Walker

LEGS_FOR_PAIRS: Final = 24
"""Beyond so many legs the pairs of slips are searched only when asked for: they take seconds."""


@click.command()
@log_files
@walker_option
@click.option(
    "--prior",
    type=float,
    default=0.5,
    show_default=True,
    metavar="SHARE",
    help="Share of such logs that hold a mistake, before looking.",
)
@frame_option
@click.option(
    "--route", "route_prior", is_flag=True, help="Also hold legs against the general direction of the log."
)
@click.option("--two", is_flag=True, help="Search for two slips also in a long log.")
@click.option("--planned", is_flag=True, help="FILE is a plan: say where to plan a bearing or a crossing.")
@click.option("--accept", type=int, metavar="NO", help="Write the suspect of this number into --out.")
@click.option("--undo", metavar="LEG", help="Put a leg's struck entry back, or 'all', and write --out.")
@click.option("--draw", "picture", metavar="FILE", help="Draw gap and suspects (.svg, .png or .pdf).")
@out_options("the corrected log")
@json_option
def command(
    files: tuple[str, ...],
    walker_file: str | None,
    prior: float,
    frame: FrameKind | None,
    route_prior: bool,
    two: bool,
    planned: bool,
    accept: int | None,
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
    walker = open_walker(walker_file)

    def work(file: str) -> Answer:
        log = open_log(file)
        if undo is not None and out is not None:
            return _undo(log, undo, out, force, file)
        if planned:
            return _planned(log, walker, frame)

        def search(one: TravelLog) -> tuple[Findings, tuple[str, ...]]:
            from pacewright.core.mistakes import find_mistakes

            known = open_known(one, walker, frame)
            found = find_mistakes(
                one, walker, frame=known.frame, prior=prior, placed=known.placed, route_prior=route_prior
            )
            return found, known.said

        if accept is not None and out is not None:
            return _accept(log, search, accept, out, force, file)
        try:
            found = search(log)
        except NoAnswerComplaint as complaint:
            return _only_closures(log, walker, frame, complaint)
        return _checked(*found, two, partial(_draw, picture, force) if picture else None)

    return answer_each(files, as_json, work)


def _only_closures(
    log: TravelLog, walker: Walker, kind: FrameKind | None, complaint: NoAnswerComplaint
) -> Answer:
    """Give the part of the answer that a log too long to be searched still has."""
    from pacewright.core.closure import find_closures, find_unexplained
    from pacewright.core.observations import find_observations
    from pacewright.core.reckoning import reckon
    from pacewright.files.findings_json import closure_keys
    from pacewright.wording.closure import say_closures
    from pacewright.wording.findings import CAUTION
    from pacewright.wording.walk import say_assumed, say_not_possible

    known = open_known(log, walker, kind)
    observations = find_observations(log, walker, known.frame, known.placed)
    closures = find_closures(log, reckon(log, walker, known.frame), observations)
    data = {
        "closures": closure_keys(closures),
        "frame": known.frame.kind,
        "unit": known.frame.unit,
        "mistake_probability": None,
        "search": {"complaint": str(complaint)},
        "assumed": log.heading.assumed,
        "says": known.said,
    }
    sentences = [*say_assumed(log), *known.said, *say_closures(log, closures, known.frame.unit)]
    sentences += [*say_not_possible("search", complaint), CAUTION]
    return Answer(data, sentences, finding=bool(find_unexplained(closures)))


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
    from pacewright.drawing.render import render
    from pacewright.wording.findings import CAUTION

    svg = draw_findings(findings, closures, islands, (*said, CAUTION))
    write_out(picture, render(svg, PurePath(picture).suffix), force)


def _checked(
    findings: Findings,
    said: tuple[str, ...],
    two: bool,
    draw: Callable[[Findings, Sequence[Closure], Sequence[Island], Sequence[str]], None] | None,
) -> Answer:
    from pacewright.core.advice import advise, best_of_each
    from pacewright.core.bearing_slips import find_bearing_slips
    from pacewright.core.closure import find_closures
    from pacewright.core.islands import find_islands
    from pacewright.core.reckoning import reckon
    from pacewright.core.slip_pairs import find_pairs
    from pacewright.files.findings_json import (
        advice_keys,
        bearing_slip_keys,
        closure_keys,
        findings_keys,
        island_keys,
        pair_keys,
        pull_keys,
    )
    from pacewright.wording.closure import say_closures
    from pacewright.wording.findings import (
        CAUTION,
        bearing_is_wrong,
        say_advice,
        say_bearing_slips,
        say_findings,
        say_islands,
        say_pairs,
        say_suspect,
        say_unseen,
        suspect_table,
    )
    from pacewright.wording.walk import say_assumed

    posterior = findings.posterior
    log, frame, last = posterior.log, posterior.frame, posterior.model.states.size
    closures = find_closures(log, reckon(log, posterior.walker, frame), posterior.observations)
    bearings = find_bearing_slips(posterior)
    # While a bearing is all but surely wrong, whatever is said of the legs follows from it.
    of_legs = not bearing_is_wrong(bearings)
    shown = _is_finding(findings) and of_legs
    found = [*say_bearing_slips(bearings, log), *(say_findings(findings) if of_legs else [])]
    advice = best_of_each(advise(posterior))
    islands = find_islands(posterior, last)
    pairs = find_pairs(posterior) if two or (shown and last <= LEGS_FOR_PAIRS) else None
    pulls, said_of_pulls = _pulled(log, posterior.walker)
    data: dict[str, Any] = {
        "closures": closure_keys(closures),
        **findings_keys(findings, lambda suspect: say_suspect(suspect, log)),
        "bearing_slips": bearing_slip_keys(bearings),
        "advice": advice_keys(advice),
        "pairs": pair_keys(pairs),
        "islands": island_keys(islands),
        "local_attraction": pull_keys(pulls),
        "assumed": log.heading.assumed,
        "says": said,
    }
    sentences = [*say_assumed(log), *said, *say_closures(log, closures, frame.unit), *found]
    tables: list[Table] = []
    if shown:
        sentences += say_pairs(pairs, log) if pairs else []
        sentences += say_advice(advice, log)
        sentences += say_islands(islands, log, last, frame.unit)
        tables = [Table(*suspect_table(findings))]
    sentences += [*said_of_pulls, *say_unseen(findings), *posterior.observations.unused, CAUTION]
    if draw is not None:
        draw(findings, closures, islands, found)
    return Answer(data, sentences, tables, finding=_is_finding(findings) or bearings.probability > 0.5)


def _pulled(log: TravelLog, walker: Walker) -> tuple[LocalAttraction | None, list[str]]:
    """Give what back readings say of stations that pull the compass, checked by the angles of a loop."""
    from pacewright.core.included_angles import find_included_angles
    from pacewright.core.local_attraction import find_log_attraction
    from pacewright.exceptions import MissingComplaint, ValueComplaint
    from pacewright.wording.closure import say_included_angles, say_local_attraction

    try:
        found = find_log_attraction(log, walker)
    except MissingComplaint:
        return None, []
    said = say_local_attraction(found)
    with suppress(ValueComplaint):
        said += say_included_angles(find_included_angles(found.lines))
    return found, said


def _is_finding(findings: Findings) -> bool:
    return findings.observed and findings.verdict != "none"


def _accept(
    log: TravelLog,
    search: Callable[[TravelLog], tuple[Findings, tuple[str, ...]]],
    number: int,
    out: str,
    force: bool,
    file: str,
) -> Answer:
    from pacewright.core.correcting import accept_suspect
    from pacewright.exceptions import MissingComplaint
    from pacewright.files.findings_json import findings_keys
    from pacewright.files.log_csv import write_log
    from pacewright.wording.findings import CAUTION, say_accepted, say_findings, say_suspect

    findings, said = search(log)
    if not 1 <= number <= len(findings.suspects):
        raise MissingComplaint(
            f"there is no suspect {number}", f"Give a number from 1 to {len(findings.suspects)}"
        )
    suspect = findings.suspects[number - 1]
    corrected = accept_suspect(log, suspect)
    write_out(out, write_log(corrected), force, source=file)
    then, _ = search(corrected)
    data = {
        "accepted": number,
        "out": out,
        "says": say_suspect(suspect, log),
        "then": findings_keys(then, lambda one: say_suspect(one, corrected)),
    }
    sentences = [*said, *say_accepted(suspect, log, out), "The corrected log:", *say_findings(then), CAUTION]
    return Answer(data, sentences, finding=_is_finding(then))


def _undo(log: TravelLog, which: str, out: str, force: bool, file: str) -> Answer:
    from pacewright.core.correcting import corrected_legs, undo_all, undo_leg
    from pacewright.exceptions import ValueComplaint
    from pacewright.files.log_csv import write_log
    from pacewright.wording.findings import say_undone

    if which == "all":
        restored = undo_all(log)
    elif which.isdecimal() and len(which) < 8:
        restored = undo_leg(log, int(which))
    else:
        held = ", ".join(map(str, corrected_legs(log))) or "none"
        raise ValueComplaint(
            f"{which[:40]} is not a leg", f"Give a leg with a struck entry ({held}) or the word all"
        )
    write_out(out, write_log(restored), force, source=file)
    return Answer({"undone": which, "out": out}, say_undone(which, out))


def _planned(log: TravelLog, walker: Walker, kind: FrameKind | None) -> Answer:
    from pacewright.core.plan_checks import plan_checks
    from pacewright.files.findings_json import plan_keys
    from pacewright.wording.findings import CAUTION, say_plan

    known = open_known(log, walker, kind)
    checks = plan_checks(log, walker, known.frame, known.placed)
    data = {"frame": known.frame.kind, "unit": known.frame.unit, "plan": plan_keys(checks)}
    return Answer(data, [*known.said, *say_plan(checks, log), CAUTION])
