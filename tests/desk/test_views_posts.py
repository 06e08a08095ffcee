"""A course among posts at the desk: the form, the page that tells how far it is, what comes of it."""

from __future__ import annotations

import re
import threading
import uuid
from collections.abc import Iterator

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from pacewright.course import posts_setting
from pacewright.desk.classes.course_jobs import JOBS, CourseJob
from pacewright.desk.classes.courses import course_of
from pacewright.desk.classes.posts_form import POSTS_TYPED
from pacewright.desk.models import KeptCourse, Member
from pacewright.files.course_toml import read_course
from support.command import run
from support.desk_class import field_course
from support.made_posts import thrown_posts

FORM = "/class/courses/new/posts"
POSTS = "name,east_m,north_m,word\n" + "".join(
    f"{post.name},{post.place_m[0]:.1f},{post.place_m[1]:.1f},W{k}\n"
    for k, post in enumerate(thrown_posts(14, 5, 1500.0, 200.0))
)
BARRED = "name,kind,east_m,north_m\nMire,area,700,700\nMire,area,730,700\nMire,area,715,730\n"
ASKED = {
    **POSTS_TYPED,
    "posts": POSTS,
    "learners": "5",
    "legs": "4",
    "shortest_leg_m": "200",
    "shortest_lane_m": "1200",
    "longest_lane_m": "6000",
    "seed": "3",
}
HTMX = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def no_job_left(owner_member) -> Iterator[None]:
    yield
    job = JOBS.of(owner_member)
    if job is not None and job.is_running:
        JOBS.stop(job)
        ended(owner_member)


def ended(owner_member: Member) -> CourseJob:
    """The owner's job, when it has come to its end."""
    job = JOBS.of(owner_member)
    assert job is not None and job.thread is not None
    job.thread.join(60)
    assert not job.is_running
    return job


class Held:
    """Setting a course that waits in the middle, until it is let on."""

    def __init__(self) -> None:
        self.is_reached, self.is_let_on = threading.Event(), threading.Event()

    def slowly(self, asked, rng, progress):
        progress("possible lanes", 0.25)
        self.is_reached.set()
        assert self.is_let_on.wait(20)
        progress("checks", 0.95)
        return field_course()


@pytest.fixture
def held(monkeypatch) -> Iterator[Held]:
    made = Held()
    monkeypatch.setattr(posts_setting, "set_posts_course", made.slowly)
    yield made
    made.is_let_on.set()


def shown(job_page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", job_page))


def test_the_desk_sets_the_very_course_that_the_command_sets(owner, owner_member, tmp_path):
    sent = owner.post(FORM, {**ASKED, "barred": BARRED, "starts": "Post 1\r\nPost 2\r\n", "title": "Fen"})
    assert sent.status_code == 302
    course_id = ended(owner_member).course_id
    assert owner.get(sent["Location"])["Location"] == f"/class/courses/{course_id}"

    posts, barred, out = (tmp_path / name for name in ("posts.csv", "barred.csv", "fen.toml"))
    posts.write_text(POSTS, encoding="utf-8")
    barred.write_text(BARRED, encoding="utf-8")
    options = ["--learners", 5, "--legs", 4, "--leg-m", 200, 1200, "--lane-m", 1200, 6000, "--seed", 3]
    options += ["--start", "Post 1", "--start", "Post 2", "--barred", barred, "--title", "Fen", "--out", out]
    said = run("course", "set", "posts", posts, *options)
    assert said.code == 0, said.err
    assert course_of(KeptCourse.objects.get(pk=course_id)) == read_course(out.read_bytes())
    assert owner.get(f"/class/courses/{course_id}").status_code == 200


def test_posts_on_the_map_climb_on_the_ground_of_the_example(owner, owner_member):
    rng = np.random.default_rng(3)
    rows = [
        f"Post {k},11N {295000 + 500 * (k % 4) + rng.uniform(-60, 60):.0f} "
        f"{4136500 + 500 * (k // 4) + rng.uniform(-60, 60):.0f}"
        for k in range(16)
    ]
    asked = {**ASKED, "posts": "\n".join(["name,place", *rows]), "ground": "demo", "date": "2026-05-14"}
    owner.post(FORM, {**asked, "equal_climb_m": "200"})
    course = course_of(KeptCourse.objects.get(pk=ended(owner_member).course_id))
    climbs = {fact.name: fact.value for fact in course.facts}
    assert 0 < climbs["climb_least"] <= climbs["climb_most"] <= climbs["climb_least"] + 200


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"posts": ""}, "There are no posts"),
        ({"posts": "name,east_m,north_m\nPost 1,far,2"}, "Line 2, column east_m: far is not a number"),
        ({"posts": "name,place\nPost 1,11N 295000 4136500", "date": ""}, "only on a stated day"),
        ({"barred": "name,kind\nMire,bog"}, "Line 2, column kind: Mire is neither an area nor a line"),
        ({"legs": "many"}, "Many is not a number"),
        ({"equal_climb_m": "0"}, "cannot be made equal in climb to 0"),
        ({"starts": "Moon"}, "no post called Moon"),
        ({"finish": "Moon"}, "no post called Moon"),
        ({"legs": "40"}, "Lanes of 40 legs need 41 posts"),
        ({"ground": "demo"}, "Posts told in metres lie nowhere on a terrain"),
        ({"ground": str(uuid.UUID(int=7))}, "This is not on the list"),
        ({"walker": "nobody"}, "This is not on the list"),
        ({"azimuth_reference": "up"}, "This is not on the list"),
        ({"posts": "name,east_m,north_m\n" + "Post,1,2\n" * 301}, "301 posts are more than"),
    ],
)
def test_a_complaint_stands_by_its_form_and_what_was_typed_stays(owner, owner_member, changed, said):
    answer = owner.post(FORM, {**ASKED, "title": "My fen", "barred": "", "note": "x", **changed})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert said in page
    assert 'value="My fen"' in page
    assert changed.get("posts", POSTS) in page
    assert JOBS.of(owner_member) is None and not KeptCourse.objects.exists()


