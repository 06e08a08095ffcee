"""Every row of a page stands as its cells say, whatever is written in them."""

from __future__ import annotations

import html
import json
import re

import pytest
from django.template.loader import render_to_string

from pacewright.desk.notebook.page_reading import RowMark
from pacewright.desk.templatetags.page_rows import page_rows

HOSTILE = "\"><b>'&\ue000id\ue001{{ mark.id }}%s"


def mark(**more: object) -> RowMark:
    plain = dict.fromkeys(("azimuth", "count", "notes", "says", "wrong", "column"), "")
    return RowMark(**{"id": "r1", **plain, "struck": False, "other": {}, **more})  # type: ignore[arg-type]


@pytest.mark.parametrize("is_struck", [False, True])
@pytest.mark.parametrize("column", ["", "azimuth", "count", "notes"])
@pytest.mark.parametrize("cells", [("305", "240", "[at Gate]"), (HOSTILE, "\ue001", "a\n<c>"), ("", "", "")])
def test_a_row_stands_as_if_it_were_laid_out_by_itself(
    cells: tuple[str, str, str], column: str, is_struck: bool
) -> None:
    azimuth, count, notes = cells
    filled = {"id": "a-7", "azimuth": azimuth, "count": count, "notes": notes, "struck": is_struck}
    row = mark(**filled, says="said & done", wrong="wrong <1>" if column else "", column=column)
    context = {**filled, "column": column, "wrong": row.wrong, "number": 2, "asks": ""}
    context["says"] = row.wrong or row.says
    alone = render_to_string("desk/row.html", {"mark": context})
    rows = page_rows([mark(), row])
    assert rows.endswith(alone) and rows.count('class="row') == 2


def test_a_value_that_waits_is_asked_about_in_its_row() -> None:
    other = {"count": ["<7>", ""], "notes": ["x"]}
    rows = page_rows([mark(count="9", other=other)])
    asked = re.findall(r'<span class="asks">(.*)</span>\n</div>', rows)[0]
    assert " ".join(re.sub(r"<[^>]+>", " ", asked).split()) == (
        "Two values for the count. Keep 9 Take &lt;7&gt; Take empty "
        "Two values for the notes. Keep empty Take x"
    )
    assert json.loads(html.unescape(re.findall(r'name="r1-other" value="([^"]*)"', asked)[0])) == other
    assert re.findall(r'name="do" value="([^"]*)"', asked) == [
        "choose:r1:count:",
        "choose:r1:count:0",
        "choose:r1:count:1",
        "choose:r1:notes:",
        "choose:r1:notes:0",
    ]


def test_a_column_that_no_row_has_marks_no_cell() -> None:
    assert page_rows([mark(column="heading", wrong="odd")]) == page_rows([mark(wrong="odd")])
