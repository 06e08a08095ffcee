"""pacewright north: declination, convergence, and azimuths from one north to another."""

from __future__ import annotations

import re
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, Final

import click

from pacewright.cli.angles import angle_option, asked_for_dms
from pacewright.cli.measures import METRES
from pacewright.cli.options import grid_option, json_option, option_azimuth
from pacewright.cli.output import Answer, Table, say, write_out
from pacewright.cli.renamed import NewName, picture_option
from pacewright.exceptions import MissingComplaint

if TYPE_CHECKING:
    from pacewright.answers.stated_norths import StatedNorths
    from pacewright.core.compass import AzimuthReference, AzimuthUnit
    from pacewright.ground.grid_text import Position
    from pacewright.ground.north import AzimuthChange
    from pacewright.ground.norths_at import NorthsAt
    from pacewright.wording.norths import ShownUnit

NORTHS = click.Choice(["magnetic", "true", "grid"])

COARSE_M: Final = 1000.0
"""From what side on a square is no place to a walker."""


# A longitude west begins with a minus and must not be taken for an option.
@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("place", nargs=-1, metavar="[LAT LON | PLACE]")
@click.option(
    "--date", "date_text", metavar="DATE", help="2026-05-14, or a decimal year; today if not given."
)
@click.option("--height-m", type=METRES, default=0.0, show_default=True, help="Height above the sea.")
@click.option("--azimuth", "azimuth_text", metavar="AZIMUTH", help="An azimuth to take to another north.")
@click.option(
    "--from-north",
    "--from",
    "from_north",
    cls=NewName,
    type=NORTHS,
    default="magnetic",
    show_default=True,
    help="The north that --azimuth is counted from.",
)
@click.option(
    "--to-north",
    "--to",
    "to_north",
    cls=NewName,
    type=NORTHS,
    help="The north to take it to; by default grid, or true where only a declination is stated.",
)
@click.option(
    "--azimuth-unit",
    "--unit",
    "unit",
    cls=NewName,
    type=click.Choice(["degrees", "mils", "gon"]),
    default="degrees",
    show_default=True,
    help="Unit of --azimuth, and of what is said.",
)
@angle_option
@click.option(
    "--declination",
    "--map-declination",
    "declination",
    cls=NewName,
    metavar="ANGLE",
    help="From true to magnetic north, as you state it or as the map prints it: 3°30' W.",
)
@click.option("--grid-magnetic", metavar="ANGLE", help="From grid to magnetic north, as the map prints it.")
@click.option("--convergence", metavar="ANGLE", help="From true to grid north, as the map prints it.")
@click.option("--map-date", metavar="DATE", help="Year or date of the printed angle.")
@click.option("--map-annual", metavar="ANGLE", help="The printed annual change: 7' E, or increase 11'.")
@click.option(
    "--all", "with_field", is_flag=True, help="Also the inclination and the strengths of the field."
)
@grid_option
@picture_option("the three norths")
@json_option
def command(
    place: tuple[str, ...],
    date_text: str | None,
    height_m: float,
    azimuth_text: str | None,
    from_north: AzimuthReference,
    to_north: AzimuthReference | None,
    unit: AzimuthUnit,
    declination: str | None,
    grid_magnetic: str | None,
    convergence: str | None,
    map_date: str | None,
    map_annual: str | None,
    with_field: bool,
    grid_code: str | None,
    out: str | None,
    force: bool,
    as_json: bool,
) -> int:
    """Say declination, grid convergence and grid-magnetic angle at a place, and turn azimuths.

    The place is latitude and longitude (37.4 -119.3, or "37°24'N 119°18'W"), UTM, or MGRS. With a stated
    --declination or --grid-magnetic angle no place is needed; at a place the stated angle is the one used.

    \b
    pacewright north --declination "3°30' W" --azimuth 305 --to-north true
    pacewright north 37.4 -119.3 --azimuth 305 --to-north grid

    Exit code 1 where a magnetic compass does not work (blackout zone).
    """
    from pacewright.answers.stated_norths import NorthsAsked, stated_norths
    from pacewright.files.field_model import bundled_field_model
    from pacewright.ground.declination import parse_when
    from pacewright.ground.grid_text import parse_place
    from pacewright.ground.norths_at import norths_at

    _refuse_unknown_options(place)
    asked = NorthsAsked(
        declination or "", convergence or "", grid_magnetic or "", map_date or "", map_annual or ""
    )
    if not place and not asked.is_stated:
        raise click.UsageError(
            "Give a place, or the angle as the map has it: --declination or --grid-magnetic."
        )
    if asked_for_dms() and unit != "degrees":
        raise click.UsageError("--angle dms goes with degrees: leave --azimuth-unit away.")
    if not asked.is_stated and (map_date or map_annual or convergence):
        raise click.UsageError(
            "--map-date, --map-annual and --convergence go with --declination or --grid-magnetic."
        )
    when = date_text or _today()
    here = None
    if place:
        here = norths_at(bundled_field_model(), parse_place(" ".join(place)), when, height_m)
    stated = None
    if asked.is_stated:
        stated = stated_norths(asked, parse_when(when), here.turn.convergence_deg if here else None)
    turned = _turned(azimuth_text, unit, from_north, to_north, here, stated)
    if out is not None:
        _draw(out, force, here, stated, when, unit)
    finding = here is not None and here.found.compass_zone == "blackout"
    shown: ShownUnit = "dms" if asked_for_dms() and not as_json else unit
    answer = _answer(here, stated, turned, shown, with_field, finding)
    say(answer if here is None or grid_code is None else _with_grid(answer, here, grid_code), as_json)
    return int(finding)


