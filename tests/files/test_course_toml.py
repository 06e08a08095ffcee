"""A practice course from and to TOML and JSON keys."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pacewright.course.course import Card, Course, CourseLeg, Fact, Obstacle, Post
from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_setting import set_field_course
from pacewright.course.pace_setting import PaceAsked, Stretch, set_pace_course
from pacewright.exceptions import Complaint, OutputComplaint
from pacewright.files.course_json import course_keys
from pacewright.files.course_toml import read_course, write_course

FULL = """\
title = "Cinder Fen field"
kind = "field"
azimuth_reference = "magnetic"
seed = 7

[[fact]]
name = "stake_spacing"
value = 20
unit = "m"

[[post]]
name = "Alder"
east_m = 0
north_m = 0
sd_m = 0.1
word = "KTM"

[[post]]
name = "Beech"
east_m = 20.0
north_m = 0.0
note = "by the fence"

[[card]]
number = 1
start = "Alder"
ends = "Beech"
drill = "box"
start_minute = 5

[[card.leg]]
azimuth_deg = 0
length_m = 60
[card.leg.obstacle]
way = "box"
side = "left"
at_m = 20
past_m = 20
offset_m = 15

[[card.leg]]
azimuth_deg = 180
length_m = 60
ground = "brush"
slope = "up"

[[card.leg]]
azimuth_deg = 90
length_m = 20
ends = "Beech"
"""
COURSE = Course(
    title="Cinder Fen field",
    kind="field",
    azimuth_reference="magnetic",
    posts=(Post("Alder", (0.0, 0.0), 0.1, word="KTM"), Post("Beech", (20.0, 0.0), note="by the fence")),
    cards=(
        Card(
            1,
            "Alder",
            (
                CourseLeg(0.0, 60.0, obstacle=Obstacle("box", "left", 20.0, 20.0, 15.0)),
                CourseLeg(180.0, 60.0, ground="brush", slope="up"),
                CourseLeg(90.0, 20.0, ends="Beech"),
            ),
            "Beech",
            "box",
            5.0,
        ),
    ),
    seed=7,
    facts=(Fact("stake_spacing", 20.0, "m"),),
)


def test_a_course_file_is_read_as_it_stands() -> None:
    assert read_course(FULL.encode()) == COURSE


def test_courses_that_were_set_come_back_as_they_were() -> None:
    asked = FieldAsked(learners=13, drills=("", "box", "detour"), base_azimuth_deg=37.0, seed=4)
    field = set_field_course(asked, np.random.default_rng(4))
    pace = set_pace_course(PaceAsked(3, (Stretch(120.0, "heath", "up"),), azimuth_deg=11.0))
    for course in (COURSE, field, pace, replace(COURSE, tolerance_m=2.5)):
        assert read_course(write_course(course)) == course


names = st.text(min_size=1, max_size=12).filter(str.strip)
numbers = st.floats(-1e6, 1e6)


@settings(max_examples=60, deadline=None)
@given(name=names, title=st.text(max_size=20), east=numbers, north=numbers, word=st.text(max_size=8))
def test_any_name_and_place_is_kept_or_refused(
    name: str, title: str, east: float, north: float, word: str
) -> None:
    posts = (Post("Start", (east, north), word=word), Post("End " + name, (east, north + 100.0), note=word))
    card = Card(1, "Start", (CourseLeg(0.0, 100.0),), "End " + name)
    course = Course(title, "posts", "grid", posts, (card,))
    assert read_course(write_course(course)) == course


def without(line: str) -> str:
    return FULL.replace(line, "", 1)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (FULL.replace("seed", "sead"), "fen.toml, column sead: there is no key called sead here"),
        (FULL.replace("past_m", "passed_m"), "column card.1.leg.1.obstacle.passed_m: there is no key"),
        (FULL.replace("length_m = 20\nends", 'length_m = "20"\nends'), "card.1.leg.3.length_m: 20 is not"),
        (FULL.replace("length_m = 20\nends", "length_m = nan\nends"), "card.1.leg.3.length_m: nan is not"),
        (FULL.replace("azimuth_deg = 180", "azimuth_deg = 361"), "card.1.leg.2: 361 is not the azimuth"),
        (FULL.replace("azimuth_deg = 180", "azimuth_deg = 170"), "legs of card 1 come out 10.5 m from Beech"),
        (FULL.replace('ends = "Beech"\ndrill', 'ends = "Birch"\ndrill'), "card.1: card 1 ends at Birch and"),
        (without('kind = "field"'), "column kind: kind is missing"),
        (without("number = 1"), "card.1.number: number is missing"),
        (FULL.replace("number = 1", "number = 1.5"), "card.1.number: 1.5 is not a whole number"),
        (FULL.replace("number = 1", "number = true"), "card.1.number: True is not a whole number"),
        (FULL.replace("seed = 7", "seed = -1"), "column seed: -1 is not a whole number"),
        (FULL.replace('"KTM"', "5"), "post.1.word: 5 is not a text"),
        (FULL.replace('slope = "up"', 'slope = "steep"'), "card.1.leg.2: steep is not a lie"),
        (FULL.replace('side = "left"', 'side = "up"'), "card.1.leg.1.obstacle: there is no way round"),
        (FULL.replace('kind = "field"', 'kind = "lake"'), "there is no lake course"),
        (FULL.replace('title = "', "title = ", 1), "line 1: this is not TOML"),
        ('kind = "field"\nazimuth_reference = "grid"\npost = 5', "column post: post is not a list of tables"),
        ('kind = "field"\nazimuth_reference = "grid"\npost = [5]', "column post.1: 5 is not a table"),
        ('kind = "field"\nazimuth_reference = "grid"', "a course needs a post and a card"),
        ("", "this file is empty"),
    ],
)
def test_a_complaint_names_the_file_the_key_and_what_is_wrong(text: str, says: str) -> None:
    with pytest.raises(Complaint) as refused:
        read_course(text.encode(), "fen.toml")
    assert str(refused.value).startswith("fen.toml")
    assert says in str(refused.value)


def test_a_course_that_a_file_cannot_hold_is_refused_not_changed() -> None:
    for course in (replace(COURSE, seed=2**64), replace(COURSE, title="\ud800")):
        with pytest.raises(OutputComplaint):
            write_course(course)


def test_the_keys_of_a_course_are_plain_json_and_say_where_each_leg_ends() -> None:
    keys = json.loads(json.dumps(course_keys(COURSE, {1: 0.02})))
    card = keys["cards"][0]
    assert card["places"] == [[0.0, 0.0], [0.0, 60.0], [0.0, 0.0], [20.0, 0.0]]
    assert card["wrong_stake_share"] == 0.02
    assert card["legs"][0]["obstacle"]["offset_m"] == 15.0
    assert keys["facts"] == [{"name": "stake_spacing", "value": 20.0, "unit": "m"}]
