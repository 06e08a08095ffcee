"""What a learner carries in case of trouble, in words: the strip, what to do where a post is missing, when back."""

from __future__ import annotations

from typing import Final

from pacewright.course.course import Card, Course
from pacewright.wording.numbers import say_whole

BLANK: Final = "________"
"""Where the instructor has not said it, it is written in by hand."""


def strip_fields(course: Course) -> tuple[tuple[str, str], ...]:
    """The strip of every card and phone page: what is said, and what; empty where it was not set."""
    safety = course.safety
    azimuth = "" if safety.backstop_azimuth_deg is None else f"{round(safety.backstop_azimuth_deg) % 360} deg"
    until = safety.backstop
    if until and safety.backstop_within_m is not None:
        until = f"{until}, within {say_whole(safety.backstop_within_m)} m"
    return (
        ("Lost? Walk azimuth", azimuth),
        ("to", until),
        ("Back by", safety.back_by),
        ("Recall signal", safety.recall),
        ("Call", safety.call),
    )


def say_missed(course: Course) -> list[str]:
    """Say what to do where a post is not found: a rule that somebody lost can follow, step by step."""
    search_m = "" if course.finding is None else f" {say_whole(course.finding.search_m)} m"
    look = (
        f"No post where your count ends? Go on{search_m}, walk once round the place at that distance, and come back to it."
        if search_m
        else "No post where your count ends? Look round it, never out of sight of the place, and come back to it."
    )
    return [
        look,
        "Still none: turn round. Walk the back azimuth and the same count to the last post you found, and try the leg "
        "once more from there. Never go on from where a post should stand.",
        f"Missed twice: back to the last post you found, and {_then(course)}.",
        f"You do not find that one either: {_lost(course)}.",
    ]


def _then(course: Course) -> str:
    if _has_backstop(course):
        return f"from there to the backstop: {_backstop(course)}"
    return "wait there; you will be fetched"


def _lost(course: Course) -> str:
    return _backstop(course) if _has_backstop(course) else "stay where you are, give the signal, wait"


def _has_backstop(course: Course) -> bool:
    return bool(course.safety.backstop) and course.safety.backstop_azimuth_deg is not None


def _backstop(course: Course) -> str:
    safety = course.safety
    azimuth_deg = round(safety.backstop_azimuth_deg or 0.0) % 360
    return f"walk azimuth {azimuth_deg} deg to {safety.backstop}, and wait there"


def say_expected(course: Course, card: Card) -> str:
    """Say after how many minutes a learner is to be back."""
    return f"Expected back {course.expected_min(card)} minutes after the start."


def say_timing(course: Course) -> str:
    """Say what expected returns are reckoned with."""
    timing = course.timing
    climb = (
        f", {say_whole(timing.climb_m_per_hour)} m of climb an hour more"
        if any(card.climb_m for card in course.cards)
        else ""
    )
    return (
        f"Expected back: {say_whole(timing.metres_per_hour)} m an hour{climb}, {timing.at_post_min:g} minutes a post, "
        f"{timing.search_min:g} minutes to search and rest."
    )
