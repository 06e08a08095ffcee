import pytest

from pacewright.course.marking import READY_RULES
from pacewright.exceptions import Complaint
from pacewright.files.marking_toml import read_rule, write_rule


@pytest.mark.parametrize("rule", READY_RULES, ids=lambda rule: rule.name)
def test_every_ready_rule_comes_back_as_it_was_written(rule):
    assert read_rule(write_rule(rule)) == rule


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("kind = 1", "rule.toml: the key name is missing"),
        ('name = "x"\nkind = "luck"\nfull_marks = 1', "nothing is called luck that a rule could measure"),
        (
            'name = "x"\nkind = "points_found"\nfull_marks = "ten"',
            "column full_marks: full_marks is not a number",
        ),
        ('name = "x"\nkind = 3\nfull_marks = 1', "column kind: kind is not a text"),
        (
            'name = "x"\nkind = "miss_share"\nfull_marks = 1\nsteps = [1, 2]',
            "steps are no pairs of limit and mark",
        ),
        (
            'name = "x"\nkind = "points_found"\nfull_marks = 1\nforgives = 1',
            "forgives is neither true nor false",
        ),
        ('name = "x"\nkind = "points_found"\nfull_marks = 1\nhat = 1', "there is no key called hat here"),
        ("name = ", "this is not TOML"),
    ],
)
def test_bad_input_gets_one_sentence_with_its_place(text, said):
    with pytest.raises(Complaint) as caught:
        read_rule(text.encode(), "rule.toml")
    assert said in str(caught.value)
    assert str(caught.value).startswith("rule.toml")
