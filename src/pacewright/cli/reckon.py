"""pacewright reckon: where every station lies, and how sure that is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from pacewright.cli.options import (
    frame_option,
    json_option,
    log_files,
    open_log,
    open_walker,
    probability_option,
    walker_option,
)
from pacewright.cli.output import Answer, Table, answer_each

if TYPE_CHECKING:
    from pacewright.core.frames import FrameKind


@click.command()
@log_files
@walker_option
@frame_option
@probability_option
@json_option
def command(
    files: tuple[str, ...],
    walker_file: str | None,
    frame: FrameKind | None,
    probability: float,
    as_json: bool,
) -> int:
    """Say where every station of a travel log lies, and how sure that is.

    FILE is a travel log (CSV: azimuth,count,notes under a heading); - reads standard input.
    """
    from pacewright.core.frames import choose_frame
    from pacewright.core.reckoning import reckon
    from pacewright.core.regions import station_region
    from pacewright.files.result_json import reckoning_keys, region_keys
    from pacewright.wording.walk import (
        CAUTION,
        say_assumed,
        say_reckoning,
        say_what_is_left_out,
        station_table,
    )

    walker = open_walker(walker_file)

    def work(file: str) -> Answer:
        log = open_log(file)
        reckoning = reckon(log, walker, choose_frame(log.heading, walker, frame))
        if as_json:
            region = station_region(reckoning, reckoning.last, probability)
            keys = {
                **reckoning_keys(reckoning),
                "assumed": log.heading.assumed,
                "region": region_keys(region),
            }
            return Answer(keys)
        sentences = [*say_assumed(log), *say_reckoning(log, reckoning, probability)]
        sentences += [CAUTION, *say_what_is_left_out(reckoning)]
        return Answer({}, sentences, [Table(*station_table(log, reckoning, probability))])

    return answer_each(files, as_json, work)
