"""pacewright range."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from pacewright.cli.angles import angle_option
from pacewright.cli.measures import LENGTH, NUMBER, OwnMetres
from pacewright.cli.options import json_option, probability_option, walker_option
from pacewright.cli.renamed import picture_option
from pacewright.exceptions import ValueComplaint

if TYPE_CHECKING:
    from pacewright.core.compass import AzimuthUnit
    from pacewright.core.ranging.range_result import LengthUnit, RangeMethod

F = TypeVar("F", bound=Callable[..., Any])

_LENGTHS = frozenset(
    (
        "base",
        "base_sd",
        "to_stake",
        "stake_to_turn",
        "inland",
        "length_sd",
        "size",
        "size_sd",
        "jump",
        "jump_sd",
    )
)
_UNITS: dict[str, LengthUnit] = {"paces": "pace", "steps": "step", "metres": "metre"}


@click.group("range")
def command() -> None:
    """Work out a distance that cannot be walked, with how sure it is and its row for a log.

    Without a walker file the scatter of azimuths and counts stands at its defaults.
    """


def _answer_options(function: F) -> F:
    for decorate in (
        angle_option,
        json_option,
        picture_option("what was measured"),
        probability_option,
        click.option(
            "--azimuth-unit",
            type=click.Choice(["degrees", "mils", "gon"]),
            default="degrees",
            show_default=True,
            help="Unit of every azimuth typed, and of the row.",
        ),
        click.option(
            "--log-unit",
            type=click.Choice(list(_UNITS)),
            help="What the log counts in; as measured if not given.",
        ),
        walker_option,
    ):
        function = decorate(function)
    return function


def _unit_option(default: str) -> Callable[[F], F]:
    return click.option(
        "--unit",
        type=click.Choice(list(_UNITS)),
        default=default,
        show_default=True,
        help="What the lengths are in; a length may also carry its own, such as '198 ft', '20 yd' or '3 ch'.",
    )


_azimuth_option = click.option("--azimuth", help="Azimuth to the far mark, for the row of the log.")


@command.command("right-angle", short_help="Walk square to the line across until the mark has changed.")
@click.option("--base", type=LENGTH, required=True, help="Length walked square to the first azimuth.")
@click.option("--base-sd", type=LENGTH, help="Its standard deviation, in the same unit.")
@click.option("--first-azimuth", required=True, help="Azimuth to the far mark before the walk.")
@click.option("--second-azimuth", required=True, help="Azimuth to the same mark after the walk.")
@_unit_option("paces")
@_answer_options
def right_angle(
    base: float, base_sd: float | None, first_azimuth: str, second_azimuth: str, unit: str, **answer: Any
) -> None:
    """Walk square to the line across until the mark has changed by 45 degrees: that is the width.

    Any other change will do as well.
    """
    readings = {
        "base": base,
        "azimuth_from_start_deg": _azimuth("--first-azimuth", first_azimuth),
        "azimuth_from_end_deg": _azimuth("--second-azimuth", second_azimuth),
        "base_sd": base_sd,
        "unit": _UNITS[unit],
    }
    _answer("right_angle", readings, **answer)


@command.command("base-line", short_help="Azimuths from both ends of a base line.")
@click.option("--base", type=LENGTH, required=True, help="Length of the base line, counted from A to B.")
@click.option("--base-sd", type=LENGTH, help="Its standard deviation, in the same unit.")
@click.option("--base-azimuth", required=True, help="Azimuth from A to B.")
@click.option("--from-a", required=True, help="Azimuth from A to the far mark.")
@click.option("--from-b", required=True, help="Azimuth from B to the far mark.")
@click.option(
    "--goal",
    type=click.Choice(["a", "b", "width"]),
    default="a",
    show_default=True,
    help="Distance from A, from B, or the width square to the base line.",
)
@_unit_option("paces")
@_answer_options
def base_line(
    base: float,
    base_sd: float | None,
    base_azimuth: str,
    from_a: str,
    from_b: str,
    goal: Any,
    unit: str,
    **answer: Any,
) -> None:
    """Count a base line and read the mark's azimuth from both ends."""
    readings = {
        "base": base,
        "base_azimuth_deg": _azimuth("--base-azimuth", base_azimuth),
        "azimuth_from_a_deg": _azimuth("--from-a", from_a),
        "azimuth_from_b_deg": _azimuth("--from-b", from_b),
        "goal": goal,
        "base_sd": base_sd,
        "unit": _UNITS[unit],
    }
    _answer("base_line", readings, **answer)


