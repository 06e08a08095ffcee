"""The form for a course among posts: its fields, and what is asked by them as the command asks it."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final, cast

from pacewright.core.pace.walker import Walker
from pacewright.core.plain_text import clean_line
from pacewright.desk.classes.courses import NORTHS, Told, course_of, first_typed, number, one_of, whole
from pacewright.desk.classes.forms import Asked
from pacewright.desk.models import Ground, KeptCourse, KeptWalker, Member
from pacewright.desk.notebook.ground_keeping import DEMO_NAME, demo_ground_of, terrain_of
from pacewright.desk.walkers.keeping import walker_in
from pacewright.exceptions import Complaint, MissingComplaint, ValueComplaint
from pacewright.files.course_toml import write_course

if TYPE_CHECKING:
    from pacewright.course.barred_land import BarredArea
    from pacewright.course.course import Course, Post
    from pacewright.course.leg_graph import HeightAt
    from pacewright.course.map_origin import MapOrigin
    from pacewright.course.posts_asked import PostsAsked
    from pacewright.course.safety import Safety

MOST_POSTS: Final = 300
MOST_CORNERS: Final = 5_000
"""More would keep this machine from everything else for long."""
DEMO: Final = "demo"
LONG: Final = ("posts", "barred", "starts")
"""What takes many lines."""
POSTS_TYPED: Final[dict[str, str]] = {
    "title": "Posts course",
    "learners": "20",
    "legs": "6",
    "posts": "",
    "starts": "",
    "finish": "",
    "azimuth_reference": "magnetic",
    "date": "",
    "barred": "",
    "find_pct": "",
    "clearance_m": "20",
    "barred_pct": "1",
    "backstop": "",
    "backstop_azimuth_deg": "",
    "backstop_within_m": "",
    "back_by": "",
    "recall": "",
    "call": "",
    "ground": "",
    "shortest_leg_m": "300",
    "longest_leg_m": "1200",
    "shortest_lane_m": "2700",
    "longest_lane_m": "11000",
    "seen_m": "30",
    "search_m": "50",
    "equal_length_pct": "5",
    "equal_climb_m": "30",
    "equal_chance_pct": "5",
    "metres_per_hour": "3000",
    "at_post_min": "3",
    "search_min": "20",
    "apart_on_leg_min": "10",
    "walker": "",
    "seed": "",
}
"""What the form holds at first: the defaults of the command."""
SAFETY_FORM: Final = (
    Asked("backstop", "Backstop", hint="The road or stream somebody lost walks to.", is_number=False),
    Asked("backstop_azimuth_deg", "Azimuth to it, degrees", hint="That leads there from anywhere."),
    Asked("backstop_within_m", "It is met within, metres"),
    Asked("back_by", "Back by", hint="A clock, such as 15:30.", is_number=False),
    Asked("recall", "Recall signal", is_number=False),
    Asked("call", "Number to call", is_number=False),
)
"""What stands on the strip of every card; empty, a blank is left for the pencil."""
POSTS_FORM: Final = (
    Asked("title", "Name of the course", is_number=False),
    Asked("learners", "Learners", hint="One lane each; set a few more than you expect."),
    Asked("legs", "Legs of every lane"),
    Asked(
        "posts",
        "Posts: a row each, columns name, east_m, north_m (or place); sd_m, word, note if you like",
        hint="Typed, or pasted from a table with its row of column names. A place is written as in the "
        "heading of a log: latitude and longitude, UTM or MGRS.",
        lines=8,
        takes_file=True,
    ),
    Asked("starts", "Starts, one name a line", hint="Kept for starting; empty, any post will do.", lines=3),
    Asked("finish", "Finish", hint="The name of the post where all end; may stay empty.", is_number=False),
    Asked("azimuth_reference", "Azimuths are", NORTHS),
    Asked(
        "date",
        "Day of the course",
        hint="For magnetic azimuths where places are on the map, such as 2026-05-14.",
        is_number=False,
    ),
    Asked(
        "barred",
        "Barred land: a row a corner, columns name, kind (area or line), east_m, north_m (or place)",
        hint="Danger areas and water. A leg and the ordinary drift about it keep the clearance.",
        lines=5,
        takes_file=True,
    ),
    Asked(
        "find_pct",
        "Chance to find every post, per cent",
        hint="Of an ordinary learner; may stay empty. Where it cannot be had, the form says what can.",
    ),
    Asked("clearance_m", "Clearance from barred land, metres"),
    Asked(
        "barred_pct",
        "Chance to enter barred land at most, per cent",
        hint="Of a learner who misses posts and does what the card then says.",
    ),
    *SAFETY_FORM,
    Asked(
        "ground",
        "Ground, for the climb",
        hint="Only where posts are places on the map.",
        takes_file=True,
        is_offered=True,
    ),
    Asked("shortest_leg_m", "Shortest leg, metres", is_more=True),
    Asked("longest_leg_m", "Longest leg, metres", is_more=True),
    Asked("shortest_lane_m", "Shortest lane, metres", is_more=True),
    Asked("longest_lane_m", "Longest lane, metres", is_more=True),
    Asked("seen_m", "A post is seen at, metres", is_more=True),
    Asked("search_m", "It is searched for within, metres", is_more=True),
    Asked("equal_length_pct", "Lanes differ in length at most by, per cent", is_more=True),
    Asked("equal_climb_m", "In climb at most by, metres", is_more=True),
    Asked("equal_chance_pct", "In the chance to find every post at most by, per cent", is_more=True),
    Asked("metres_per_hour", "The class walks, metres an hour", is_more=True),
    Asked("at_post_min", "Minutes at a post", is_more=True),
    Asked("search_min", "Minutes to search and rest, a card", is_more=True),
    Asked("apart_on_leg_min", "Minutes between two on one leg, at least", is_more=True),
    Asked("walker", "Lanes are made equal for", is_offered=True, is_more=True),
    Asked("seed", "Seed", hint="The same number gives the same course again.", is_more=True),
)


def first_posts_typed(today: str) -> dict[str, str]:
    """What the form holds at first, on a day."""
    return {**first_typed(POSTS_TYPED), "date": today}


def posts_typed_in(form: Mapping[str, Any]) -> dict[str, str]:
    """What the form holds now."""
    return {
        name: str(form.get(name, was)) if name in LONG else _one_line(form.get(name, was))
        for name, was in POSTS_TYPED.items()
    }


def _one_line(typed: Any) -> str:
    return clean_line(str(typed))[:200]


def offered_to(owner: Member) -> dict[str, list[tuple[str, str]]]:
    """What can be chosen, by field: the owner's grounds and walkers."""
    grounds = [(str(one.pk), one.name) for one in owner.grounds.filter(is_demo=False).order_by("made_at")]
    walkers = [(str(one.pk), one.name) for one in owner.walkers.all()]
    return {
        "ground": [("", "level, or not known"), (DEMO, DEMO_NAME), *grounds],
        "walker": [("", "a walker of the defaults"), *walkers],
    }


