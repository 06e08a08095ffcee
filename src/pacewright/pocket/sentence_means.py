"""What the writing of sentences in JavaScript knows of Python: operators, functions, methods, names."""

from __future__ import annotations

import ast
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import FunctionType
from typing import Any, Final

from pacewright.exceptions import FormatComplaint

READ_FROM: Final = (
    "pacewright.wording.",
    "pacewright.core.log.questions",
    "pacewright.core.way.reckoning._ground_not_told",
)
"""Rooms, files and functions that are written again; any other function is in the engine of the page."""

OPERATORS: Final[dict[type[ast.AST], str]] = {
    ast.Lt: "<",
    ast.LtE: "<=",
    ast.Gt: ">",
    ast.GtE: ">=",
    ast.Sub: "-",
    ast.Div: "/",
    ast.Pow: "**",
}
HELPED: Final[dict[type[ast.AST], str]] = {
    ast.Add: "ADD",
    ast.Mult: "MUL",
    ast.Mod: "MOD",
    ast.FloorDiv: "FDIV",
}
BUILTINS: Final = frozenset(
    [
        "len",
        "max",
        "min",
        "abs",
        "sum",
        "zip",
        "enumerate",
        "tuple",
        "list",
        "sorted",
        "round",
        "str",
        "float",
        "int",
        "any",
        "all",
        "range",
        "reversed",
        "map",
        "bool",
        "set",
    ]
)
LIBRARY: Final = frozenset(
    [
        "math.hypot",
        "math.floor",
        "math.ceil",
        "math.isclose",
        "math.radians",
        "math.degrees",
        "unicodedata.normalize",
        "dict.fromkeys",
        "itertools.accumulate",
    ]
)
METHODS: Final = frozenset(
    [
        "join",
        "strip",
        "lstrip",
        "rstrip",
        "lower",
        "upper",
        "casefold",
        "removeprefix",
        "removesuffix",
        "replace",
        "split",
        "startswith",
        "endswith",
        "isdecimal",
        "isalpha",
        "append",
        "items",
        "get",
        "tolist",
        "fullmatch",
        "partition",
        "capitalize",
    ]
)


def refuse(node: ast.AST, scope: Scope) -> FormatComplaint:
    """Say that something in a sentence's function is not known here."""
    line = getattr(node, "lineno", 0) + scope.first_line - 1
    return FormatComplaint(
        f"{scope.place}, line {line}: {ast.unparse(node)[:60]} is not known to the pocket page",
        "Write the sentence with plain means, or teach sentence_code.py",
    )


@dataclass(slots=True)
class Scope:
    """Where names of a function come from.

    Attributes
    ----------
    place
        Of the function, for complaints.
    known
        Globals of its module.
    own
        Its own names.
    is_told
        True where its own names are handed over in one object, as for a complaint's texts.
    wanted
        Functions of the tool that it calls.
    first_line
        Of the function in its file.
    """

    place: str
    known: Mapping[str, Any]
    own: frozenset[str] = frozenset()
    is_told: bool = False
    wanted: list[FunctionType] = field(default_factory=list)
    first_line: int = 1


TOLD_HERE: Final = ("pacewright.wording.way_answer.say_doubt_of",)
"""Sentences that the page has of its own: it does not search for a mistake."""


def is_read(function: FunctionType) -> bool:
    """Whether a function is written again; one of the engine is called by its name there."""
    whole = f"{function.__module__}.{function.__name__}"
    return (function.__module__.startswith(READ_FROM) or whole in READ_FROM) and whole not in TOLD_HERE


def name_of(function: FunctionType) -> str:
    """A function's name on the page."""
    first, *more = function.__name__.split("_")
    return function.__name__ if is_read(function) else first + "".join(one.capitalize() for one in more)