@command.command("stakes", short_help="Stakes and two right angles, no compass.")
@click.option("--to-stake", type=LENGTH, required=True, help="From opposite the mark to the stake.")
@click.option("--stake-to-turn", type=LENGTH, required=True, help="From the stake on to the turn.")
@click.option("--inland", type=LENGTH, required=True, help="From the turn to where stake and mark line up.")
@click.option("--length-sd", type=LENGTH, help="Standard deviation of each of the three walks.")
@click.option("--square-sd-deg", type=NUMBER, help="Standard deviation of a right angle laid off by eye.")
@_azimuth_option
@_unit_option("paces")
@_answer_options
def stakes(
    to_stake: float,
    stake_to_turn: float,
    inland: float,
    length_sd: float | None,
    square_sd_deg: float | None,
    azimuth: str | None,
    unit: str,
    **answer: Any,
) -> None:
    """Stakes and two right angles, with no compass at all."""
    readings = {
        "to_stake": to_stake,
        "stake_to_turn": stake_to_turn,
        "inland": inland,
        "length_sd": length_sd,
        "square_sd_deg": square_sd_deg,
        "azimuth_deg": _azimuth_or_none(azimuth),
        "unit": _UNITS[unit],
    }
    _answer("stakes", readings, **answer)


@command.command("mils", short_help="A known size and the angle it fills.")
@click.option("--size", type=LENGTH, required=True, help="Known height or width.")
@click.option("--size-sd", type=LENGTH, help="Its standard deviation, in the same unit (5 % if not given).")
@click.option("--angle-mil", type=NUMBER, required=True, help="The angle it fills, 6400 mils to the circle.")
@click.option("--angle-sd-mil", type=NUMBER, help="Standard deviation of that angle (1 if not given).")
@_azimuth_option
@_unit_option("metres")
@_answer_options
def mils(
    size: float,
    size_sd: float | None,
    angle_mil: float,
    angle_sd_mil: float | None,
    azimuth: str | None,
    unit: str,
    **answer: Any,
) -> None:
    """A thing of known size and the angle it fills, and by how much the thousand rule is off."""
    readings = {
        "size": size,
        "angle_mil": angle_mil,
        "size_sd": size_sd,
        "angle_sd_mil": angle_sd_mil,
        "azimuth_deg": _azimuth_or_none(azimuth),
        "unit": _UNITS[unit],
    }
    _answer("mils", readings, **answer)


@command.command("thumb", short_help="Arm and thumb, one eye after the other.")
@click.option(
    "--jump", type=LENGTH, required=True, help="How far the thumb jumps against what lies behind it."
)
@click.option("--jump-sd", type=LENGTH, help="Its standard deviation, in the same unit (20 % if not given).")
@click.option("--ratio", type=NUMBER, help="Eye to thumb over eye to eye, as measured on you (else 10).")
@click.option("--ratio-sd", type=NUMBER, help="Its standard deviation.")
@_azimuth_option
@_unit_option("metres")
@_answer_options
def thumb(
    jump: float,
    jump_sd: float | None,
    ratio: float | None,
    ratio_sd: float | None,
    azimuth: str | None,
    unit: str,
    **answer: Any,
) -> None:
    """Arm and thumb: look past the thumb with one eye, then with the other."""
    readings = {
        "jump": jump,
        "ratio": ratio,
        "jump_sd": jump_sd,
        "ratio_sd": ratio_sd,
        "azimuth_deg": _azimuth_or_none(azimuth),
        "unit": _UNITS[unit],
    }
    _answer("thumb", readings, **answer)


