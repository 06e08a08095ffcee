"""pacewright calibrate: pace trials to a pace table and a walker file."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from pacewright.cli.measures import NUMBER
from pacewright.cli.options import json_option, out_options
from pacewright.cli.output import Answer, Table, answer_each, write_out, write_picture

if TYPE_CHECKING:
    from pacewright.core.pace.pace_table import PaceTable


@click.command()
@click.argument("trials", metavar="TRIALS.csv")
@click.option(
    "--name",
    default="",
    help="Name of the walker, as in a log's heading (default: what '# walker:' in the file says).",
)
@click.option(
    "--pin",
    "target_pct",
    type=NUMBER,
    default=3.0,
    show_default=True,
    metavar="PCT",
    help="Say how many more runs would pin every class to this per cent.",
)
@click.option(
    "--ordinary",
    metavar="CLASS",
    help="The class to count as ordinary, such as 'heath, level'; else the level class with most runs.",
)
@click.option(
    "--without",
    "left_out",
    type=int,
    multiple=True,
    metavar="LINE",
    help="Leave the run in this line of the file out, after looking at it; may be repeated.",
)
@click.option("--draw", "picture", metavar="FILE", help="Draw the trials (.svg, .png or .pdf).")
@out_options("the walker file (TOML)")
@json_option
def command(
    trials: str,
    name: str,
    target_pct: float,
    ordinary: str | None,
    left_out: tuple[int, ...],
    picture: str | None,
    out: str | None,
    force: bool,
    as_json: bool,
) -> int:
    """Turn pace trials into a pace table and a walker file.

    TRIALS.csv has the columns ground,slope,load_kg,distance_m,count and a row a run; the first three may be
    left out. Slope is up, level (if left out), down or a per cent. Counts are paces (two steps) unless a line
    '# count: steps' says otherwise; '# walker: NAME' names the walker.
    """
    if out == "-" and as_json:
        raise click.UsageError("--out - and --json both want standard output; give --out a file name.")

    def work(file: str) -> Answer:
        from pacewright.core.pace.pace_trials import leave_out
        from pacewright.core.pace.pace_walker import ordinary_class, walker_from
        from pacewright.core.pace.pacing import fit_pace_table
        from pacewright.files.asked_json import calibration_keys
        from pacewright.files.disk import read_bytes
        from pacewright.files.trials_csv import read_trials, read_trials_heading
        from pacewright.files.walker_toml import write_walker
        from pacewright.wording.pacing import calibration_rows, say_calibration, say_written

        data = read_bytes(file)
        runs = read_trials(data, file)
        walker_name = name or read_trials_heading(data).get("walker", "")
        table = fit_pace_table(leave_out(runs, left_out))
        chosen = table.find_class(ordinary) if ordinary else ordinary_class(table)
        walker = walker_from(table, walker_name, ordinary=chosen)
        gone = [run for run in runs if run.line in left_out]
        sentences = say_calibration(table, chosen, target_pct, gone, "--without")
        if picture:
            _draw(table, walker_name, picture, force)
        if out:
            write_out(out, write_walker(walker), force)
            # The caution stands last.
            sentences.insert(-1, say_written(walker, out))
        keys = calibration_keys(table, chosen, walker, target_pct)
        # A walker file on standard output must stay one that can be read.
        return (
            Answer(keys)
            if out == "-"
            else Answer(keys, sentences, [Table(*calibration_rows(table, target_pct))])
        )

    return answer_each([trials], as_json, work)


def _draw(table: PaceTable, name: str, picture: str, force: bool) -> None:

    from pacewright.drawing.charts import draw_pace_trials

    title = f"Pace trials, {name}" if name else "Pace trials"
    write_picture(picture, draw_pace_trials(table, title), force)
