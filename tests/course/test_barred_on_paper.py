"""What learners must keep out of goes with the course, onto every paper; a post without a word gets one."""

import numpy as np
import pytest

from pacewright.course.barred_land import BarredArea
from pacewright.course.course import Post
from pacewright.course.finish import Handed
from pacewright.course.grading import grade
from pacewright.course.marking import usual_rule
from pacewright.course.posts_asked import PostsAsked
from pacewright.course.posts_setting import set_posts_course
from pacewright.drawing.course_plan import draw_course_plan
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
