"""pacewright range."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from pacewright.cli.options import json_option, out_options, probability_option, walker_option
from pacewright.exceptions import ValueComplaint

if TYPE_CHECKING:
    from pacewright.core.pace.walker import Walker
    from pacewright.core.ranging.range_result import LengthUnit, Range

F = TypeVar("F", bound=Callable[..., Any])

_UNITS: dict[str, LengthUnit] = {"paces": "pace", "steps": "step", "metres": "metre"}


@click.group("range")
def command() -> None:
    """Work out a distance that cannot be walked, with how sure it is and its row for a log.

    Without a walker file the scatter of azimuths and counts stands at its defaults.
    """


def _answer_options(function: F) -> F:
    for decorate in (
        json_option,
        out_options("the drawing (.svg, .png or .pdf)"),
        probability_option,
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
        help="What the lengths are in.",
    )


_azimuth_option = click.option("--azimuth", help="To the far mark, for the row of the log.")


@command.command("right-angle", short_help="Walk square to the line across until the mark has changed.")
@click.option("--base", type=float, required=True, help="Walked square to the first azimuth.")
@click.option("--base-sd", type=float, help="Its standard deviation, in the same unit.")
@click.option("--first-azimuth", required=True, help="To the far mark before the walk.")
@click.option("--second-azimuth", required=True, help="To the same mark after it.")
@_unit_option("paces")
@_answer_options
def right_angle(
    base: float, base_sd: float | None, first_azimuth: str, second_azimuth: str, unit: str, **answer: Any
) -> None:
    """Walk square to the line across until the mark has changed by 45 degrees: that is the width.

    Any other change will do as well.
    """
    from pacewright.core.ranging.ranging import range_by_right_angle

    def work(walker: Walker) -> Range:
        return range_by_right_angle(
            base,
            _azimuth("--first-azimuth", first_azimuth),
            _azimuth("--second-azimuth", second_azimuth),
            unit=_UNITS[unit],
            base_sd=base_sd,
            walker=walker,
            probability=answer["probability"],
        )

    _answer(work, **answer)


@command.command("base-line", short_help="Azimuths from both ends of a base line.")
@click.option("--base", type=float, required=True, help="Counted from A to B.")
@click.option("--base-sd", type=float, help="Its standard deviation, in the same unit.")
@click.option("--base-azimuth", required=True, help="From A to B.")
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
    from pacewright.core.ranging.ranging import range_by_base_line

    def work(walker: Walker) -> Range:
        return range_by_base_line(
            base,
            _azimuth("--base-azimuth", base_azimuth),
            _azimuth("--from-a", from_a),
            _azimuth("--from-b", from_b),
            goal=goal,
            unit=_UNITS[unit],
            base_sd=base_sd,
            walker=walker,
            probability=answer["probability"],
        )

    _answer(work, **answer)


@command.command("stakes", short_help="Stakes and two right angles, no compass.")
@click.option("--to-stake", type=float, required=True, help="From opposite the mark to the stake.")
@click.option("--stake-to-turn", type=float, required=True, help="From the stake on to the turn.")
@click.option("--inland", type=float, required=True, help="From the turn to where stake and mark line up.")
@click.option("--length-sd", type=float, help="Standard deviation of each of the three walks.")
@click.option("--square-sd-deg", type=float, help="Standard deviation of a right angle laid off by eye.")
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
    from pacewright.core.ranging.ranging import range_by_stakes

    def work(walker: Walker) -> Range:
        return range_by_stakes(
            to_stake,
            stake_to_turn,
            inland,
            unit=_UNITS[unit],
            azimuth_deg=_azimuth_or_none(azimuth),
            length_sd=length_sd,
            walker=walker,
            probability=answer["probability"],
            **_given(square_sd_deg=square_sd_deg),
        )

    _answer(work, **answer)


@command.command("mils", short_help="A known size and the angle it fills.")
@click.option("--size", type=float, required=True, help="Known height or width.")
@click.option("--size-sd", type=float, help="Its standard deviation, in the same unit (5 % if not given).")
@click.option("--angle-mil", type=float, required=True, help="The angle it fills, 6400 mils to the circle.")
@click.option("--angle-sd-mil", type=float, help="Standard deviation of that angle (1 if not given).")
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
    from pacewright.core.ranging.ranging_standing import range_by_mils

    def work(_: Walker) -> Range:
        return range_by_mils(
            size,
            angle_mil,
            unit=_UNITS[unit],
            azimuth_deg=_azimuth_or_none(azimuth),
            size_sd=size_sd,
            probability=answer["probability"],
            **_given(angle_sd_mil=angle_sd_mil),
        )

    _answer(work, **answer)


@command.command("thumb", short_help="Arm and thumb, one eye after the other.")
@click.option("--jump", type=float, required=True, help="How far the thumb jumps over there.")
@click.option("--jump-sd", type=float, help="Its standard deviation, in the same unit (20 % if not given).")
@click.option("--ratio", type=float, help="Eye to thumb over eye to eye, as measured on you (else 10).")
@click.option("--ratio-sd", type=float, help="Its standard deviation.")
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
    from pacewright.core.ranging.ranging_standing import range_by_thumb

    def work(_: Walker) -> Range:
        return range_by_thumb(
            jump,
            ratio,
            unit=_UNITS[unit],
            azimuth_deg=_azimuth_or_none(azimuth),
            jump_sd=jump_sd,
            ratio_sd=ratio_sd,
            probability=answer["probability"],
        )

    _answer(work, **answer)


@command.command("sound", short_help="The delay between a flash and its sound.")
@click.option("--delay-s", type=float, required=True, help="Seconds from seeing to hearing.")
@click.option("--delay-sd-s", type=float, help="Its standard deviation (0.2 if not given).")
@click.option("--air-temp-c", type=float, required=True, help="Temperature of the air, degrees Celsius.")
@click.option("--air-temp-sd-c", type=float, help="Its standard deviation (5 if not given).")
@click.option("--wind-sd-mps", type=float, help="Unknown wind along the line, m/s (3 if not given).")
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
    from pacewright.core.ranging.ranging_standing import range_by_sound

    def work(_: Walker) -> Range:
        return range_by_sound(
            delay_s,
            air_temp_c,
            azimuth_deg=_azimuth_or_none(azimuth),
            probability=answer["probability"],
            **_given(delay_sd_s=delay_sd_s, air_temp_sd_c=air_temp_sd_c, wind_sd_mps=wind_sd_mps),
        )

    _answer(work, **answer)


def _answer(
    work: Callable[[Walker], Range],
    *,
    walker_file: str | None,
    log_unit: str | None,
    probability: float,
    out: str | None,
    force: bool,
    as_json: bool,
) -> None:
    from pacewright.cli.options import open_walker
    from pacewright.cli.output import Answer, say, write_out
    from pacewright.core.ranging.range_result import range_row
    from pacewright.wording.ranging import say_range

    walker = open_walker(walker_file)
    found = work(walker)
    count_unit = _UNITS[log_unit] if log_unit else None
    row = range_row(found, count_unit=count_unit, walker=walker)
    sentences = say_range(found, count_unit=count_unit, walker=walker)
    if out is not None:
        from pathlib import PurePath

        from pacewright.drawing.ranging_diagrams import draw_ranging
        from pacewright.drawing.render import render

        write_out(out, render(draw_ranging(found), PurePath(out).suffix), force)
    data = {
        "method": found.method,
        "distance": found.distance,
        "distance_sd": found.distance_sd,
        "unit": found.unit,
        "low": found.low,
        "high": found.high,
        "probability": found.probability,
        "rule_of_thumb": found.rule_of_thumb,
        "rule_off_pct": found.rule_off_pct,
        "row": {"azimuth": row.azimuth_text, "count": row.count_text, "notes": row.notes},
        "facts": dict(found.facts),
    }
    say(Answer(data, sentences), as_json)


def _given(**options: float | None) -> dict[str, Any]:
    # What was not given keeps the default of the room below.
    return {name: value for name, value in options.items() if value is not None}


def _azimuth(option: str, text: str) -> float:
    from pacewright.core.compass import parse_azimuth

    try:
        return parse_azimuth(text)
    except ValueComplaint as complaint:
        raise ValueComplaint(f"{option}: {complaint.what}", complaint.do) from None


def _azimuth_or_none(text: str | None) -> float | None:
    return None if text is None else _azimuth("--azimuth", text)
