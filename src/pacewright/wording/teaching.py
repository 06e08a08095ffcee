"""Marks and advice in plain sentences: what a walk came to, and what a learner should practise."""

from __future__ import annotations

from typing import Final

from pacewright.core.adjust.closure import UNUSUAL_BELOW
from pacewright.core.compass import direction_deg
from pacewright.core.slips.mistakes import NAME_ABOVE
from pacewright.core.slips.slips import KIND_WEIGHT
from pacewright.course.class_report import favourite_slip, what_to_practise, why_nothing
from pacewright.course.grade_kinds import GradeKind
from pacewright.course.grading import Grade
from pacewright.course.learner_model import ClassFit, LearnerFit
from pacewright.course.marking import UNIT, MarkingRule
from pacewright.course.slip_rates import SlipRate
from pacewright.course.suspects import Suspected
from pacewright.wording.findings import CAUSE, say_percent
from pacewright.wording.numbers import say_azimuth, say_length, say_whole

CAUTION: Final = (
    "A mark from a practice course says how this walk went, not that a learner is safe alone: local rules and "
    "qualified instruction come first."
)
MOST_SUSPECTS: Final = 3
MOST_WALKS_SAID: Final = 20
BESIDE: Final[dict[GradeKind, str]] = {
    "start_wrong": "the walk began at the neighbouring stake",
    "never_left": "the learner ended where the card starts",
    "card_swapped": "another card was walked",
}


def _causes(otherwise: dict[GradeKind, str]) -> dict[GradeKind, str]:
    """What happened, slip by slip, where a class says it otherwise than a log does."""
    words: dict[GradeKind, str] = {}
    words.update({kind: CAUSE[kind] for kind in KIND_WEIGHT})
    words.update(otherwise)
    return words


_WALKED: Final = _causes(
    {
        "leg_missing": "the leg was not walked",
        "digit_misread": "the azimuth was held with one digit misread",
        "digits_swapped": "two digits were read in the wrong order",
        "azimuth_reversed": "the leg was walked the opposite way",
        "quadrant_wrong": "the leg was walked a quarter circle off",
        **BESIDE,
        "other": "no slip that is known explains it",
    }
)
_WRITTEN: Final = _causes(
    {
        "tally_lost": "a hundred too few",
        "tally_added": "a hundred too many",
        "thousand_lost": "a thousand too few",
        "leg_missing": "the leg is not in the log",
        **BESIDE,
        "other": "no slip that is known explains it",
    }
)
_NAMED: Final[dict[GradeKind, str]] = {
    "tally_lost": "a hundred not tallied",
    "tally_added": "a hundred tallied twice",
    "thousand_lost": "a thousand not tallied",
    "azimuth_reversed": "walking the opposite way",
    "digit_misread": "one digit of the azimuth misread",
    "digits_swapped": "two digits in the wrong order",
    "leg_missing": "a leg left out",
    "offset_mirrored": "going round the other side",
    "declination_mirrored": "the declination the wrong way",
    "steps_for_paces": "counting steps as paces",
    "paces_for_steps": "halving paces as if they were steps",
    "quadrant_wrong": "an azimuth a quarter circle off",
    "rows_exchanged": "two legs in the other order",
    "start_wrong": "starting at the neighbouring stake",
    "never_left": "ending where the card starts",
    "card_swapped": "walking another card",
    "other": "a row that does not read what the card asks",
}
CURE: Final[dict[GradeKind, str]] = {
    "tally_lost": "move a bead or a knot at every hundred, aloud, before the next step",
    "tally_added": "move a bead or a knot at every hundred, and never from memory",
    "thousand_lost": "write the thousand down as it is reached",
    "azimuth_reversed": "before each leg point where you will go and check it against the sun or the land",
    "digit_misread": "read the dial, then the card, then the dial again",
    "digits_swapped": "say the number aloud as you set it and as you write it",
    "leg_missing": "tick every leg on the card as you finish it",
    "offset_mirrored": "draw the way round on the card before you leave the line",
    "declination_mirrored": "work one azimuth both ways and see which points at a thing you know",
    "steps_for_paces": "count one foot only",
    "paces_for_steps": "count one foot only, and write what you counted",
    "quadrant_wrong": "say the quarter aloud (north-east, south-east) before you set the dial",
    "rows_exchanged": "number the cards, and say the number before you set out",
    "start_wrong": "read the name on the stake aloud before you set out",
    "never_left": "look back after the first leg: is the start stake behind you?",
    "card_swapped": "write your name on the card before you read it",
    "other": "copy the card again and read it back",
}


