"""Where a learner stood, taped along the base line and off it, as east and north."""

from __future__ import annotations

import math

from pacewright.core.compass import unit_vectors
from pacewright.course.course import Course
from pacewright.course.ending import stands_on_line
from pacewright.exceptions import ValueComplaint


def taped_offset(course: Course, along_m: float, off_m: float) -> tuple[float, float]:
    """East and north, in metres, of an offset taped from a stake or post.

    Parameters
    ----------
    course
        Its base line leads from its first post to its last. A course of posts in the land has none.
    along_m, off_m
        Metres along the base line, towards its last post, and metres off it, to the right as seen from its
        first. On a course of posts in the land, a ring or a grid, metres east and metres north.

    Raises
    ------
    ValueComplaint
        First and last post stand on one place.
    """
    if course.kind == "posts":
        return along_m, off_m
    (first_east, first_north), (last_east, last_north) = course.posts[0].place_m, course.posts[-1].place_m
    east, north = last_east - first_east, last_north - first_north
    length = math.hypot(east, north)
    if length == 0.0:
        raise ValueComplaint("the first and the last post stand on one place", "Correct the course's file")
    if not stands_on_line(course.posts):
        return along_m, off_m
    unit_east, unit_north = unit_vectors(math.degrees(math.atan2(east, north)) % 360.0)
    return (
        float(along_m * unit_east + off_m * unit_north),
        float(along_m * unit_north - off_m * unit_east),
    )
