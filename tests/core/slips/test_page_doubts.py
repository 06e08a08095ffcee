"""What a reader of the page doubts, in the search for a mistake."""

import pytest

from pacewright.core.slips.corrected_log import accept_suspect
from pacewright.core.slips.mistake_search import search_slips
from pacewright.core.slips.mistakes import find_mistakes
from pacewright.core.slips.reading_slips import READING_KINDS
from pacewright.core.slips.slips import KIND_WEIGHT
from pacewright.exceptions import ValueComplaint
from pacewright.files.log_csv import read_log

HEAD = "# start: Gate\nazimuth,count,notes\n"


def square(third: str, fourth: str = "270,300,[at Gate]") -> str:
    """A walk round a square of 300 paces."""
    return f"{HEAD}0,300,\n90,300,\n{third}\n{fourth}\n"


def chance_of(findings, leg, azimuth, count):
    return sum(
        one.probability
        for one in findings.suspects
        if one.legs == (leg,) and (one.entries[0].azimuth_text, one.entries[0].count_text) == (azimuth, count)
    )


def test_a_log_closes_with_what_a_doubted_digit_may_be():
    text = square("180,800,[or 300 count 6%]")
    findings = find_mistakes(read_log(text.encode()))
    top = findings.suspects[0]
    assert top.kind == "page_misread" and top.legs == (3,)
    assert top.entries[0].count_text == "300" and top.probability > 0.9


def test_without_a_doubt_the_answer_is_that_of_a_typed_log():
    typed = find_mistakes(read_log(square("180,330,").encode()))
    read = find_mistakes(read_log(square("180,330,not the north side").encode()))
    assert [one.probability for one in read.suspects] == [one.probability for one in typed.suspects]
    assert {kind for kind, _ in typed.by_kind} == {*KIND_WEIGHT, *READING_KINDS}


def test_a_doubt_that_would_open_a_closed_walk_accuses_nobody():
    plain = find_mistakes(read_log(square("180,300,").encode()))
    doubted = find_mistakes(read_log(square("180,300,[or 800 count 20%]").encode()))
    assert chance_of(doubted, 3, "180", "800") < 1e-3
    assert doubted.mistake_probability == pytest.approx(plain.mistake_probability, abs=0.02)


def test_a_doubt_that_nothing_observed_tells_on_keeps_the_chance_of_its_reader():
    # Nothing closes: P(388) : P(338) is 12 : 88 by the reader, among the logs that hold no other mistake.
    log = read_log(f"{HEAD}0,300,\n90,338,[or 388 count 12%]\n180,310,\n".encode())
    posterior = search_slips(log)
    (misread,) = [i for i, slip in enumerate(posterior.slips) if slip.kind == "page_misread"]
    odds = posterior.slip_probability[misread] / posterior.none_probability
    assert odds == pytest.approx(12 / 88)


def test_all_hypotheses_sum_to_one_and_the_factor_is_that_of_the_evidence():
    log = read_log(square("180,800,[or 300 count 6%] [or 380 count 1%]").encode())
    found = search_slips(log, prior=0.3)
    total = found.none_probability + found.slip_probability.sum() + found.gap_probability.sum()
    assert total + found.reading_probability.sum() == pytest.approx(1.0)
    odds = found.mistake_probability / found.none_probability
    assert odds == pytest.approx(found.bayes_factor * found.prior / (1.0 - found.prior), rel=1e-6)
    # The share of logs in which the walker or the reader was wrong, from 30 %, 6 in 93 and 1 in 93.
    share = (0.3 + 0.7 * 7 / 93) / (1.0 + 0.7 * 7 / 93)
    assert found.prior == pytest.approx(share)


def test_a_larger_chance_weighs_as_much_more():
    def odds(pct):
        found = search_slips(read_log(square(f"180,330,[or 350 count {pct}%]").encode()))
        (at,) = [i for i, slip in enumerate(found.slips) if slip.kind == "page_misread"]
        return found.slip_probability[at] / found.none_probability

    assert odds(20) / odds(5) == pytest.approx((20 / 80) / (5 / 95))


def test_a_doubted_azimuth_is_found_as_well():
    findings = find_mistakes(read_log(square("130,300,[or 180 8%]").encode()))
    assert findings.suspects[0].kinds[0] == "page_misread"
    assert findings.suspects[0].entries[0].azimuth_text == "180"


def test_a_doubted_bearing_is_found_as_well():
    text = (
        f"{HEAD}45,,[see Tower]\n0,300,\n185,,[or 135 30%] [see Tower]\n90,300,\n225,,[see Tower]\n"
        "180,300,\n270,300,[at Gate]\n"
    )
    findings = find_mistakes(read_log(text.encode()))
    top = findings.suspects[0]
    assert top.kind == "page_misread" and top.reading.instead == "135"
    right = accept_suspect(findings.posterior.log, top)
    assert (right.rows[2].cells.azimuth, right.rows[2].cells.count) == ("135", "")


def test_an_entry_put_right_is_doubted_no_more():
    log = read_log(square("180,800,[or 300 count 6%]").encode())
    right = accept_suspect(log, find_mistakes(log).suspects[0])
    assert right.rows[2].cells.notes == "[or 300 count 6%] [was 800 count]"
    assert not any(slip.kind == "page_misread" for slip in search_slips(right).slips)


def test_chances_that_leave_none_to_what_is_written_are_refused():
    with pytest.raises(ValueComplaint, match="none is left to what is written") as told:
        read_log(square("180,330,[or 350 count 60%] [or 380 count 40%]").encode())
    assert "line 5, column notes" in str(told.value)
    log = read_log(square("180,330,[or 350 count 60%] [or 380 count 39%]").encode())
    assert search_slips(log).prior == pytest.approx((0.5 + 0.5 * 99) / (1.0 + 0.5 * 99))
