"""pacewright leg: from one place to another by map, in azimuth, own paces and cord."""

from __future__ import annotations

import datetime
import re
from typing import TYPE_CHECKING

import click

from pacewright.cli.angles import angle_option
from pacewright.cli.measures import METRES, NUMBER
from pacewright.cli.options import json_option, open_walker, time_rule_option, walker_option
from pacewright.cli.output import Answer, Table, say

if TYPE_CHECKING:
    from pacewright.core.compass import AzimuthReference
    from pacewright.core.pace.walker import Slope
    from pacewright.route.map_leg import MapLeg, Walking
    from pacewright.route.travel_cost import RuleName


# A latitude south begins with a minus and must not be taken for an option.
@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("places", nargs=-1, metavar="FROM TO...")
@walker_option
@click.option("--places", "places_file", metavar="FILE", help="A table of places (CSV: name,place).")
@click.option("--metres", type=METRES, metavar="N", help="No places: turn so many metres into paces.")
@click.option("--paces", type=NUMBER, metavar="N", help="No places: turn so many paces into metres.")
@click.option(
    "--north",
    type=click.Choice(["magnetic", "true", "grid"]),
    default="magnetic",
    show_default=True,
    help="North of the azimuth; places in metres (local) have their own.",
)
@click.option("--date", "date_text", metavar="DATE", help="Date of the declination; today if not given.")
@click.option("--declination", metavar="ANGLE", help="Take this declination, such as 5.5 E; no model then.")
@click.option("--ground", metavar="NAME", help="Ground that is crossed: a class of the pace table.")
@click.option("--slope", type=click.Choice(["up", "level", "down"]), help="How the legs lie.")
@click.option("--climb-m", type=METRES, default=0.0, help="Metres up on each leg, for the time.")
@click.option("--descent-m", type=METRES, default=0.0, help="Metres down on each leg, for the time.")
@time_rule_option
@click.option("--off-path/--on-path", default=False, help="Off a path: 4 km/h and not 5 (tobler: 0.6 of it).")
@click.option("--bead-of-metres", is_flag=True, help="A bead is a hundred metres, not a hundred paces.")
@angle_option
@json_option
def command(
    places: tuple[str, ...],
    walker_file: str | None,
    places_file: str | None,
    metres: float | None,
    paces: float | None,
    north: AzimuthReference,
    date_text: str | None,
    declination: str | None,
    ground: str | None,
    slope: Slope | None,
    climb_m: float,
    descent_m: float,
    rule: RuleName,
    off_path: bool,
    bead_of_metres: bool,
    as_json: bool,
) -> int:
    """Say the leg from one place to another: azimuth, own paces, cord; then metres, time, back azimuth.

    A place is in quotes: "37.4521 -119.2984", UTM, MGRS, "local 300 400", or a name of --places. More
    than two make a leg card. Or turn a length: --metres 350 --ground bog.
    """
    from pacewright.route.map_leg import Walking

    for word in places:
        if re.match(r"--|-[A-Za-z]", word):
            raise click.NoSuchOption(word)
    walker = open_walker(walker_file)
    walking = Walking(walker, ground, slope, climb_m, descent_m, rule, off_path, bead_of_metres)
    given = [metres is not None, paces is not None, bool(places)]
    if sum(given) != 1:
        raise click.UsageError("Give two or more places, or --metres N, or --paces N.")
    if not places:
        say(_length(metres, paces, walking), as_json)
        return 0
    if len(places) < 2:
        raise click.UsageError(f'Where to? Give a second place behind "{places[0]}".')
    legs = _legs(places, _known(places_file), walking, north, date_text, declination)
    say(_answer(legs, places, walking), as_json)
    return 0


def _known(places_file: str | None) -> dict[str, str]:
    from pacewright.files.disk import read_bytes
    from pacewright.files.places_csv import read_places

    return {} if places_file is None else read_places(read_bytes(places_file), places_file)


def _legs(
    names: tuple[str, ...],
    known: dict[str, str],
    walking: Walking,
    north: AzimuthReference,
    date_text: str | None,
    declination: str | None,
) -> list[MapLeg]:
    from pacewright.answers.map_legs import LegsAsked, answer_map_legs
    from pacewright.core.log.log_heading import parse_declination
    from pacewright.files.field_model import bundled_field_model

    when = date_text or datetime.date.today().isoformat()
    stated_deg = None if declination is None else parse_declination(declination)
    asked = LegsAsked(names, walking, known, north, when, stated_deg)
    return answer_map_legs(bundled_field_model(), asked)


def _answer(legs: list[MapLeg], names: tuple[str, ...], walking: Walking) -> Answer:
    from pacewright.files.asked_json import leg_keys
    from pacewright.wording.map_legs import say_map_legs, say_time_rule

    keys = leg_keys(legs)
    said = say_map_legs(legs, names)
    explained = [say_time_rule(walking.rule, walking.off_path)]
    return Answer(keys, said.sentences, [Table(*table) for table in said.tables], explained=explained)


def _length(metres: float | None, paces: float | None, walking: Walking) -> Answer:
    from pacewright.files.asked_json import length_keys
    from pacewright.route.map_leg import metres_of, paced_length
    from pacewright.wording.map_legs import say_length_turned, say_time_rule

    length = paced_length(metres_of(paces or 0.0, walking) if metres is None else metres, walking)
    return Answer(
        length_keys(length),
        say_length_turned(length, walking.ground, is_metres=metres is not None),
        explained=[say_time_rule(walking.rule, walking.off_path)],
    )
