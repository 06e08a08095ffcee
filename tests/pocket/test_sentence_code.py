"""Sentences written again in JavaScript: what is known, and what is refused by name."""

from __future__ import annotations

import ast

import pytest

from pacewright.exceptions import FormatComplaint
from pacewright.pocket.modules import bare, join_modules, take_exports
from pacewright.pocket.page_text import engine_text
from pacewright.pocket.sentence_code import write
from pacewright.pocket.sentence_functions import write_complaints, write_functions
from pacewright.pocket.sentence_means import Scope
from pacewright.wording.numbers import say_length


def written(text: str, **known: object) -> str:
    return write(ast.parse(text, mode="eval").body, Scope("a test", known, frozenset(("x", "many"))))


def test_a_formatted_text_becomes_a_sum_of_texts() -> None:
    assert written("f'{x:.1f} deg'") == 'FMT(x, ".1f") + " deg"'


def test_what_python_takes_for_nothing_is_nothing() -> None:
    assert written("x or 'nothing'") == 'OR(x, () => "nothing")'
    assert written("'a' if many else 'b'") == '(TRUE(many) ? "a" : "b")'


@pytest.mark.parametrize("text", ["x @ many", "f'{x!r}'", "many[::2]", "{**x}", "open('a')", "eval(x)"])
def test_what_is_not_known_is_refused_by_name(text: str) -> None:
    with pytest.raises(FormatComplaint, match="is not known to the pocket page"):
        written(text)


def test_a_function_that_the_engine_lacks_is_named() -> None:
    with pytest.raises(
        FormatComplaint, match=r"whole_count of pacewright\.core\.pace\.tally is not in the engine"
    ):
        write_functions([say_length], frozenset())


def test_complaints_stand_by_function_and_in_order() -> None:
    from pacewright.core.log import log_heading

    text = write_complaints([log_heading])
    assert "parse_heading: [" in text
    assert "SLICE(PY.strip(of.key), null, 40)" in text


def test_the_whole_engine_can_be_written() -> None:
    text = engine_text()
    assert "function say_way(" in text
    assert "import " not in text


def test_modules_stand_after_those_that_they_need() -> None:
    texts = {"a.js": 'import { b } from "./b.js";\nexport const a = b;\n', "b.js": "export const b = 1;\n"}
    joined = join_modules(texts)
    assert joined.index("$b = ") < joined.index("$a = ")
    assert take_exports(texts) == "const { a } = $a;\nconst { b } = $b;\n"


def test_modules_that_need_each_other_are_refused() -> None:
    texts = {"a.js": 'import { b } from "./b.js";\n', "b.js": 'import { a } from "./a.js";\n'}
    with pytest.raises(FormatComplaint, match="imports itself"):
        join_modules(texts)


def test_a_name_that_two_modules_export_is_refused() -> None:
    with pytest.raises(FormatComplaint, match=r"stands in a\.js and in b\.js"):
        take_exports({"a.js": "export const a = 1;\n", "b.js": "export function a() {}\n"})


def test_comments_are_left_at_home() -> None:
    assert bare("/** @type {any} */ (f)();\n") == "(f)();\n"
    assert (
        bare("/** what\n * it is */\nconst a = 1; // why\n  // how\n  f();\n")
        == "const a = 1; // why\nf();\n"
    )
