"""Which photograph a row was read from, as the heading tells."""

import pytest

from pacewright.core.log.page_sources import find_source, format_source
from pacewright.files.log_csv import read_log

ROWS = "azimuth,count,notes\n305,240,\n346,,[see Fire tower]\n38,185,\n52,330,\n"


def log_of(*heading):
    return read_log(("".join(f"# {line}\n" for line in heading) + ROWS).encode())


@pytest.mark.parametrize(
    ("numbers", "told"),
    [([3], "row 3"), ([1, 2], "rows 1 to 2"), ([1, 3, 4, 5, 9], "rows 1, 3 to 5, 9")],
)
def test_the_line_names_the_photograph_and_its_rows(numbers, told):
    assert format_source("page1.jpg", numbers) == f"read from page1.jpg, {told}"


def test_a_leg_is_found_on_its_page_over_bearings_and_several_photographs():
    log = log_of(format_source("one.jpg", [2, 3]), format_source("two.jpg", [24, 26]))
    assert [find_source(log, leg) for leg in (1, 2, 3)] == [("one.jpg", 2), ("two.jpg", 24), ("two.jpg", 26)]
    assert find_source(log, 4) is None and find_source(log, 0) is None


def test_where_rows_were_put_in_since_no_row_is_named():
    assert find_source(log_of(format_source("one.jpg", [1, 2, 3])), 1) is None
    assert find_source(log_of(), 1) is None


def test_a_name_with_a_colon_makes_no_key_of_the_heading():
    log = log_of(format_source("C:\\pages\\one.jpg", [1, 2, 3, 4]))
    assert find_source(log, 1) == ("C \\pages\\one.jpg", 1)


def test_numbers_without_end_are_not_counted_through():
    assert find_source(log_of("read from one.jpg, rows 1 to 99999"), 1) is None