def kind_named(kind: GradeKind) -> str:
    """A slip as a few words.

    >>> kind_named("tally_lost")
    'a hundred not tallied'
    """
    return _NAMED[kind]


def say_grade(one: Grade) -> list[str]:
    """Say how far off a walk ended, what may explain it, the mark, and how much luck is in it."""
    return [*_say_miss(one), *say_suspects(one), *_say_mark(one), *one.said]


def _say_miss(one: Grade) -> list[str]:
    found = sum(there for _, there in one.points)
    points = [f"{found} of {len(one.points)} points were found."] if len(one.points) > 1 else []
    miss = one.miss
    if miss is None:
        return points
    about = f" (the place is known to about {say_whole(miss.sd_m)} m)" if miss.sd_m > 3.0 else ""
    if miss.length_m < 0.5:
        return [*points, f"{one.handed.learner} ended at {one.key.card.ends}, where the card ends{about}."]
    toward = say_azimuth(direction_deg(miss.east_m, miss.north_m))
    said = (
        f"{one.handed.learner} ended {say_length(miss.length, 'pace')} ({say_whole(miss.length_m)} m) from "
        f"{one.key.card.ends}, toward {toward}{about}: {miss.multiple:.1f} times the usual miss of an ordinary "
        f"counter on this card. {say_how_many(miss.chance)} as badly."
    )
    return [*points, said]


def say_how_many(chance: float) -> str:
    """Say how many ordinary counters end as far off or farther, as the beginning of a sentence.

    >>> say_how_many(0.34)
    'About 34 of a hundred ordinary counters do'
    """
    if chance < 0.001:
        return "Fewer than one ordinary counter in a thousand does"
    if chance < 0.01:
        return f"About {round(1000 * chance)} of a thousand ordinary counters do"
    return f"About {round(100 * chance)} of a hundred ordinary counters do"


def say_suspects(one: Grade) -> list[str]:
    """Say which slips are in the log, and which the finish gives away."""
    said = [_say_written(slip) for slip in one.suspects if slip.where == "written"]
    walked = [slip for slip in one.suspects if slip.where == "walked"]
    chance = one.slip_chance
    if chance is None:
        return said
    if chance < 0.5 and one.miss is not None and one.miss.chance < UNUSUAL_BELOW:
        return [
            *said,
            "That is more than ordinary scatter usually explains; the finish does not tell which slip it was.",
        ]
    if chance < 0.5:
        return said or ["Ordinary scatter explains the finish; no slip shows."]
    if not walked or (one.walked is not None and one.walked.other_probability > 0.5):
        return [
            *said,
            "Ordinary scatter does not explain the finish, and no single slip that is known does: ask what happened.",
        ]
    if walked[0].chance > NAME_ABOVE:
        return [*said, f"{_say_walked(walked[0]).capitalize()} ({say_percent(walked[0].chance)})."]
    listed = "; or ".join(
        f"{_say_walked(slip)} ({say_percent(slip.chance)})" for slip in walked[:MOST_SUSPECTS]
    )
    return [*said, f"A slip was probably walked ({say_percent(chance)}). Ask about these first: {listed}."]


