"""pacewright reckon: where every station lies, and how sure that is."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any, Final

import click

from pacewright.cli.angles import angle_option
from pacewright.cli.options import (
    frame_option,
    grid_option,
    json_option,
    log_files,
    open_log,
    open_walker,
    probability_option,
    walker_option,
)
from pacewright.cli.output import Answer, Table, answer_each
from pacewright.cli.placing import open_model, open_start, open_truth, start_options

if TYPE_CHECKING:
    from pacewright.answers.estimate import Estimate
    from pacewright.core.log.travel_log import TravelLog
    from pacewright.core.pace.walker import Walker
    from pacewright.core.way.frames import FrameKind
    from pacewright.ground.track import Track

PENCILS_SUM: Final = "--as-walked gives the legs as written, nothing put right."


@click.command()
@log_files
@walker_option
@frame_option
@probability_option
@click.option("--as-walked", is_flag=True, help="The pencil's own sum: legs as written, nothing put right.")
@start_options
@grid_option
@click.option(
    "--truth",
    "truth_file",
    metavar="TRACK.gpx",
    help="A recorded track of the same walk: say leg by leg how far azimuth and count were off.",
)
@angle_option
@json_option
def command(
    files: tuple[str, ...],
    walker_file: str | None,
    frame: FrameKind | None,
    probability: float,
    as_walked: bool,
    start_text: str | None,
    start_sd_m: float,
    grid_code: str | None,
    truth_file: str | None,
    as_json: bool,
) -> int:
    """Say where every station of a travel log lies, and how sure that is.

    FILE is a travel log (CSV: azimuth,count,notes under a heading); - reads standard input. Where the
    heading or --start knows a station's place on the earth, its place on the map is said as well.
    """
    walker, start = open_walker(walker_file), open_start(start_text)
    track = None if truth_file is None else open_truth(truth_file)

    def work(file: str) -> Answer:
        from pacewright.files.known_places import open_estimate

        log = open_log(file)
        estimate = open_estimate(log, walker, start, start_sd_m)
        parts = [
            _reckoned(estimate, frame, probability, as_walked),
            _placed(estimate, start is not None, probability, grid_code),
        ]
        if as_walked:
            # On the map stands the estimate, which is not what was asked for.
            parts[1] = Answer(parts[1].data)
        if track is not None:
            parts.append(_against_truth(log, walker, track))
        return _joined(parts)

    return answer_each(files, as_json, work)


def _joined(parts: list[Answer]) -> Answer:
    from pacewright.wording.walk import CAUTION

    data: dict[str, Any] = {}
    for part in parts:
        data |= part.data
    sentences = [sentence for part in parts for sentence in part.sentences]
    tables = [table for part in parts for table in part.tables]
    explained = [sentence for part in parts for sentence in part.explained]
    return Answer(data, [*sentences, CAUTION], tables, explained=explained)


def _reckoned(estimate: Estimate, frame: FrameKind | None, probability: float, as_walked: bool) -> Answer:
    from pacewright.core.way.regions import station_region
    from pacewright.files.result_json import reading_keys, reckoning_keys, region_keys
    from pacewright.wording.estimate import say_condemned, say_pencil_sum, say_rests_on
    from pacewright.wording.reckoned_answer import say_stations
    from pacewright.wording.walk import say_frame, say_within_column

    log, walker = estimate.log, estimate.walker
    # Paces come first, whatever is known in metres; those stand beside them.
    kind = frame or "walker"
    stations = estimate.as_walked(kind) if as_walked else estimate.stations(kind)
    said = say_stations(estimate, stations, probability, as_walked=as_walked, with_metres=frame is None)
    keys = {
        **reckoning_keys(stations),
        **reading_keys(log, walker),
        "region": region_keys(station_region(stations, stations.last, probability)),
        "doubts": say_condemned(estimate),
        "says": [say_pencil_sum(estimate)] if as_walked else say_rests_on(estimate),
    }
    tables = [Table(*table) for table in said.tables]
    explained = [say_frame(stations), say_within_column(probability), *([] if as_walked else [PENCILS_SUM])]
    return Answer(keys, said.sentences, tables, explained=explained)


def _placed(estimate: Estimate, is_needed: bool, probability: float, grid_code: str | None) -> Answer:
    """The places on the map; what only lacks something does not take the reckoning with it."""
    from pacewright.files.complaint_json import complaint_keys
    from pacewright.files.placed_json import placed_keys
    from pacewright.files.station_files import find_placed
    from pacewright.ground.any_grid import on_grid
    from pacewright.wording.placing import say_not_placed, say_on_grid, say_placed

    placed, why_not = find_placed(estimate, is_needed=is_needed)
    if why_not is not None:
        return Answer({"placed": complaint_keys(why_not)}, [say_not_placed(why_not)])
    if placed is None:
        return Answer({"placed": None})
    keys, said = placed_keys(placed, probability), say_placed(estimate.log, placed, probability)
    if grid_code is not None:
        spots = [
            on_grid(grid_code, *map(float, place))
            for place in zip(placed.latitude_deg, placed.longitude_deg, strict=True)
        ]
        keys["on_grid"] = [dataclasses.asdict(spot) for spot in spots]
        said = [said[0], say_on_grid(spots[-1]), *said[1:]]
    return Answer({"placed": keys}, said)


def _against_truth(log: TravelLog, walker: Walker, track: Track) -> Answer:
    from pacewright.files.truth_json import truth_keys
    from pacewright.ground.track_truth import compare
    from pacewright.wording.truth import say_truth, truth_table

    comparison = compare(log, track, walker, open_model(log))
    table = Table(*truth_table(comparison))
    return Answer({"truth": truth_keys(comparison)}, say_truth(comparison), [table])
