"""Labels never collide, and none is lost."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st

from pacewright.drawing.labels import Box, Wish, place_labels

PAGE = Box(0, 0, 160, 140)

wishes = st.lists(
    st.builds(
        Wish,
        content=st.text(st.characters(codec="utf-8"), min_size=1, max_size=24),
        x=st.floats(0, 160),
        y=st.floats(0, 140),
        clear_mm=st.floats(0, 3),
        size_mm=st.floats(2, 6),
        short=st.sampled_from(["", "1", "22", "333"]),
        rank=st.integers(0, 3),
    ),
    max_size=25,
)
segments = st.lists(
    st.tuples(st.floats(0, 160), st.floats(0, 140), st.floats(0, 160), st.floats(0, 140)), max_size=10
)
marks = st.lists(
    st.tuples(st.floats(0, 150), st.floats(0, 130)).map(lambda p: Box(p[0], p[1], p[0] + 4, p[1] + 4)),
    max_size=8,
)


def sampled(leader, steps=50):
    x1, y1, x2, y2 = leader
    return [(x1 + i / steps * (x2 - x1), y1 + i / steps * (y2 - y1)) for i in range(steps + 1)]


@settings(max_examples=80, deadline=None)
@given(wishes, marks, segments)
def test_no_two_labels_overlap_nor_cover_a_mark_nor_leave_the_page(wanted, blocked, lines):
    placement = place_labels(wanted, PAGE, blocked, lines)
    for one, other in combinations(placement.labels, 2):
        assert not one.box.overlaps(other.box)
    for label in placement.labels:
        assert PAGE.holds(label.box)
        assert not any(label.box.overlaps(mark) for mark in blocked)


@settings(max_examples=80, deadline=None)
@given(wishes, marks)
def test_no_leader_runs_through_another_label(wanted, blocked):
    labels = place_labels(wanted, PAGE, blocked).labels
    for label in labels:
        for x, y in sampled(label.leader) if label.leader else []:
            point = Box(x, y, x, y)
            assert not any(other is not label and other.box.overlaps(point) for other in labels)


@settings(max_examples=80, deadline=None)
@given(wishes, marks)
def test_no_leader_runs_through_the_mark_of_another_thing(wanted, blocked):
    for label in place_labels(wanted, PAGE, blocked).labels:
        own = Box(label.wish.x, label.wish.y, label.wish.x, label.wish.y)
        for x, y in sampled(label.leader) if label.leader else []:
            point = Box(x, y, x, y)
            assert not any(mark.overlaps(point) for mark in blocked if not mark.overlaps(own, 0.01))


@settings(max_examples=80, deadline=None)
@given(wishes)
def test_every_wish_is_a_label_or_in_the_key_or_named_as_left_out(wanted):
    wanted = [replace(wish, content=f"{i}: {wish.content}") for i, wish in enumerate(wanted)]
    placement = place_labels(wanted, PAGE)
    whole = [label.content for label in placement.labels if label.content == label.wish.content]
    keyed = [content for _, content in placement.key]
    assert sorted([*whole, *keyed, *placement.left_out]) == sorted(wish.content for wish in wanted)
    assert set(placement.left_out) <= {wish.content for wish in wanted if not wish.short}


@settings(max_examples=30, deadline=None)
@given(wishes, marks, segments)
def test_the_same_wishes_get_the_same_places(wanted, blocked, lines):
    assert place_labels(wanted, PAGE, blocked, lines) == place_labels(wanted, PAGE, blocked, lines)


def test_a_lone_label_stands_close_by_without_a_leader():
    [label] = place_labels([Wish("Gate", 80, 70, 2, 4)], PAGE).labels
    assert label.leader is None
    assert 2 < label.box.left - 80 < 4
    assert label.box.top < 70 < label.box.bottom


def test_a_label_turns_away_from_a_leg_on_its_usual_side():
    [label] = place_labels([Wish("Gate", 80, 70, 2, 4)], PAGE, lines=[(80, 70, 150, 70)]).labels
    assert not label.box.overlaps(Box(82, 69.99, 150, 70.01))


def test_a_far_label_has_a_leader_from_its_mark():
    beside = ((0, 0), (-6.5, 0), (6.5, 0), (0, -6.5), (0, 6.5))
    ring = [Box(80 + dx - 3, 70 + dy - 3, 80 + dx + 3, 70 + dy + 3) for dx, dy in beside]
    [label] = place_labels([Wish("Gate", 80, 70, 1, 4, "1")], PAGE, ring).labels
    x1, y1, x2, y2 = label.leader
    assert abs(((x1 - 80) ** 2 + (y1 - 70) ** 2) ** 0.5 - 1) < 1e-9
    assert label.box.overlaps(Box(x2, y2, x2, y2), 1e-6)


def test_a_name_that_only_a_leader_over_other_marks_would_reach_goes_into_the_key():
    ring = [Box(80 + dx - 3, 70 + dy - 3, 80 + dx + 3, 70 + dy + 3) for dx in (-6, 0, 6) for dy in (-6, 0, 6)]
    placement = place_labels([Wish("Gate", 80, 70, 1, 4, "1")], PAGE, ring)
    assert placement.labels == () and placement.key == (("1", "Gate"),)


def test_a_name_too_long_for_the_page_goes_into_the_key_under_its_number():
    placement = place_labels([Wish("x" * 90, 80, 70, 2, 4, "17")], PAGE)
    assert placement.key == (("17", "x" * 90),)
    assert [label.content for label in placement.labels] == ["17"]


def test_a_bare_number_is_rather_left_out_than_put_far_away():
    wall = [Box(60, 50, 100, 90)]
    placement = place_labels([Wish("12", 80, 70, 1, 4)], PAGE, wall)
    assert placement.labels == () and placement.left_out == ("12",)


def test_lower_ranks_choose_first():
    late, early = Wish("late", 80, 70, 2, 4, "a", rank=2), Wish("early", 80, 70, 2, 4, "b", rank=0)
    labels = place_labels([late, early], PAGE).labels
    assert [label.content for label in labels] == ["early", "late"]
    assert labels[0].box.left > 80


@settings(max_examples=60, deadline=None)
@given(wishes, segments)
def test_a_label_that_must_be_told_crosses_a_line_only_where_it_could_not_stand_free(wanted, lines):
    wanted = [replace(wish, short="1") for wish in wanted[:1]]
    crossing = [label for label in place_labels(wanted, PAGE, (), lines).labels if is_crossed(label, lines)]
    for label in crossing:
        # Not even a short label at the nearest two distances, on any side, is free of lines.
        for dx, dy in ((-1, 0), (1, 0), (0, -1), (0, 1)):
            moved = shifted(label, dx, dy)
            assert not PAGE.holds(moved) or any(
                is_in(point, moved) for s in lines for point in sampled(s, 400)
            )


def shifted(label, dx, dy):
    """The label's box, touching its thing's clear ring at 0.9 mm on one side."""
    wish, box = label.wish, label.box
    half_wide, half_high = (box.right - box.left) / 2, (box.bottom - box.top) / 2
    reach = wish.clear_mm + 0.9
    x, y = wish.x + dx * (reach + half_wide), wish.y + dy * (reach + half_high)
    return Box(x - half_wide, y - half_high, x + half_wide, y + half_high)


def is_in(point, box):
    return box.left <= point[0] <= box.right and box.top <= point[1] <= box.bottom


def is_crossed(label, lines):
    return any(is_in(point, label.box) for line in lines for point in sampled(line, 400))


def test_a_label_goes_far_rather_than_over_a_line():
    fence = [(60 + 2 * k, 40, 60 + 2 * k, 100) for k in range(21)]
    [label] = place_labels([Wish("Heron post", 80, 70, 1, 4, "1")], PAGE, lines=fence).labels
    assert label.content == "Heron post" and not is_crossed(label, fence)


def test_a_label_of_a_line_stands_by_another_point_of_it_where_the_first_has_no_room():
    wall = [Box(20, 40, 70, 100)]
    [label] = place_labels([Wish("back", 45, 70, 1, 4, "B", beside=((110, 70),))], PAGE, wall).labels
    assert label.leader is None and abs((label.box.left + label.box.right) / 2 - 110) < 12


def test_a_label_rather_leaves_the_rim_of_a_region_free():
    rim = [(85, 50, 85, 90)]
    [label] = place_labels([Wish("Gate", 80, 70, 1, 4)], PAGE, faint=rim).labels
    assert not is_crossed(label, rim)