def _turned(
    azimuth_text: str | None,
    unit: AzimuthUnit,
    from_north: AzimuthReference,
    to_north: AzimuthReference | None,
    here: NorthsAt | None,
    stated: StatedNorths | None,
) -> AzimuthChange | None:
    from pacewright.ground.north import convert_azimuth

    if azimuth_text is None:
        return None
    to_north = to_north or ("grid" if stated is None or stated.has_grid else "true")
    if stated is not None:
        stated.check(from_north, to_north)
    relation = stated.relation if stated is not None else here.relation if here is not None else None
    assert relation is not None
    return convert_azimuth(option_azimuth("--azimuth", azimuth_text, unit), from_north, to_north, relation)


def _answer(
    here: NorthsAt | None,
    stated: StatedNorths | None,
    turned: AzimuthChange | None,
    unit: ShownUnit,
    with_field: bool,
    finding: bool,
) -> Answer:
    from pacewright.files.asked_json import north_keys, old_map_keys, stated_north_keys
    from pacewright.ground.north import NORTHS as ALL_NORTHS
    from pacewright.wording import norths

    # An azimuth that is asked for is the answer, and stands first.
    sentences = [] if turned is None else [norths.say_azimuth_change(turned, unit)]
    data: dict[str, Any] = {}
    if here is None:
        assert stated is not None
        data = stated_north_keys(stated)
        sentences += [*norths.say_stated(stated, unit), norths.CAUTION]
    else:
        data = north_keys(here)
        beside = []
        if stated is not None:
            beside = norths.say_brought(stated.brought, unit) if stated.brought is not None else []
            beside += norths.say_stated_beside(stated, here.found)
            data |= {"stated": stated_north_keys(stated)}
        beside += [norths.say_field(here.found)] if with_field else []
        sentences += [*_where(here.position), *norths.say_norths(here, beside, unit)]
    if turned is not None:
        data["azimuth"] = {
            "from": {"north": turned.from_north, "azimuth_deg": turned.from_deg},
            "to": {"north": turned.to_north, "azimuth_deg": turned.to_deg},
            "added_deg": turned.added_deg,
            "rule": norths.say_rule(turned.from_north, turned.to_north),
        }
    if stated is not None and stated.brought is not None:
        data["map"] = old_map_keys(stated.brought, here)
    relation = stated.relation if stated is not None else here.relation if here is not None else None
    assert relation is not None
    table = norths.rule_table(relation, unit, stated.norths if stated is not None else ALL_NORTHS)
    return Answer(data, sentences, [Table(*table)], finding)


def _with_grid(answer: Answer, here: NorthsAt, code: str) -> Answer:
    import dataclasses

    from pacewright.ground.any_grid import on_grid
    from pacewright.wording.placing import say_on_grid

    place = on_grid(code, here.position.latitude_deg, here.position.longitude_deg)
    *said, caution = answer.sentences
    return dataclasses.replace(
        answer,
        data={**answer.data, "on_grid": dataclasses.asdict(place)},
        sentences=[*said, say_on_grid(place), caution],
    )


def _where(position: Position) -> list[str]:
    from pacewright.ground.grid_text import format_place

    return [
        f"At {format_place(position)} ({format_place(position, 'mgrs')}).",
        *(f"Note: {remark}." for remark in position.remarks),
        *_coarse(position),
    ]


def _draw(
    out: str, force: bool, here: NorthsAt | None, stated: StatedNorths | None, when: str, unit: AzimuthUnit
) -> None:
    from pacewright.drawing.north_diagram import draw_norths
    from pacewright.drawing.render import render
    from pacewright.ground.grid_text import format_place
    from pacewright.wording import norths

    if here is None:
        raise MissingComplaint("without a place there are no three norths to draw", "Give the place as well")
    relation = here.relation if stated is None else stated.relation
    title = f"{format_place(here.position)}, {when}"
    notes = [*norths.say_compass_zone(here.found), norths.say_model(here.found)]
    if stated is not None:
        notes[-1] = norths.say_stated_beside(stated, here.found)[0]
    write_out(out, render(draw_norths(relation, title, notes, unit), PurePath(out).suffix), force)


def _coarse(position: Position) -> list[str]:
    """Say that the place is the middle of a wide square, where its digits were cut that far."""
    if position.form not in ("mgrs", "letters") or position.precision_m < COARSE_M:
        return []
    return [f"Note: the square is {position.precision_m:g} metres wide; this is its middle."]


def _refuse_unknown_options(place: tuple[str, ...]) -> None:
    for word in place:
        if re.match(r"--|-[A-Za-z]", word):
            raise click.NoSuchOption(word)


def _today() -> str:
    import datetime

    return datetime.date.today().isoformat()
