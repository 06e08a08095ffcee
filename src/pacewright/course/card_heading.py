"""The heading of the log of a course card: what the course knows before anybody walked."""

from __future__ import annotations

from pacewright.course.course import Card, Course


def card_heading(course: Course, card: Card) -> list[str]:
    """The lines that tell how the log of a card is read: its north, what was counted, where it starts."""
    return [f"azimuth: {course.azimuth_reference} degrees", "count: paces", f"start: {card.start}"]
