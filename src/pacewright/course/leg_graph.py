"""From which post to which a leg may lead: long enough, short enough, clear of danger and of other posts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import unit_vectors
from pacewright.course.barred_land import (
    BarredArea,
    Corridor,
    distance_to,
    distance_to_legs,
    first_crossed,
)
from pacewright.course.course import Post
from pacewright.exceptions import MissingComplaint, ValueComplaint
from pacewright.ground.terrain import Terrain, height_at

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
HeightAt = Callable[[Array, Array], Array]
"""Heights in metres at places east and north of the course; NaN where they are not known."""

CLIMB_STEP_M: Final = 10.0
"""Heights along a leg are read this far apart: about the cell of a common height grid."""


@dataclass(frozen=True, slots=True, eq=False)
class LegGraph:
    """The legs between posts; rows lead from a post, columns to one.

    Attributes
    ----------
    allowed
        Shape (posts, posts).
    length_m, climb_m
        Level length and metres climbed of every leg, allowed or not; the climb is 0 without heights and
        where the leg is not allowed.
    place_sd_m
        How well the one post is known as seen from the other.
    refused
        How many directed legs were refused, by the reason.
    """

    allowed: Bools
    length_m: Array
    climb_m: Array
    place_sd_m: Array
    refused: dict[str, int]


def terrain_heights(
    terrain: Terrain, origin_m: tuple[float, float] = (0.0, 0.0), turn_deg: float = 0.0
) -> HeightAt:
    """The heights of a terrain by places of the course.

    Parameters
    ----------
    terrain
        The land.
    origin_m
        Where the course's place (0, 0) lies, in metres east and north of the terrain.
    turn_deg
        Azimuth of the course's north on the grid of the terrain: the grid-magnetic angle, east positive,
        where the course runs by magnetic azimuths.
    """
    north_east, north_north = (float(part) for part in unit_vectors(turn_deg))

    def height(east_m: Array, north_m: Array) -> Array:
        return height_at(
            terrain,
            origin_m[0] + east_m * north_north + north_m * north_east,
            origin_m[1] - east_m * north_east + north_m * north_north,
        )

    return height


def leg_graph(
    posts: Sequence[Post],
    leg_m: tuple[float, float],
    corridor: Corridor,
    barred: Sequence[BarredArea],
    keep_off_posts_m: float,
    height: HeightAt | None,
) -> LegGraph:
    """The legs between posts.

    Parameters
    ----------
    posts
        At least two.
    leg_m
        The shortest and the longest leg.
    corridor
        The strip that a leg needs.
    barred
        Danger areas and water.
    keep_off_posts_m
        A leg that passes a third post nearer than this would show the learner the wrong post.
    height
        Heights of the land, where they are known.

    Raises
    ------
    ValueComplaint
        Two posts stand at one place, or one stands within the clearance of a barred area.
    MissingComplaint
        The height under a post is not known.
    """
    places = np.array([post.place_m for post in posts], dtype=np.float64)
    apart = places[None] - places[:, None]
    length_m = np.hypot(apart[..., 0], apart[..., 1])
    _check_posts(posts, length_m, corridor, barred)
    refused = {"too short": 0, "too long": 0, "past another post": 0}
    within = (length_m >= leg_m[0]) & (length_m <= leg_m[1])
    others = ~np.eye(len(posts), dtype=bool)
    refused["too short"] = int((others & (length_m < leg_m[0])).sum())
    refused["too long"] = int((others & (length_m > leg_m[1])).sum())
    allowed = within & others
    begins, ends = np.nonzero(allowed)
    for begin, end in zip(begins.tolist(), ends.tolist(), strict=True):
        why = _refusal(posts, places, (begin, end), corridor, barred, keep_off_posts_m)
        if why:
            allowed[begin, end] = False
            refused[why] = refused.get(why, 0) + 1
    sd_m = np.array([post.sd_m for post in posts])
    climb_m = np.zeros_like(length_m)
    if height is not None:
        _check_heights(posts, places, height)
        climb_m = _climbs(places, length_m, allowed, height)
        unknown = allowed & np.isnan(climb_m)
        refused["no height known on the way"] = int(unknown.sum())
        allowed &= ~unknown
        climb_m = np.where(allowed, climb_m, 0.0)
    return LegGraph(allowed, length_m, climb_m, np.hypot(sd_m[:, None], sd_m[None]), refused)


def _check_posts(
    posts: Sequence[Post], length_m: Array, corridor: Corridor, barred: Sequence[BarredArea]
) -> None:
    same = np.argwhere(np.triu(length_m == 0.0, 1))
    if same.size:
        one, other = same[0]
        raise ValueComplaint(
            f"the posts {posts[one].name} and {posts[other].name} stand at one place",
            "Correct a place or leave one post out",
        )
    for area in barred:
        off_m = distance_to([post.place_m for post in posts], area)
        nearest = int(off_m.argmin())
        if off_m[nearest] == 0.0:
            raise ValueComplaint(
                f"the post {posts[nearest].name} stands in {area.name}",
                "Move the post or correct the outline; nobody may be sent there",
            )
        if off_m[nearest] < corridor.clearance_m:
            raise ValueComplaint(
                f"the post {posts[nearest].name} stands {off_m[nearest]:.0f} m from {area.name},"
                f" nearer than the clearance of {corridor.clearance_m:g} m",
                "Move the post, or state a smaller clearance if that is safe",
            )


def _refusal(
    posts: Sequence[Post],
    places: Array,
    leg: tuple[int, int],
    corridor: Corridor,
    barred: Sequence[BarredArea],
    keep_off_posts_m: float,
) -> str:
    begin, end = leg
    area = first_crossed(posts[begin].place_m, posts[end].place_m, corridor, barred)
    if area is not None:
        return f"too near {area.name}"
    third = np.delete(places, [begin, end], axis=0)
    off_m = distance_to_legs(third, places[begin][None], places[end][None])
    return "past another post" if (off_m < keep_off_posts_m).any() else ""


def _check_heights(posts: Sequence[Post], places: Array, height: HeightAt) -> None:
    known = np.isfinite(height(places[:, 0], places[:, 1]))
    if not known.all():
        name = posts[int(np.argmin(known))].name
        raise MissingComplaint(
            f"the terrain does not know the height of the post {name}",
            "Give terrain that reaches it, or set the course without heights",
        )


def _climbs(places: Array, length_m: Array, allowed: Bools, height: HeightAt) -> Array:
    climb_m = np.full(length_m.shape, np.nan)
    for begin, end in np.argwhere(allowed):
        pieces = max(1, int(np.ceil(length_m[begin, end] / CLIMB_STEP_M)))
        along = np.linspace(0.0, 1.0, pieces + 1)[:, None]
        spots = places[begin] + along * (places[end] - places[begin])
        rise = np.diff(height(spots[:, 0], spots[:, 1]))
        climb_m[begin, end] = np.maximum(rise, 0.0).sum() if np.isfinite(rise).all() else np.nan
    return climb_m