def posts_asked_by(owner: Member, typed: Mapping[str, str]) -> PostsAsked:
    """What the form asks for.

    Raises
    ------
    Complaint
        A field does not hold what it should; the column is the name of the field.
    """
    from pacewright.course.finding_chance import Finding
    from pacewright.course.posts_asked import ClassPace, PostsAsked, Tolerances
    from pacewright.course.safety import Timing
    from pacewright.files.course_land import heights_on

    reference = cast(Any, one_of(typed, "azimuth_reference", {name: name for name in NORTHS}))
    posts, origin = _posts(typed, reference)
    barred = _barred(typed, origin)
    ground = _ground(owner, typed)
    return PostsAsked(
        title=typed["title"] or POSTS_TYPED["title"],
        posts=posts,
        learners=whole(typed, "learners"),
        legs=whole(typed, "legs"),
        starts=tuple(line.strip() for line in typed["starts"].splitlines() if line.strip()),
        finish=typed["finish"] or None,
        azimuth_reference=reference,
        barred=barred,
        clearance_m=number(typed, "clearance_m"),
        leg_m=(number(typed, "shortest_leg_m"), number(typed, "longest_leg_m")),
        lane_m=(number(typed, "shortest_lane_m"), number(typed, "longest_lane_m")),
        height=_height(heights_on, origin, ground),
        walker=_walker(owner, typed),
        finding=Finding(number(typed, "seen_m"), number(typed, "search_m")),
        tolerances=Tolerances(
            number(typed, "equal_length_pct") / 100.0,
            number(typed, "equal_climb_m"),
            number(typed, "equal_chance_pct") / 100.0,
        ),
        safety=safety_by(typed),
        most_barred_share=number(typed, "barred_pct") / 100.0,
        wanted_chance=number(typed, "find_pct") / 100.0 if typed["find_pct"] else None,
        pace=ClassPace(
            Timing(
                metres_per_hour=number(typed, "metres_per_hour"),
                at_post_min=whole(typed, "at_post_min"),
                search_min=number(typed, "search_min"),
            ),
            apart_on_leg_min=whole(typed, "apart_on_leg_min"),
        ),
        seed=whole(typed, "seed"),
    )


