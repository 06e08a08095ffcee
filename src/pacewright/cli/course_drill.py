"""pacewright course drill: problems for the table, with their key."""

from __future__ import annotations

from typing import Any

import click

from pacewright.cli.course_options import FLAT_PAPERS, print_course_sheet
from pacewright.cli.options import json_option, out_options
from pacewright.cli.output import Answer, Table, say

KINDS = ("plot", "slip", "back", "cord", "declination", "box", "aim_off", "range", "resection")


@click.command("drill", short_help="Problems for the table, with their key.")
@click.argument("kind", type=click.Choice([kind.replace("_", "-") for kind in KINDS]))
@click.option("--level", type=click.IntRange(1, 3), default=1, show_default=True, help="1 easy, 3 hard.")
@click.option("--problems", type=click.IntRange(1, 24), default=None, help="How many (default: as fit).")
@click.option(
    "--seed", type=click.IntRange(0), default=1, show_default=True, help="The same seed gives the same sheet."
)
@click.option("--key", "key_file", metavar="FILE", help="Print the key to FILE (PDF).")
@click.option("--paper", "paper_name", type=FLAT_PAPERS, default="a4", show_default=True, help="Paper.")
@out_options("the worksheet (PDF)")
@json_option
def command(
    kind: str,
    level: int,
    problems: int | None,
    seed: int,
    key_file: str | None,
    paper_name: Any,
    out: str | None,
    force: bool,
    as_json: bool,
) -> int:
    """Make a worksheet for the table: plotting, finding a slip, azimuths, norths, boxing, ranging, resection.

    The questions are shown; the answers stand in the key, and in --json.
    """
    import numpy as np

    from pacewright.course.drills.making import make_worksheet
    from pacewright.files.drill_json import worksheet_keys
    from pacewright.sheets.paper import PAPERS
    from pacewright.sheets.paper_drills import answer_sheet, worksheet
    from pacewright.wording.paper_drills import HOW, SOURCES, TITLES, say_problem

    made = make_worksheet(kind.replace("-", "_"), level, seed, np.random.default_rng(seed), problems)
    paper = PAPERS[paper_name]
    for path, make in ((out, worksheet), (key_file, answer_sheet)):
        if path is not None:
            print_course_sheet(make(made, paper), paper, path, force)
    if out == "-":
        return 0
    said = [f"{TITLES[made.kind]}, level {level}, sheet {seed}.", HOW[made.kind]]
    tables = []
    for number, problem in enumerate(made.problems, start=1):
        said.append(f"{number}. {say_problem(problem)}")
        if problem.rows:
            rows = [(str(k), str(a), str(c)) for k, (a, c) in enumerate(problem.rows, start=1)]
            tables.append(Table((f"{number}: leg", "azimuth", "count"), rows))
    said += [f"Printed: {path}" for path in (out, key_file) if path is not None]
    say(Answer(worksheet_keys(made, say_problem), [*said, SOURCES[made.kind]], tables), as_json)
    return 0