def _say_written(slip: Suspected) -> str:
    if slip.leg is None and slip.instead is None:
        return f"All counts of the log are off alike: {_WRITTEN[slip.kind]}."
    if slip.leg is None and slip.instead is not None:
        return f"The log has a leg that is not on the card: {_entry(slip.instead)}."
    if slip.instead is None:
        return f"Leg {slip.leg}: {_WRITTEN['leg_missing']}."
    asked = _entry(slip.asked) if slip.asked else "nothing"
    said = f"Leg {slip.leg} reads {_entry(slip.instead)} where the card asks {asked}: {_WRITTEN[slip.kind]}"
    if slip.walked_chance is None:
        return said + "."
    if slip.walked_chance > 0.5:
        return f"{said}. It was walked so, too ({say_percent(slip.walked_chance)})."
    return f"{said}. The finish says that it was only written so ({say_percent(1 - slip.walked_chance)})."


def _say_walked(slip: Suspected) -> str:
    if slip.leg:
        return f"leg {slip.leg}: {_WALKED[slip.kind]}"
    name = {"start_wrong": f", {slip.name}", "card_swapped": f", card {slip.name}"}.get(slip.kind, "")
    return _WALKED[slip.kind] + name


def _entry(entry: tuple[float, float]) -> str:
    return f"{say_azimuth(entry[0])}, {say_whole(entry[1])}"


def _say_mark(one: Grade) -> list[str]:
    if one.mark is None:
        return []
    full = one.rule.full_marks
    said = f"Mark: {one.mark:.4g} of {full:.4g} by the rule {one.rule.name}."
    luck = one.luck
    if luck is None:
        return [said]
    slipped = one.slip_chance is not None and one.slip_chance > 0.5
    if slipped and luck.high - luck.low < 0.01 * full:
        return [f"{said} Without a slip, an ordinary learner would most likely get {luck.high:.4g}."]
    if slipped:
        return [
            f"{said} Without a slip, an ordinary learner would get {luck.low:.4g} to {luck.high:.4g} in four walks of five."
        ]
    if luck.high - luck.low < 0.01 * full and abs(luck.high - one.mark) >= 0.01 * full:
        return [f"{said} Walking again, the same learner would most likely get {luck.high:.4g}."]
    if luck.high - luck.low < 0.01 * full:
        return [f"{said} The same learner would most likely get it again."]
    return [
        f"{said} The same learner, walking again, would get {luck.low:.4g} to {luck.high:.4g} "
        "in four walks of five: so much of it is luck."
    ]


def say_rule(rule: MarkingRule) -> str:
    """Say a marking rule, so that a class knows how it is marked."""
    unit = UNIT[rule.kind]
    said = f"{rule.name}: {unit}"
    if rule.steps:
        said += "; " + ", ".join(f"{limit:g} gives {mark:g}" for limit, mark in rule.steps)
    said += f". Full marks are {rule.full_marks:g}."
    if rule.forgives:
        said += " A miss that more than one ordinary walk in twenty has gets full marks."
    if rule.minutes_allowed is not None:
        said += f" Every minute begun beyond {rule.minutes_allowed:g} takes off {rule.off_a_minute:g}."
    return said


def say_learner(learner: LearnerFit) -> str:
    """Say in one paragraph what a learner should practise, and what does not show yet."""
    walks = "1 walk" if learner.walks == 1 else f"{learner.walks} walks"
    skill = learner.skill
    said = [
        f"{learner.learner}, {walks}: a walk of a kilometre usually ends {say_whole(skill.miss_m)} m off "
        f"({say_whole(skill.low_m)} to {say_whole(skill.high_m)} m)."
    ]
    said.append(say_advice(learner))
    said += _not_yet(learner)
    return " ".join(said)


