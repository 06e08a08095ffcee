"""pacewright north: declination, convergence, and azimuths from one north to another."""

from __future__ import annotations

import re
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, Final

import click

from pacewright.cli.options import json_option, out_options
from pacewright.cli.output import Answer, Table, say, write_out
from pacewright.exceptions import MissingComplaint

if TYPE_CHECKING:
    from pacewright.core.compass import AzimuthReference, AzimuthUnit
    from pacewright.ground.declination import Declination
    from pacewright.ground.grid_text import Position
    from pacewright.ground.north import MapDeclination, NorthRelation

NORTHS = click.Choice(["magnetic", "true", "grid"])

COARSE_M: Final = 1000.0
"""From what side on a square is no place to a walker."""


# A longitude west begins with a minus and must not be taken for an option.
@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("place", nargs=-1, required=True, metavar="LAT LON | PLACE")
@click.option(
    "--date", "date_text", metavar="DATE", help="2026-05-14, or a decimal year; today if not given."
)
@click.option("--height-m", type=float, default=0.0, show_default=True, help="Height above the sea.")
@click.option("--azimuth", "azimuth_text", metavar="AZIMUTH", help="An azimuth to take to another north.")
@click.option("--from", "from_north", type=NORTHS, default="magnetic", show_default=True)
@click.option("--to", "to_north", type=NORTHS, default="grid", show_default=True)
@click.option("--unit", type=click.Choice(["degrees", "mils", "gon"]), default="degrees", show_default=True)
@click.option("--map-declination", metavar="ANGLE", help="As printed on the map: 3°30' W.")
@click.option("--map-date", metavar="DATE", help="Year or date of the printed declination.")
@click.option("--map-annual", metavar="ANGLE", help="The printed annual change: 7' E, or increase 11'.")
@out_options("the diagram of the three norths (.svg, .png or .pdf)")
@json_option
def command(
    place: tuple[str, ...],
    date_text: str | None,
    height_m: float,
    azimuth_text: str | None,
    from_north: AzimuthReference,
    to_north: AzimuthReference,
    unit: AzimuthUnit,
    map_declination: str | None,
    map_date: str | None,
    map_annual: str | None,
    out: str | None,
    force: bool,
    as_json: bool,
) -> int:
    """Say declination, grid convergence and grid-magnetic angle at a place, and turn azimuths.

    The place is latitude and longitude (33.3 -115.2, or "33°18'N 115°12'W"), UTM, or MGRS.
    Exit code 1 where a magnetic compass does not work (blackout zone).
    """
    from pacewright.core.compass import parse_azimuth
    from pacewright.files.field_model import bundled_field_model
    from pacewright.ground.grid_text import format_place, parse_place
    from pacewright.ground.north import convert_azimuth
    from pacewright.ground.norths_at import norths_at
    from pacewright.wording import norths

    _refuse_unknown_options(place)
    position = parse_place(" ".join(place))
    when = date_text or _today()
    here = norths_at(bundled_field_model(), position, when, height_m)
    found, relation = here.found, here.relation
    brought = _old_map(map_declination, map_date, map_annual, found)
    change = (
        None
        if azimuth_text is None
        else convert_azimuth(parse_azimuth(azimuth_text, unit), from_north, to_north, relation)
    )
    asked = [
        *([] if brought is None else norths.say_map_declination(brought, found)),
        *([] if change is None else [norths.say_azimuth_change(change, unit)]),
    ]
    sentences = [
        f"At {format_place(position)} ({format_place(position, 'mgrs')}).",
        *(f"Note: {remark}." for remark in position.remarks),
        *_coarse(position),
        *norths.say_norths(here, asked),
    ]
    if out is not None:
        from pacewright.drawing.north_diagram import draw_norths
        from pacewright.drawing.render import render

        title = f"{format_place(position)}, {when}"
        notes = [*norths.say_compass_zone(found), norths.say_model(found)]
        write_out(out, render(draw_norths(relation, title, notes, unit), PurePath(out).suffix), force)
    data: dict[str, Any] = {
        **_keys(found, relation),
        "latitude_deg": position.latitude_deg,
        "longitude_deg": position.longitude_deg,
        "place": {"form": position.form, "precision_m": position.precision_m, "remarks": position.remarks},
        "year": found.year,
        "grid": str(here.zone),
        "grid_scale": here.turn.scale,
        "horizontal_nt": found.horizontal_nt,
        "compass_zone": found.compass_zone,
    }
    if change is not None:
        data["azimuth"] = {
            "from": {"north": change.from_north, "azimuth_deg": change.from_deg},
            "to": {"north": change.to_north, "azimuth_deg": change.to_deg},
            "added_deg": change.added_deg,
            "rule": norths.say_rule(change.from_north, change.to_north),
        }
    if brought is not None:
        data["map"] = {
            "printed_deg": brought.printed_deg,
            "annual_change_deg": brought.annual_change_deg,
            "years": brought.year - brought.printed_year,
            "declination_deg": brought.brought_deg,
            "differs_deg": brought.brought_deg - found.declination_deg,
        }
    finding = found.compass_zone == "blackout"
    say(Answer(data, sentences, [Table(*norths.rule_table(relation, unit))], finding), as_json)
    return int(finding)


def _coarse(position: Position) -> list[str]:
    """Say that the place is the middle of a wide square, where its digits were cut that far."""
    if position.form != "mgrs" or position.precision_m < COARSE_M:
        return []
    return [f"Note: the square is {position.precision_m:g} metres wide; this is its middle."]


def _keys(found: Declination, relation: NorthRelation) -> dict[str, Any]:
    return {
        "declination_deg": found.declination_deg,
        "declination_sd_deg": found.declination_sd_deg,
        "annual_change_deg": found.annual_change_deg,
        "convergence_deg": relation.convergence_deg,
        "grid_magnetic_deg": relation.grid_magnetic_deg,
        "model": found.model,
        "valid_to": found.valid_to.isoformat(),
    }


def _old_map(
    declination: str | None, date: str | None, annual: str | None, found: Declination
) -> MapDeclination | None:
    from pacewright.core.log.log_heading import parse_declination
    from pacewright.ground.declination import parse_when
    from pacewright.ground.north import bring_declination, parse_annual_change

    if declination is None and date is None and annual is None:
        return None
    if declination is None or date is None or annual is None:
        raise MissingComplaint(
            "an old map's declination needs its date and its annual change to be brought to another year",
            "Give --map-declination, --map-date and --map-annual together",
        )
    printed_deg = parse_declination(declination)
    annual_deg = parse_annual_change(annual, printed_deg)
    return bring_declination(printed_deg, parse_when(date), annual_deg, found.year)


def _refuse_unknown_options(place: tuple[str, ...]) -> None:
    for word in place:
        if re.match(r"--|-[A-Za-z]", word):
            raise click.NoSuchOption(word)


def _today() -> str:
    import datetime

    return datetime.date.today().isoformat()