def safety_by(typed: Mapping[str, str]) -> Safety:
    """The strip that a form asks for.

    Raises
    ------
    Complaint
        A field does not hold what it should.
    """
    from pacewright.course.safety import Safety

    azimuth, within = (
        number(typed, name) if typed[name] else None for name in ("backstop_azimuth_deg", "backstop_within_m")
    )
    said = {name: typed[name] for name in ("backstop", "back_by", "recall", "call")}
    return Safety(backstop_azimuth_deg=azimuth, backstop_within_m=within, **said)


def safety_typed(course: Course) -> dict[str, str]:
    """What the form of the strip holds where a course has one."""
    found = {}
    for one in SAFETY_FORM:
        value = getattr(course.safety, one.name)
        found[one.name] = "" if value is None else value if isinstance(value, str) else f"{value:g}"
    return found


def keep_safety(kept: KeptCourse, typed: Mapping[str, str]) -> Told | None:
    """Keep the strip of a course's cards, or tell what is wrong with it."""
    try:
        changed = replace(course_of(kept), safety=safety_by(typed))
    except Complaint as complaint:
        return Told(complaint.sentence, complaint.where.column or "")
    kept.toml = write_course(changed).decode("utf-8")
    kept.save(update_fields=["toml"])
    return None


def _posts(typed: Mapping[str, str], reference: Any) -> tuple[tuple[Post, ...], MapOrigin | None]:
    from pacewright.files.course_land import origin_for
    from pacewright.files.posts_csv import read_posts

    if not typed["posts"].strip():
        raise MissingComplaint("there are no posts", "Type or paste them, or choose a file").at(
            column="posts"
        )
    try:
        posts, origin = read_posts(
            typed["posts"].encode("utf-8"), lay=origin_for(reference, typed["date"] or None)
        )
    except Complaint as complaint:
        raise in_field(complaint, "posts") from None
    if len(posts) > MOST_POSTS:
        raise ValueComplaint(
            f"{len(posts)} posts are more than this page sets a course among",
            f"Give at most {MOST_POSTS}",
        ).at(column="posts")
    return posts, origin


def _barred(typed: Mapping[str, str], origin: MapOrigin | None) -> tuple[BarredArea, ...]:
    from pacewright.files.posts_csv import read_barred

    if not typed["barred"].strip():
        return ()
    try:
        barred = read_barred(typed["barred"].encode("utf-8"), origin=origin)
    except Complaint as complaint:
        raise in_field(complaint, "barred") from None
    if sum(len(area.corners_m) for area in barred) > MOST_CORNERS:
        raise ValueComplaint(
            f"the barred land has more than {MOST_CORNERS} corners",
            "Draw it with fewer",
        ).at(column="barred")
    return barred


def in_field(complaint: Complaint, name: str) -> Complaint:
    """A complaint about a table as one about the field that holds it; line and column stay said."""
    where = str(complaint.where)
    return type(complaint)(f"{where}: {complaint.what}" if where else complaint.what, complaint.do).at(
        column=name
    )


def _ground(owner: Member, typed: Mapping[str, str]) -> Ground | None:
    if not typed["ground"]:
        return None
    found = demo_ground_of(owner) if typed["ground"] == DEMO else _own(Ground, owner, typed["ground"])
    if found is None:
        raise MissingComplaint("this ground is not here any more", "Choose another").at(column="ground")
    return cast(Ground, found)


def _height(heights_on: Any, origin: MapOrigin | None, ground: Ground | None) -> HeightAt | None:
    if ground is None:
        return None
    try:
        return cast(Any, heights_on(origin, terrain_of(ground)))
    except Complaint as complaint:
        raise complaint.at(column="ground") from None


def _walker(owner: Member, typed: Mapping[str, str]) -> Walker:
    if not typed["walker"]:
        return Walker()
    found = _own(KeptWalker, owner, typed["walker"])
    if found is None:
        raise MissingComplaint("this walker is not here any more", "Choose another").at(column="walker")
    return walker_in(found)


def _own(model: Any, owner: Member, identity: str) -> Any:
    try:
        return model.objects.filter(owner=owner, pk=uuid.UUID(identity)).first()
    except ValueError:
        return None