def say_advice(learner: LearnerFit) -> str:
    """Say what a learner's walks show to be practised first, and how."""
    what, slip = what_to_practise(learner), favourite_slip(learner)
    bias, scale = learner.bias_deg, learner.scale_pct
    match what:
        case "slip" if slip is not None:
            return _say_slip(slip)
        case "compass":
            side = "right" if bias.value > 0 else "left"
            least, most = sorted((abs(bias.low), abs(bias.high)))
            return (
                f"Every leg goes {abs(bias.value):.1f} deg to the {side} ({least:.1f} deg to {most:.1f} deg): practise sighting "
                "over the compass at a far mark and checking the back azimuth, or try another compass."
            )
        case "pace":
            longer = "longer" if scale.value > 0 else "shorter"
            return (
                f"A pace is {abs(scale.value):.1f} % {longer} than stated: walk the pace trial again, on ground like the "
                "course, and use the new pace count."
            )
        case "slope":
            return (
                "Slopes change the pace: walk pace trials uphill and downhill, and keep a pace count for each."
                + _say_slopes(learner)
            )
        case "azimuth":
            return (
                f"Azimuths scatter by {learner.azimuth_sd_deg.value:.1f} deg, more than usual: practise holding one from "
                "mark to mark, the next mark chosen before the last is left."
            )
        case "count":
            return (
                f"Counts scatter by {learner.count_sd_pct.value:.0f} %, more than usual: practise an even pace on a "
                "measured line, and tally every hundred."
            )
        case _:
            return _say_nothing_found(learner)


def _say_nothing_found(learner: LearnerFit) -> str:
    match why_nothing(learner):
        case "points":
            return (
                f"{learner.missed} of {learner.points} points were not found: go over those legs together, and walk "
                "shorter legs on easier ground until every point is found."
            )
        case "slips":
            return (
                f"In {learner.walks - learner.clean} of {learner.walks} walks there was more likely a slip than not, and no one kind "
                "stands out: say azimuth and count aloud before each leg, and tick the leg off after it."
            )
        case "too little yet":
            return "The learner's own walks tell too little yet to say what to practise."
        case _:
            return "Nothing stands out: go on as now."


def _say_slopes(learner: LearnerFit) -> str:
    parts = []
    for word, slope in (("uphill", learner.up_pct), ("downhill", learner.down_pct)):
        if slope is not None and slope.shows:
            parts.append(
                f"{word} it is {abs(slope.value):.0f} % {'longer' if slope.value > 0 else 'shorter'}"
            )
    return f" {' and '.join(parts).capitalize()}." if parts else ""


def _say_slip(slip: SlipRate) -> str:
    times = slip.per_100_legs / slip.others_per_100_legs
    return (
        f"The slip to practise against is {_NAMED[slip.kind]} (some {slip.seen:.0f} seen, {times:.0f} times the usual "
        f"rate): {CURE[slip.kind]}."
    )


def _not_yet(learner: LearnerFit) -> list[str]:
    said = []
    bias, scale = learner.bias_deg, learner.scale_pct
    if not bias.shows:
        if learner.more_walks == 0:
            said.append("No drift to either side shows, to a degree.")
        elif learner.more_walks > MOST_WALKS_SAID:
            said.append("No sign of a drift to either side yet; walks of this kind hardly tell it.")
        else:
            more = "1 more walk" if learner.more_walks == 1 else f"{learner.more_walks} more walks"
            said.append(f"No sign of a drift to either side yet; {more} would tell it to a degree.")
    if not scale.shows:
        said.append(
            f"No sign yet that the pace count is off ({round(scale.low):+d} to {round(scale.high):+d} %)."
        )
    return said


def say_class(fit: ClassFit) -> list[str]:
    """Say what the whole class has in common: one side, one length, and how often slips come."""
    said = []
    bias, scale = fit.class_bias_deg, fit.class_scale_pct
    if bias.shows:
        side = "right" if bias.value > 0 else "left"
        said.append(
            f"The whole class goes {abs(bias.value):.1f} deg to the {side}: look at the course's azimuths, the "
            "declination, and the compasses, before you look at the learners."
        )
    if scale.shows:
        way = "far" if scale.value > 0 else "short"
        said.append(
            f"The whole class walks {abs(scale.value):.1f} % too {way}: look at the line on which paces were counted."
        )
    if any(one.walked is not None for one in fit.grades):
        often = round(100 * fit.slip_share)
        said.append(f"About {often} of 100 walks hold a slip that was walked.")
    return said
