"""Places go by marks; a row that reads as the card is not accused."""

from __future__ import annotations

import numpy as np

from pacewright.core.pace.walker import Walker
from pacewright.course.answer_key import answer_key
from pacewright.course.class_report import class_report, why_nothing
from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_setting import set_field_course
from pacewright.course.finish import Handed
from pacewright.course.learner_model import fit_class
from pacewright.course.written_slips import compare_written
from pacewright.wording.class_table import report_table
from pacewright.wording.teaching import say_learner
from support.logs import log_of

WALKER = Walker(per_100_m=62.5)


def test_places_go_by_the_marks_and_equal_marks_share_one() -> None:
    course = set_field_course(FieldAsked(6, seed=2), np.random.default_rng(2))
    away = {"Ada": 0.0, "Corin": 40.0, "Ines": 2.0, "Tam": 14.0}
    handed = [
        Handed(name, number, None, None, (off, 0.0), walker=WALKER)
        for number, (name, off) in enumerate(away.items(), start=1)
    ]
    report = class_report(fit_class([*handed, Handed("Wren", 5, walker=WALKER)], course))
    marks = [row.mark for row in report.rows]
    assert marks[:4] == sorted(marks[:4], reverse=True)
    assert marks[4] is None and report.rows[4].learner == "Wren"
    by_name = {row.learner: row for row in report.rows}
    assert by_name["Ada"].rank.place == by_name["Ines"].rank.place == 1
    assert by_name["Corin"].rank.place == 4 or by_name["Corin"].mark == by_name["Tam"].mark
    for row in report.rows[:4]:
        assert row.rank.low <= row.rank.place <= row.rank.high
    header, rows = report_table(report)
    assert rows[4][header.index("place")] == ""


def test_the_table_and_the_sentence_say_the_same_of_what_to_practise() -> None:
    course = set_field_course(FieldAsked(6, seed=2), np.random.default_rng(2))
    report = class_report(fit_class([Handed("Ada", 1, None, None, (1.0, 0.0), walker=WALKER)], course))
    (learner,) = report.fit.learners
    header, rows = report_table(report)
    assert rows[0][header.index("mark")] == "10"
    assert rows[0][header.index("practise")] == why_nothing(learner) == "too little yet"
    assert "tell too little yet" in say_learner(learner)


def test_a_row_that_reads_as_the_card_is_not_accused_where_the_others_are_off() -> None:
    course = set_field_course(FieldAsked(6, legs=4, seed=2), np.random.default_rng(2))
    key = answer_key(course, 1, WALKER)
    # All but the second counted by another pace count, a third longer: the second alone reads as the card.
    counts = [row.count if k == 1 else round(1.3 * row.count) for k, row in enumerate(key.rows)]
    rows = [(round(row.azimuth_deg), count) for row, count in zip(key.rows, counts, strict=True)]
    log = log_of(*rows)
    found = compare_written(log, key, counted_to_posts=False)
    assert 2 not in [slip.row for slip in found.slips]
