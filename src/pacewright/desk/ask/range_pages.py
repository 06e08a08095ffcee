"""A distance that cannot be walked: a page for each of the six ways, with its drawing and its row."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.desk.ask.fields import (
    AskForm,
    ReadField,
    WalkerForm,
    azimuth_field,
    choice_field,
    number_field,
)
from pacewright.desk.ask.pages import Answered, AskPage, split_caution

PACES_FIRST: Final = (("pace", "paces"), ("step", "steps"), ("metre", "metres"))
METRES_FIRST: Final = (("metre", "metres"), ("pace", "paces"), ("step", "steps"))
LOG_UNITS: Final = (("", "as measured"), *PACES_FIRST)
BY_COUNTS: Final = "by the walker's counts"
AZIMUTH_HINT: Final = "To the far mark, for the row of the log."


def _sure_field(label: str, empty: str = "") -> ReadField:
    """How sure a reading is; `empty` says what is taken where nothing is written."""
    return number_field(label, f"Standard deviation; empty: {empty}." if empty else "Standard deviation.")


class RangeForm(WalkerForm):
    """What every way asks: whose paces, and what the log counts in."""

    log_unit = choice_field("the log counts in", LOG_UNITS)

    def is_few(self, name: str) -> bool:
        """True for how sure a reading is, and for the unit of the log."""
        return name == "log_unit" or "_sd" in name

    def readings(self) -> dict[str, Any]:
        """What was measured, by the name of a reading; None where it was left empty."""
        passed_over = {"walker", "log_unit"}
        return {name: self.given(name) for name in self.fields if name not in passed_over}


class RightAngleForm(RangeForm):
    """Walk square to the line across."""

    base = number_field("walked square to the first azimuth", required=True)
    azimuth_from_start_deg = azimuth_field("azimuth of the mark before the walk", required=True)
    azimuth_from_end_deg = azimuth_field("azimuth of the same mark after it", required=True)
    unit = choice_field("counted in", PACES_FIRST)
    base_sd = _sure_field("the walk is sure to", BY_COUNTS)


class BaseLineForm(RangeForm):
    """Azimuths from both ends of a base line."""

    base = number_field("base line, from A to B", required=True)
    base_azimuth_deg = azimuth_field("azimuth from A to B", required=True)
    azimuth_from_a_deg = azimuth_field("azimuth of the mark from A", required=True)
    azimuth_from_b_deg = azimuth_field("azimuth of the mark from B", required=True)
    goal = choice_field(
        "the distance is wanted", (("a", "from A"), ("b", "from B"), ("width", "square to the base line"))
    )
    unit = choice_field("counted in", PACES_FIRST)
    base_sd = _sure_field("the base line is sure to", BY_COUNTS)


class StakesForm(RangeForm):
    """Stakes and two right angles."""

    to_stake = number_field("from opposite the mark to the stake", required=True)
    stake_to_turn = number_field("from the stake on to the turn", required=True)
    inland = number_field("from the turn to where stake and mark line up", required=True)
    azimuth_deg = azimuth_field("azimuth", AZIMUTH_HINT)
    unit = choice_field("counted in", PACES_FIRST)
    length_sd = _sure_field("each walk is sure to", BY_COUNTS)
    square_sd_deg = number_field("a right angle is sure to, degrees", "Standard deviation, laid off by eye.")


class MilsForm(RangeForm):
    """A known size and the angle it fills."""

    size = number_field("known height or width", required=True)
    angle_mil = number_field("the angle it fills, mils", "6400 mils to the circle.", required=True)
    azimuth_deg = azimuth_field("azimuth", AZIMUTH_HINT)
    unit = choice_field("the size is in", METRES_FIRST)
    size_sd = _sure_field("the size is sure to", "5 %")
    angle_sd_mil = _sure_field("the angle is sure to, mils", "1")


class ThumbForm(RangeForm):
    """Arm and thumb."""

    jump = number_field("how far the thumb jumps over there", required=True)
    ratio = number_field("eye to thumb over eye to eye", "As measured on you; empty: 10.")
    azimuth_deg = azimuth_field("azimuth", AZIMUTH_HINT)
    unit = choice_field("the jump is in", METRES_FIRST)
    jump_sd = _sure_field("the jump is sure to", "20 %")
    ratio_sd = _sure_field("the ratio is sure to")


class SoundForm(RangeForm):
    """The delay between a flash and its sound."""

    delay_s = number_field("seconds from seeing to hearing", required=True)
    air_temp_c = number_field("temperature of the air, degrees Celsius", required=True)
    azimuth_deg = azimuth_field("azimuth", AZIMUTH_HINT)
    delay_sd_s = _sure_field("the delay is sure to, seconds", "0.2")
    air_temp_sd_c = _sure_field("the temperature is sure to, degrees", "5")
    wind_sd_mps = number_field("unknown wind along the line, metres a second", "Empty: 3.")


def _answering(method: Any) -> Callable[[RangeForm], Answered]:
    def answer(form: RangeForm) -> Answered:
        from pacewright.answers.ranging import RangeAsked, answer_range
        from pacewright.drawing.ranging_diagrams import draw_ranging
        from pacewright.wording.ranging import say_range

        walker = form.who()
        asked = RangeAsked(method, form.readings(), form.given("log_unit") or None)
        found = answer_range(asked, walker, DEFAULT_PROBABILITY)
        *said, label, row = say_range(found.found, count_unit=found.count_unit, walker=walker)
        sentences, caution = split_caution(said)
        figure = ("The distance as it was measured.", draw_ranging(found.found, sketch_only=True))
        return Answered([*sentences, label], figures=[figure], row=row, caution=caution)

    return answer


def _page(name: str, method: str, tab: str, lead: str, form: type[AskForm]) -> AskPage:
    return AskPage(name, "range", "How far, across what you cannot walk", tab, lead, form, _answering(method))


RANGE_PAGES: Final = (
    _page(
        "right-angle",
        "right_angle",
        "Right angle",
        "Walk square to the line across until the mark has changed by 45 degrees: that is the width. Any "
        "other change will do as well.",
        RightAngleForm,
    ),
    _page(
        "base-line",
        "base_line",
        "Base line",
        "Count a base line and read the mark's azimuth from both ends.",
        BaseLineForm,
    ),
    _page("stakes", "stakes", "Stakes", "Stakes and two right angles, with no compass at all.", StakesForm),
    _page("mils", "mils", "Known size", "A thing of known size and the angle it fills, in mils.", MilsForm),
    _page(
        "thumb",
        "thumb",
        "Thumb",
        "Arm and thumb: look past the thumb with one eye, then with the other.",
        ThumbForm,
    ),
    _page("sound", "sound", "Sound", "The delay between a flash or a blow and its sound.", SoundForm),
)
