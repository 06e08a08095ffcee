"""Student's t and the F ratio against scipy (a general-purpose reference library)."""

from __future__ import annotations

import pytest
import scipy.stats

from pacewright.core.pace.student import f_exceeded, student_quantile, student_two_sided
from pacewright.exceptions import ValueComplaint

FREEDOMS = (1, 2, 3, 3.5, 5, 10, 40, 300, 5000)


@pytest.mark.parametrize("freedom", FREEDOMS)
@pytest.mark.parametrize("probability", [0.005, 0.1, 0.5, 0.6, 0.9, 0.95, 0.975, 0.995, 0.9999])
def test_the_quantile_is_that_of_the_reference_library(probability, freedom):
    expected = scipy.stats.t.ppf(probability, freedom)
    assert student_quantile(probability, freedom) == pytest.approx(expected, rel=1e-10, abs=1e-12)


@pytest.mark.parametrize("freedom", FREEDOMS)
@pytest.mark.parametrize("t", [0.0, 0.3, -1.7, 2.2, 9.0, 60.0])
def test_the_two_sided_chance_is_that_of_the_reference_library(t, freedom):
    expected = 2 * scipy.stats.t.sf(abs(t), freedom)
    assert student_two_sided(t, freedom) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("ratio", [0.1, 0.5, 1, 2, 8, 100])
@pytest.mark.parametrize("over", [1, 2, 5, 30])
@pytest.mark.parametrize("under", [1, 3, 17, 200])
def test_the_chance_of_a_variance_ratio_is_that_of_the_reference_library(ratio, over, under):
    assert f_exceeded(ratio, over, under) == pytest.approx(scipy.stats.f.sf(ratio, over, under), abs=1e-12)


@pytest.mark.parametrize(("probability", "freedom"), [(0, 3), (1, 3), (float("nan"), 3), (0.9, 0)])
def test_what_cannot_be_asked_is_refused(probability, freedom):
    with pytest.raises(ValueComplaint):
        student_quantile(probability, freedom)