@command.command("sound", short_help="The delay between a flash and its sound.")
@click.option("--delay-s", type=NUMBER, required=True, help="Seconds from seeing to hearing.")
@click.option("--delay-sd-s", type=NUMBER, help="Its standard deviation (0.2 if not given).")
@click.option("--air-temp-c", type=NUMBER, required=True, help="Temperature of the air, degrees Celsius.")
@click.option("--air-temp-sd-c", type=NUMBER, help="Its standard deviation (5 if not given).")
@click.option("--wind-sd-mps", type=NUMBER, help="Unknown wind along the line, m/s (3 if not given).")
@_azimuth_option
@_answer_options
def sound(
    delay_s: float,
    delay_sd_s: float | None,
    air_temp_c: float,
    air_temp_sd_c: float | None,
    wind_sd_mps: float | None,
    azimuth: str | None,
    **answer: Any,
) -> None:
    """The delay between a flash or a blow and its sound."""
    readings = {
        "delay_s": delay_s,
        "air_temp_c": air_temp_c,
        "delay_sd_s": delay_sd_s,
        "air_temp_sd_c": air_temp_sd_c,
        "wind_sd_mps": wind_sd_mps,
        "azimuth_deg": _azimuth_or_none(azimuth),
    }
    _answer("sound", readings, **answer)


def _answer(
    method: RangeMethod,
    readings: dict[str, Any],
    *,
    walker_file: str | None,
    azimuth_unit: AzimuthUnit,
    log_unit: str | None,
    probability: float,
    out: str | None,
    force: bool,
    as_json: bool,
) -> None:
    from pacewright.answers.ranging import RangeAsked, answer_range
    from pacewright.cli.options import open_walker
    from pacewright.cli.output import Answer, say, write_out
    from pacewright.files.asked_json import range_keys
    from pacewright.wording.ranging import say_range

    walker = open_walker(walker_file)
    answer = answer_range(
        RangeAsked(
            method,
            _as_measured(readings, azimuth_unit),
            _UNITS[log_unit] if log_unit else None,
            azimuth_unit,
        ),
        walker,
        probability,
    )
    found = answer.found
    sentences = say_range(found, count_unit=answer.count_unit, walker=walker, azimuth_unit=azimuth_unit)
    if out is not None:
        from pathlib import PurePath

        from pacewright.drawing.ranging_diagrams import draw_ranging
        from pacewright.drawing.render import render

        write_out(out, render(draw_ranging(found), PurePath(out).suffix), force)
    say(Answer(range_keys(answer), sentences), as_json)


Typed = tuple[str, str]
"""An azimuth as typed: the option, and the text."""


def _azimuth(option: str, text: str) -> Typed:
    return option, text


def _azimuth_or_none(text: str | None) -> Typed | None:
    return None if text is None else ("--azimuth", text)


def _as_measured(readings: dict[str, Any], unit: AzimuthUnit) -> dict[str, Any]:
    """The readings with azimuths in degrees, and lengths in one unit."""
    from pacewright.cli.options import option_azimuth

    own = [
        isinstance(value, OwnMetres)
        for name, value in readings.items()
        if name in _LENGTHS and value is not None
    ]
    if any(own) and not all(own):
        raise ValueComplaint(
            "some lengths have a unit of their own and others have none",
            "Write the unit behind each, or behind none",
        )
    read = {
        name: option_azimuth(value[0], value[1], unit) if isinstance(value, tuple) else value
        for name, value in readings.items()
    }
    if any(own):
        read |= {name: float(readings[name]) for name in _LENGTHS if readings.get(name) is not None}
        read["unit"] = "metre"
    return read
