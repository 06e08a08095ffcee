"""What learners must keep out of goes with the course, onto every paper; a post without a word gets one."""

from xml.etree import ElementTree

import numpy as np
import pytest

from pacewright.course.barred_land import BarredArea
from pacewright.course.course import Card, Course, CourseLeg, Post
from pacewright.course.finish import Handed
from pacewright.course.grading import grade
from pacewright.course.marking import usual_rule
from pacewright.course.posts_asked import PostsAsked
from pacewright.course.posts_setting import set_posts_course
from pacewright.drawing.course_plan import draw_course_plan
from pacewright.drawing.svg import text_width_mm
from pacewright.files.course_toml import read_course, write_course
from pacewright.sheets.course_sheets import course_sheet
from pacewright.sheets.paper import PAPERS
from pacewright.sheets.typesetting import typeset
from support.pdf_pages import words

PIT = BarredArea("Pit", ((620.0, 620.0), (680.0, 620.0), (650.0, 680.0)))
BECK = BarredArea("Beck", ((-200.0, 3000.0), (1500.0, 3000.0)), is_line=True)


@pytest.fixture(scope="module")
def course():
    places = [(420.0 * (k % 4), 420.0 * (k // 4) + 30.0 * (k % 3)) for k in range(16)]
    posts = tuple(Post(f"Post {k}", place, word="TAR" if k == 3 else "") for k, place in enumerate(places))
    asked = PostsAsked("Cinder Fen", posts, 4, 4, barred=(PIT, BECK), lane_m=(1200.0, 6000.0))
    return set_posts_course(asked, np.random.default_rng(1))


def test_the_course_file_holds_the_barred_land(course):
    assert read_course(write_course(course)).barred == (PIT, BECK)


@pytest.mark.parametrize("kind", ["cards", "key", "safety"])
def test_every_paper_that_a_learner_or_instructor_sees_names_it(kind, course):
    said = " ".join(words(typeset([course_sheet(kind, course, PAPERS["a4"])], PAPERS["a4"])).split())
    assert "Keep out of: Pit." in said
    assert "Do not cross: Beck." in said


def test_the_plan_draws_it(course):
    assert "keep out: Pit" in draw_course_plan(course)


def test_every_post_has_a_word_of_its_own_and_keeps_the_one_it_had(course):
    found = [post.word for post in course.posts]
    assert all(found) and len(set(found)) == len(found)
    assert course.post("Post 3").word == "TAR"


def test_who_only_reaches_the_last_post_does_not_get_full_marks_by_the_usual_rule(course):
    card = course.cards[0]
    rule = usual_rule(course.kind)
    last = {card.ends: course.post(card.ends).word}
    every = {leg.ends: course.post(leg.ends).word for leg in card.legs}
    lucky = grade(Handed("Tam Rook", card.number, finished_at=card.ends, words=last), course, rule)
    whole = grade(Handed("Ada Quill", card.number, finished_at=card.ends, words=every), course, rule)
    assert lucky.mark == pytest.approx(rule.full_marks / len(card.legs))
    assert whole.mark == rule.full_marks


def test_no_name_of_a_post_covers_barred_land_or_leaves_the_frame():
    # Posts crowded about a pit and along the edge, where names used to run over both.
    places = [(30.0 * k, 4.0 * (k % 3)) for k in range(14)] + [(200.0, 60.0 + 12.0 * k) for k in range(4)]
    posts = tuple(Post(f"Post number {k}", place) for k, place in enumerate(places))
    leg = CourseLeg(90.0, 30.0, "Post number 1")
    pit = BarredArea("Pit", ((205.0, 10.0), (330.0, 10.0), (330.0, 110.0), (205.0, 110.0)))
    course = Course(
        *("Fen", "posts", "magnetic", posts, (Card(1, "Post number 0", (leg,), "Post number 1"),)),
        tolerance_m=50.0,
        barred=(pit,),
    )
    drawn = ElementTree.fromstring(draw_course_plan(course, (), 150.0))
    names = {}
    for one in drawn.iter("{http://www.w3.org/2000/svg}text"):
        if one.get("text-anchor") == "middle" and one.text and (one.text[:4] == "Post" or one.text.isdigit()):
            half = text_width_mm(one.text, 3.2) / 2.0
            x, y = float(one.get("x")), float(one.get("y"))
            names[one.text] = (x - half, y - 2.6, x + half, y + 0.8)
    assert len(names) >= len(posts) - 4
    shapes = [one for one in drawn.iter("{http://www.w3.org/2000/svg}polygon") if one.get("stroke-dasharray")]
    corners = [tuple(map(float, pair.split(","))) for pair in shapes[0].get("points").split()]
    left, right = min(x for x, _ in corners), max(x for x, _ in corners)
    top, foot = min(y for _, y in corners), max(y for _, y in corners)
    for name, (x1, y1, x2, y2) in names.items():
        assert x1 >= 0.0 and x2 <= 150.0, name
        assert x2 <= left or x1 >= right or y2 <= top or y1 >= foot, name


def test_labels_are_printed_only_for_posts_in_use(course):
    said = words(typeset([course_sheet("labels", course, PAPERS["a4"])], PAPERS["a4"]))
    used = {card.start for card in course.cards} | {leg.ends for card in course.cards for leg in card.legs}
    unused = [post.name for post in course.posts if post.name not in used]
    assert unused
    for post in course.posts:
        assert (f"{post.name} word:" in said) == (post.name in used)


def test_the_marking_sheet_has_words_for_heads_and_what_grading_reads(course):
    said = words(typeset([course_sheet("marking", course, PAPERS["a4"])], PAPERS["a4"]))
    for head in ("start minute", "m east", "m north", "minutes out", "pace count", "words", "stands at"):
        assert head in said
    assert "east_m" not in said
