"""Numbers and lengths as options give them: a decimal comma, a length with a unit of its own."""

from __future__ import annotations

from typing import Any, Final

import click


class Number(click.FloatRange):
    """A number, with a decimal point or a decimal comma."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Read it; three digits after a comma may be thousands and are refused."""
        from pacewright.core.plausible import decimal_point

        plain: Any = decimal_point(value) if isinstance(value, str) else value
        try:
            number: float = super().convert(plain, param, ctx)
        except click.BadParameter:
            try:
                float(plain)
            except ValueError:
                self.fail(f"{value!r} is not a number. Write digits, such as 12.5.", param, ctx)
            raise
        # What is no number is neither below a range nor above it.
        if number != number and (self.min is not None or self.max is not None):
            self.fail(f"{value} is not in the range {self._describe_range()}.", param, ctx)
        return number

    def _describe_range(self) -> str:
        # Without bounds the help has none to show.
        return "" if self.min is None and self.max is None else super()._describe_range()


class Azimuth(click.ParamType):  # type: ignore[type-arg, unused-ignore]
    """An azimuth in degrees, a point of the compass, or a quadrant bearing."""

    name = "azimuth"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Read it, in degrees."""
        if not isinstance(value, str):
            return float(value)
        from pacewright.core.compass import parse_azimuth
        from pacewright.exceptions import Complaint

        try:
            return parse_azimuth(value.strip())
        except Complaint as complaint:
            self.fail(f"{complaint.what}. {complaint.do}.", param, ctx)


class Metres(Number):
    """A length in metres; feet, yards and chains where it carries its unit."""

    name = "metres"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Read it, in metres."""
        from pacewright.core.written_lengths import length_m

        metres = length_m(value) if isinstance(value, str) else None
        return super().convert(value if metres is None else metres, param, ctx)


class OwnMetres(float):
    """A length that came with its own unit, in metres."""


class Length(Number):
    """A number in the unit that the command counts in, or a length such as `198 ft`."""

    name = "length"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Read it; a length with its own unit comes as `OwnMetres`."""
        from pacewright.core.written_lengths import length_m

        metres = length_m(value) if isinstance(value, str) else None
        return super().convert(value, param, ctx) if metres is None else OwnMetres(metres)


NUMBER: Final = Number()
LENGTH: Final = Length()
METRES: Final = Metres()
AZIMUTH: Final = Azimuth()
