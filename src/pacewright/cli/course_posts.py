"""pacewright course set posts: lanes among posts whose places are known."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any

import click

from pacewright.cli.course_options import asked_safety, asked_timing, keep_course, setting_options
from pacewright.cli.measures import METRES, NUMBER, Number
from pacewright.cli.options import open_walker, walker_option
from pacewright.cli.renamed import NewName


@click.command("posts", short_help="Lanes among posts whose places are known.")
@click.argument("posts_file", metavar="POSTS.csv")
@setting_options
@walker_option
@click.option("--legs", type=int, default=6, show_default=True, help="How many legs a lane has.")
@click.option(
    "--lane-start",
    "--start",
    "starts",
    cls=NewName,
    multiple=True,
    metavar="POST",
    help="Where lanes begin; may be repeated.",
)
@click.option("--finish", metavar="POST", help="Where every lane ends.")
@click.option("--barred", "barred_file", metavar="FILE", help="Danger areas and water (CSV).")
@click.option(
    "--clearance-m", type=METRES, default=20.0, show_default=True, help="Distance kept from barred land."
)
@click.option(
    "--barred-pct",
    type=NUMBER,
    default=1.0,
    show_default=True,
    help="The greatest chance of entering barred land by missing a post and following the card's rule.",
)
@click.option(
    "--apart-on-leg-min",
    type=int,
    default=10,
    show_default=True,
    help="Minutes between two learners who set out on the same leg.",
)
@click.option("--terrain", metavar="FILE", help="The ground, for the climb (GeoTIFF and the like).")
@click.option(
    "--date", "date_text", metavar="DATE", help="Day of the course, for magnetic azimuths from the map."
)
@click.option(
    "--leg-m",
    type=(METRES, METRES),
    default=(300.0, 1200.0),
    show_default=True,
    help="Shortest and longest leg.",
)
@click.option(
    "--lane-m",
    type=(METRES, METRES),
    default=(2700.0, 11000.0),
    show_default=True,
    help="Shortest and longest lane.",
)
@click.option("--seen-m", type=METRES, default=30.0, show_default=True, help="How near a post is seen.")
@click.option(
    "--search-m",
    type=METRES,
    default=50.0,
    show_default=True,
    help="How far round its place a post is searched for.",
)
@click.option(
    "--equal-length-pct",
    type=NUMBER,
    default=5.0,
    show_default=True,
    help="How much the lengths of lanes may differ.",
)
@click.option(
    "--equal-climb-m", type=METRES, default=30.0, show_default=True, help="How much their climbs may differ."
)
@click.option(
    "--equal-chance-pct",
    type=NUMBER,
    default=5.0,
    show_default=True,
    help="How much their chances of finding every post may differ.",
)
@click.option(
    "--find-pct",
    type=Number(0.1, 100.0),
    default=None,
    help="Set lanes on which an ordinary learner finds every post with this chance (default: any).",
)
@click.option(
    "--seed",
    type=click.IntRange(0),
    default=1,
    show_default=True,
    help="The same seed gives the same course.",
)
def command(
    posts_file: str,
    learners: int,
    reference: Any,
    title: str | None,
    walker_file: str | None,
    legs: int,
    starts: tuple[str, ...],
    finish: str | None,
    barred_file: str | None,
    clearance_m: float,
    barred_pct: float,
    apart_on_leg_min: int,
    terrain: str | None,
    date_text: str | None,
    leg_m: tuple[float, float],
    lane_m: tuple[float, float],
    seen_m: float,
    search_m: float,
    equal_length_pct: float,
    equal_climb_m: float,
    equal_chance_pct: float,
    find_pct: float | None,
    seed: int,
    **more: Any,
) -> int:
    """Set lanes of equal length, climb and difficulty, each learner another order, starts staggered.

    POSTS.csv has the columns name, east_m and north_m (or place), and may have sd_m, word, note. --barred
    takes name, kind (area or line), east_m and north_m (or place), a row a corner.
    """
    import numpy as np

    from pacewright.course.finding_chance import Finding
    from pacewright.course.posts_asked import ClassPace, PostsAsked, Tolerances
    from pacewright.course.posts_setting import set_posts_course
    from pacewright.files.course_land import heights_on, origin_for
    from pacewright.files.disk import read_bytes
    from pacewright.files.elevation import read_terrain
    from pacewright.files.posts_csv import read_barred, read_posts

    posts, origin = read_posts(read_bytes(posts_file), posts_file, lay=origin_for(reference, date_text))
    barred = read_barred(read_bytes(barred_file), barred_file, origin=origin) if barred_file else ()
    asked = PostsAsked(
        title=title or "Posts course",
        posts=posts,
        learners=learners,
        legs=legs,
        starts=starts,
        finish=finish,
        azimuth_reference=reference,
        barred=barred,
        clearance_m=clearance_m,
        leg_m=leg_m,
        lane_m=lane_m,
        height=heights_on(origin, read_terrain(terrain) if terrain else None),
        walker=open_walker(walker_file),
        finding=Finding(seen_m, search_m),
        safety=asked_safety(more),
        most_barred_share=barred_pct / 100.0,
        wanted_chance=None if find_pct is None else find_pct / 100.0,
        pace=ClassPace(asked_timing(more), apart_on_leg_min=apart_on_leg_min),
        tolerances=Tolerances(equal_length_pct / 100.0, equal_climb_m, equal_chance_pct / 100.0),
        seed=seed,
    )
    return keep_course(set_posts_course(asked, np.random.default_rng(seed), _progress()), **more)


def _progress() -> Callable[[str, float], None]:
    """Tell on a terminal how far setting has come; nothing where the output is read by a program."""

    def tell(stage: str, share: float) -> None:
        if sys.stderr.isatty():
            ending = "\n" if share >= 1.0 else ""
            click.echo(f"\r{stage}: {100 * share:3.0f} %   {ending}", nl=False, err=True)

    return tell
