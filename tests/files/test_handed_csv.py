import numpy as np
import pytest

from pacewright.core.pace.walker import Walker
from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_setting import set_field_course
from pacewright.course.taping import taped_offset
from pacewright.exceptions import Complaint
from pacewright.files.handed_csv import read_handed
from support.logs import log_of

COURSE = set_field_course(FieldAsked(6), np.random.default_rng(1))


def read(text: str):
    return read_handed(
        text.encode(),
        "handed.csv",
        course=COURSE,
        open_log=lambda name: log_of((90, 100)),
        open_walker=lambda name: Walker(name),
    )


def test_a_row_holds_what_one_learner_handed_in():
    (one,) = read(
        "learner,card,log,finished_at,east_m,north_m,minutes,pace_count,words\n"
        'Ada Quill,3,ada.csv,Elm,1.5,-2,42.5,61,"Elm = MLT; Fir=TZD"\n'
    )
    assert (one.learner, one.card, one.finished_at, one.finish_m) == ("Ada Quill", 3, "Elm", (1.5, -2.0))
    assert one.minutes == 42.5
    assert one.walker.per_100_m == 61.0
    assert dict(one.words) == {"Elm": "MLT", "Fir": "TZD"}
    assert one.log is not None and len(one.log.legs) == 1


def test_all_but_learner_and_card_may_be_left_out():
    (one,) = read("card;learner\n2;Tam Rook\n")
    assert (one.log, one.finished_at, one.finish_m, one.minutes, dict(one.words)) == (
        None,
        None,
        None,
        None,
        {},
    )


def test_a_walker_file_is_taken_and_a_pace_count_beside_it_wins():
    (one,) = read("learner,card,walker,pace_count\nTam Rook,2,tam.toml,70\n")
    assert (one.walker.name, one.walker.per_100_m) == ("tam.toml", 70.0)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("learner,card\n", "handed.csv: there is no row in this table"),
        ("learner\nTam\n", "handed.csv, line 1: the column card is missing"),
        ("learner,card,hat\nTam,1,red\n", "handed.csv, line 1: there is no column called hat here"),
        ("learner,card,card\nTam,1,1\n", "handed.csv, line 1: the column card is there twice"),
        ("learner,card\n,1\n", "handed.csv, line 2, column learner: the learner of this row is empty"),
        ("learner,card\nTam,one\n", "handed.csv, line 2, column card: one is not the number of a card"),
        ("learner,card\nTam,1,x\n", "handed.csv, line 2: this row has 3 columns, not 2"),
        ("learner,card,minutes\nTam,1,nan\n", "handed.csv, line 2, column minutes: nan is not a number"),
        ("learner,card,east_m\nTam,1,3\n", "column north_m: only one of east_m and north_m is given"),
        ("learner,card,pace_count\nTam,1,0\n", "column pace_count: 0 is not a pace count"),
        ("learner,card\nTam,99\n", "handed.csv, line 2, column card: the course has no card 99"),
        (
            "learner,card,finished_at\nTam,1,Willow\n",
            "column finished_at: the course has no post called Willow",
        ),
        ("learner,card,words\nTam,1,Nope = X\n", "line 2, column words: the course has no post called Nope"),
        ("learner,card,east_m,north_m,along_m,off_m\nTam,1,1,1,2,2\n", "the finish is taped in two ways"),
        ("learner,card,words\nTam,1,Elm MLT\n", "column words: Elm MLT is no word of a post"),
        ("learner,card,minutes\nTam,1,-3\n", "handed.csv, line 2: -3 is not how many minutes Tam walked"),
    ],
)
def test_bad_input_gets_one_sentence_with_its_place(text, said):
    with pytest.raises(Complaint) as caught:
        read(text)
    assert said in str(caught.value)


def test_an_empty_file_is_refused():
    with pytest.raises(Complaint, match="this file is empty"):
        read("")


def test_a_finish_may_be_taped_along_the_base_line():
    (one,) = read("learner,card,finished_at,along_m,off_m\nTam,1,elm,4,-2\n")
    assert one.finished_at == "Elm"
    assert one.finish_m == taped_offset(COURSE, 4.0, -2.0)