def test_a_complaint_found_while_setting_comes_back_with_everything_typed(owner, owner_member):
    sent = owner.post(FORM, {**ASKED, "title": "My fen", "shortest_lane_m": "5900"})
    assert ended(owner_member).told is not None
    page = owner.get(sent["Location"], follow=True).content.decode()
    assert "none of them within 5900 to 6000 m" in page
    assert 'value="My fen"' in page and POSTS in page
    fresh = owner.get(f"{FORM}?new=1").content.decode()
    assert "none of them" not in fresh and POSTS not in fresh


def test_files_fill_the_fields_and_stay_in_them_beside_a_complaint(owner):
    files = {
        "posts_file": SimpleUploadedFile("posts.csv", POSTS.encode("utf-8-sig")),
        "barred_file": SimpleUploadedFile("barred.csv", BARRED.encode("utf-8")),
    }
    page = owner.post(FORM, {**ASKED, "posts": "", "legs": "x", **files}).content.decode()
    assert f">\n{POSTS}</textarea>" in page and f">\n{BARRED}</textarea>" in page
    odd = SimpleUploadedFile("posts.csv", b"\xff\xfe\x00")
    page = owner.post(FORM, {**ASKED, "posts_file": odd}).content.decode()
    assert "UTF-16" in page and POSTS in page


def test_a_terrain_that_is_handed_in_is_kept_and_chosen(owner, owner_member):
    from pacewright.files.elevation import DEMO_GROUND, resources

    data = resources.files("pacewright").joinpath("data", DEMO_GROUND).read_bytes()
    page = owner.post(
        FORM, {**ASKED, "legs": "x", "ground_file": SimpleUploadedFile("fen.tif", data)}
    ).content.decode()
    ground = owner_member.grounds.get()
    assert f'<option value="{ground.pk}" selected>fen.tif</option>' in page
    bad = owner.post(FORM, {**ASKED, "ground_file": SimpleUploadedFile("no.tif", b"nothing")})
    assert bad.status_code == 422 and owner_member.grounds.count() == 1


def test_the_page_tells_how_far_it_is_with_and_without_scripts(owner, owner_member, held):
    address = owner.post(FORM, ASKED)["Location"]
    assert held.is_reached.wait(20)
    page = owner.get(address).content.decode()
    assert '<noscript><meta http-equiv="refresh" content="2"></noscript>' in page
    assert "Possible lanes" in shown(page) and "25 % of the work" in shown(page)
    part = owner.get(address, headers=HTMX).content.decode()
    assert part.startswith('<div id="setting"') and f'hx-get="{address}"' in part
    assert "being set" in owner.get(FORM).content.decode()
    assert "A course of yours is being set" in owner.post(FORM, {**ASKED, "legs": "3"}).content.decode()
    assert owner.post(FORM, ASKED)["Location"] == address
    held.is_let_on.set()
    course = ended(owner_member).course_id
    assert owner.get(address, headers=HTMX)["HX-Redirect"] == f"/class/courses/{course}"
    assert KeptCourse.objects.count() == 1
    assert POSTS not in owner.get(FORM).content.decode()
    assert POSTS in owner.get(f"{FORM}?again=1").content.decode()
    KeptCourse.objects.all().delete()
    assert owner.get(address)["Location"] == FORM


def test_setting_is_stopped_by_a_button(owner, owner_member, held):
    address = owner.post(FORM, ASKED)["Location"]
    assert owner.get(f"{address}/stop").status_code == 405
    owner.post(f"{address}/stop")
    held.is_let_on.set()
    ended(owner_member)
    page = owner.get(address, follow=True).content.decode()
    assert "was stopped" in page and POSTS in page
    assert not KeptCourse.objects.exists()


def test_a_job_that_a_restart_lost_is_said_to_be_gone(owner):
    address = f"/class/courses/setting/{uuid.UUID(int=5)}"
    gone = owner.get(address)
    assert gone.status_code == 404
    assert "not being set any more" in gone.content.decode()
    assert owner.get(address, headers=HTMX)["HX-Refresh"] == "true"
    assert owner.post(f"{address}/stop").status_code == 404


def test_a_guest_sets_no_course_among_posts(guest, owner, held):
    address = owner.post(FORM, ASKED)["Location"]
    for path in (FORM, address):
        assert guest.get(path).status_code == 404
    assert guest.post(FORM, ASKED).status_code == 404
    assert guest.post(f"{address}/stop").status_code == 404
