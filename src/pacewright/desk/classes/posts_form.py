"""The form for a course among posts: its fields, and what is asked by them as the command asks it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final, cast

from django.utils import timezone

from pacewright.core.pace.walker import Walker
from pacewright.desk.ask.fields import choice_field, lines_field, number_field, whole_field
from pacewright.desk.classes.courses import Given, course_of
from pacewright.desk.classes.forms import CourseForm, line_field, norths_field
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
TAKES_FILE: Final = ("posts", "barred", "ground")
"""For these a file may be handed in."""
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


class SafetyForm(CourseForm):
    """What stands on the strip of every card; empty, a blank is left for the pencil."""

    begins = dict.fromkeys(
        ("backstop", "backstop_azimuth_deg", "backstop_within_m", "back_by", "recall", "call"), ""
    )
    backstop = line_field("Backstop", "The road or stream somebody lost walks to.")
    backstop_azimuth_deg = number_field("Azimuth to it, degrees", "That leads there from anywhere.")
    backstop_within_m = number_field("It is met within, metres")
    back_by = line_field("Back by", "A clock, such as 15:30.")
    recall = line_field("Recall signal")
    call = line_field("Number to call")

    def safety(self) -> Safety:
        """The strip that is asked for.

        Raises
        ------
        Complaint
            A field does not hold what it should.
        """
        from pacewright.course.safety import Safety

        azimuth, within = self.given("backstop_azimuth_deg"), self.given("backstop_within_m")
        said = {name: self.given(name) or "" for name in ("backstop", "back_by", "recall", "call")}
        return Safety(backstop_azimuth_deg=azimuth, backstop_within_m=within, **said)


class PostsForm(SafetyForm):
    """What is asked of a course among posts."""

    more = "Lengths, sight, how equal the lanes are"
    begins = POSTS_TYPED
    few = frozenset(list(POSTS_TYPED)[list(POSTS_TYPED).index("shortest_leg_m") :])
    title = line_field("Name of the course")
    learners = whole_field("Learners", "One lane each; set a few more than you expect.", required=True)
    legs = whole_field("Legs of every lane", required=True)
    posts = lines_field(
        "Posts: a row each, columns name, east_m, north_m (or place); sd_m, word, note if you like",
        "Typed, or pasted from a table with its row of column names. A place is written as in the "
        "heading of a log: latitude and longitude, UTM or MGRS.",
        rows=8,
    )
    starts = lines_field("Starts, one name a line", "Kept for starting; empty, any post will do.")
    finish = line_field("Finish", "The name of the post where all end; may stay empty.")
    azimuth_reference = norths_field()
    date = line_field(
        "Day of the course",
        "For magnetic azimuths where places are on the map, such as 2026-05-14.",
    )
    barred = lines_field(
        "Barred land: a row a corner, columns name, kind (area or line), east_m, north_m (or place)",
        "Danger areas and water. A leg and the ordinary drift about it keep the clearance.",
        rows=5,
    )
    find_pct = number_field(
        "Chance to find every post, per cent",
        "Of an ordinary learner; may stay empty. Where it cannot be had, the form says what can.",
    )
    clearance_m = number_field("Clearance from barred land, metres", required=True)
    barred_pct = number_field(
        "Chance to enter barred land at most, per cent",
        "Of a learner who misses posts and does what the card then says.",
        required=True,
    )
    ground = choice_field("Ground, for the climb", (), "Only where posts are places on the map.")
    shortest_leg_m = number_field("Shortest leg, metres", required=True)
    longest_leg_m = number_field("Longest leg, metres", required=True)
    shortest_lane_m = number_field("Shortest lane, metres", required=True)
    longest_lane_m = number_field("Longest lane, metres", required=True)
    seen_m = number_field("A post is seen at, metres", required=True)
    search_m = number_field("It is searched for within, metres", required=True)
    equal_length_pct = number_field("Lanes differ in length at most by, per cent", required=True)
    equal_climb_m = number_field("In climb at most by, metres", required=True)
    equal_chance_pct = number_field("In the chance to find every post at most by, per cent", required=True)
    metres_per_hour = number_field("The class walks, metres an hour", required=True)
    at_post_min = whole_field("Minutes at a post", required=True)
    search_min = number_field("Minutes to search and rest, a card", required=True)
    apart_on_leg_min = whole_field("Minutes between two on one leg, at least", required=True)
    walker = choice_field("Lanes are made equal for", ())
    seed = whole_field("Seed", "The same number gives the same course again.", required=True)
    field_order = tuple(POSTS_TYPED)

    def __init__(self, sent: Mapping[str, Any] | None, member: Member) -> None:
        super().__init__(sent, member)
        grounds = member.grounds.filter(is_demo=False).order_by("made_at")
        self.fields["ground"].choices = [
            ("", "level, or not known"),
            (DEMO, DEMO_NAME),
            *((str(one.pk), one.name) for one in grounds),
        ]
        walkers = [(str(one.pk), one.name) for one in member.walkers.all()]
        self.fields["walker"].choices = [("", "a walker of the defaults"), *walkers]
        for name in TAKES_FILE:
            self.fields[name].takes_file = True
        self.initial["date"] = timezone.localdate().isoformat()

    @property
    def typed(self) -> dict[str, str]:
        """What the form holds, cell by cell."""
        return {name: str(value) for name, value in self.data.items()}


def posts_asked_by(form: PostsForm) -> PostsAsked:
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

    given = form.given
    reference = given("azimuth_reference")
    posts, origin = _posts(given, reference)
    barred = _barred(given, origin)
    ground = _ground(form.member, given("ground"))
    return PostsAsked(
        title=given("title"),
        posts=posts,
        learners=given("learners"),
        legs=given("legs"),
        starts=tuple(line.strip() for line in (given("starts") or "").splitlines() if line.strip()),
        finish=given("finish"),
        azimuth_reference=reference,
        barred=barred,
        clearance_m=given("clearance_m"),
        leg_m=(given("shortest_leg_m"), given("longest_leg_m")),
        lane_m=(given("shortest_lane_m"), given("longest_lane_m")),
        height=_height(heights_on, origin, ground),
        walker=_walker(form.member, given("walker")),
        finding=Finding(given("seen_m"), given("search_m")),
        tolerances=Tolerances(
            given("equal_length_pct") / 100.0,
            given("equal_climb_m"),
            given("equal_chance_pct") / 100.0,
        ),
        safety=form.safety(),
        most_barred_share=given("barred_pct") / 100.0,
        wanted_chance=wanted / 100.0 if (wanted := given("find_pct")) is not None else None,
        pace=ClassPace(
            Timing(
                metres_per_hour=given("metres_per_hour"),
                at_post_min=given("at_post_min"),
                search_min=given("search_min"),
            ),
            apart_on_leg_min=given("apart_on_leg_min"),
        ),
        seed=given("seed"),
    )


def safety_typed(course: Course) -> dict[str, str]:
    """What the form of the strip holds where a course has one."""
    found = {}
    for name in SafetyForm.begins:
        value = getattr(course.safety, name)
        found[name] = "" if value is None else value if isinstance(value, str) else f"{value:g}"
    return found


def keep_safety(kept: KeptCourse, form: SafetyForm) -> None:
    """Keep the strip of a course's cards.

    Raises
    ------
    Complaint
        A field does not hold what it should.
    """
    changed = replace(course_of(kept), safety=form.safety())
    kept.toml = write_course(changed).decode("utf-8")
    kept.save(update_fields=["toml"])


def _posts(given: Given, reference: Any) -> tuple[tuple[Post, ...], MapOrigin | None]:
    from pacewright.files.course_land import origin_for
    from pacewright.files.posts_csv import read_posts

    if not given("posts"):
        raise MissingComplaint("there are no posts", "Type or paste them, or choose a file").at(
            column="posts"
        )
    try:
        posts, origin = read_posts(given("posts").encode("utf-8"), lay=origin_for(reference, given("date")))
    except Complaint as complaint:
        raise in_field(complaint, "posts") from None
    if len(posts) > MOST_POSTS:
        raise ValueComplaint(
            f"{len(posts)} posts are more than this page sets a course among",
            f"Give at most {MOST_POSTS}",
        ).at(column="posts")
    return posts, origin


def _barred(given: Given, origin: MapOrigin | None) -> tuple[BarredArea, ...]:
    from pacewright.files.posts_csv import read_barred

    if not given("barred"):
        return ()
    try:
        barred = read_barred(given("barred").encode("utf-8"), origin=origin)
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


def _ground(owner: Member, chosen: str) -> Ground | None:
    if not chosen:
        return None
    return demo_ground_of(owner) if chosen == DEMO else Ground.objects.get(owner=owner, pk=chosen)


def _height(heights_on: Any, origin: MapOrigin | None, ground: Ground | None) -> HeightAt | None:
    if ground is None:
        return None
    try:
        return cast(Any, heights_on(origin, terrain_of(ground)))
    except Complaint as complaint:
        raise complaint.at(column="ground") from None


def _walker(owner: Member, chosen: str) -> Walker:
    return walker_in(KeptWalker.objects.get(owner=owner, pk=chosen)) if chosen else Walker()
