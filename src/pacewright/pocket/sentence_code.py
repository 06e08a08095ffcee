"""The sentences of the tool as JavaScript: expressions.

The page must say what the command line says, word for word. So nobody writes a sentence twice: the
functions that make it are read in Python and written again in JavaScript when the page is built. Only what
such functions use is known here; whatever else they come to hold is refused by name, and the page is not
built.
"""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Callable
from types import FunctionType
from typing import Any, Final

from pacewright.exceptions import FormatComplaint
from pacewright.pocket.sentence_means import (
    BUILTINS,
    HELPED,
    LIBRARY,
    METHODS,
    OPERATORS,
    Scope,
    name_of,
    refuse,
)


def write(node: Any, scope: Scope) -> str:
    """One expression in JavaScript.

    Raises
    ------
    FormatComplaint
        It holds something that is not known here.
    """
    writer = _WRITERS.get(type(node))
    if writer is None:
        raise refuse(node, scope)
    return writer(node, scope)


def _all(nodes: list[Any], scope: Scope) -> str:
    return ", ".join(write(node, scope) for node in nodes)


def _constant(node: Any, scope: Scope) -> str:
    return literal(node.value, scope)


def literal(value: Any, scope: Scope) -> str:
    """A constant in JavaScript; a pattern becomes one that must match as a whole."""
    match value:
        case None | bool() | int() | float() | str():
            return json.dumps(value, ensure_ascii=False)
        case tuple() | list():
            return f"[{', '.join(literal(one, scope) for one in value)}]"
        case dict():
            pairs = (f"[{json.dumps(key)}]: {literal(one, scope)}" for key, one in value.items())
            return f"({{{', '.join(pairs)}}})"
        case type():
            return json.dumps(value.__name__)
        case re.Pattern():
            return f"PATTERN({json.dumps(value.pattern)}, {json.dumps('i' if value.flags & re.I else '')})"
        case FunctionType():
            scope.wanted.append(value)
            return name_of(value)
    raise FormatComplaint(
        f"{scope.place}: {str(value)[:40]} cannot stand on the pocket page", "Use texts and numbers"
    )


def _name(node: Any, scope: Scope) -> str:
    name = str(node.id)
    if name in scope.own:
        return f"of.{name}" if scope.is_told else name
    if name in scope.known:
        return literal(scope.known[name], scope)
    if scope.is_told:
        return f"of.{name}"
    if name in BUILTINS:
        return name.upper()
    raise refuse(node, scope)


def _joined(node: Any, scope: Scope) -> str:
    # Every part is a text already, so that their sum is one.
    return " + ".join([write(part, scope) for part in node.values] or ['""'])


def _formatted(node: Any, scope: Scope) -> str:
    value = write(node.value, scope)
    if node.conversion != -1:
        raise refuse(node, scope)
    return f"FMT({value}, {write(node.format_spec, scope)})" if node.format_spec else f"STR({value})"


def _attribute(node: Any, scope: Scope) -> str:
    return f"{write(node.value, scope)}.{node.attr}"


def _subscript(node: Any, scope: Scope) -> str:
    base, key = write(node.value, scope), node.slice
    if isinstance(key, ast.Slice):
        if key.step is not None:
            raise refuse(node, scope)
        ends = [write(end, scope) if end is not None else "null" for end in (key.lower, key.upper)]
        return f"SLICE({base}, {', '.join(ends)})"
    return f"AT({base}, {write(key, scope)})"


def _binary(node: Any, scope: Scope) -> str:
    left, right = write(node.left, scope), write(node.right, scope)
    if (helper := HELPED.get(type(node.op))) is not None:
        return f"{helper}({left}, {right})"
    if type(node.op) not in OPERATORS:
        raise refuse(node, scope)
    return f"({left} {OPERATORS[type(node.op)]} {right})"


def _unary(node: Any, scope: Scope) -> str:
    value = write(node.operand, scope)
    if isinstance(node.op, ast.Not):
        return f"!TRUE({value})"
    if isinstance(node.op, ast.USub):
        return f"(-{value})"
    raise refuse(node, scope)


def _boolean(node: Any, scope: Scope) -> str:
    name = "OR" if isinstance(node.op, ast.Or) else "AND"
    first, *rest = (write(value, scope) for value in node.values)
    for value in rest:
        first = f"{name}({first}, () => {value})"
    return first


def _compare(node: Any, scope: Scope) -> str:
    parts, left = [], node.left
    for operator, right in zip(node.ops, node.comparators, strict=True):
        parts.append(_one_compare(left, operator, right, node, scope))
        left = right
    return f"({' && '.join(parts)})"


def _one_compare(left: Any, operator: ast.cmpop, right: Any, node: Any, scope: Scope) -> str:
    if isinstance(left, ast.Call) and getattr(left.func, "id", "") == "type":
        return f"IS({write(left.args[0], scope)}, {write(right, scope)})"
    one, other = write(left, scope), write(right, scope)
    if type(operator) in OPERATORS:
        return f"{one} {OPERATORS[type(operator)]} {other}"
    helper = {ast.Is: "EQ", ast.IsNot: "!EQ", ast.Eq: "EQ", ast.NotEq: "!EQ", ast.In: "IN", ast.NotIn: "!IN"}
    if type(operator) not in helper:
        raise refuse(node, scope)
    return f"{helper[type(operator)]}({one}, {other})"


def _choice(node: Any, scope: Scope) -> str:
    test, yes, no = (write(part, scope) for part in (node.test, node.body, node.orelse))
    return f"(TRUE({test}) ? {yes} : {no})"


def _sequence(node: Any, scope: Scope) -> str:
    return f"[{_all(node.elts, scope)}]"


def _dictionary(node: Any, scope: Scope) -> str:
    if any(key is None for key in node.keys):
        raise refuse(node, scope)
    pairs = zip(node.keys, node.values, strict=True)
    return f"({{{', '.join(f'[{write(key, scope)}]: {write(value, scope)}' for key, value in pairs)}}})"


def _walrus(node: Any, scope: Scope) -> str:
    return f"({node.target.id} = {write(node.value, scope)})"


def _starred(node: Any, scope: Scope) -> str:
    return f"...LIST({write(node.value, scope)})"


def pattern_of(node: ast.AST, scope: Scope) -> str:
    """The target of a loop or of an assignment."""
    match node:
        case ast.Name(id=name):
            return name
        case ast.Tuple(elts=elts) | ast.List(elts=elts):
            return f"[{', '.join(pattern_of(one, scope) for one in elts)}]"
        case ast.Starred(value=value):
            return f"...{pattern_of(value, scope)}"
    raise refuse(node, scope)


def names_in(node: ast.AST) -> frozenset[str]:
    """The names that a target binds."""
    return frozenset(one.id for one in ast.walk(node) if isinstance(one, ast.Name))


def _comprehension(node: Any, scope: Scope) -> str:
    inner = scope
    layers: list[tuple[str, str, str]] = []
    for loop in node.generators:
        over = write(loop.iter, inner)
        inner = Scope(
            scope.place, scope.known, inner.own | names_in(loop.target), False, scope.wanted, scope.first_line
        )
        tests = "".join(
            f".filter(({pattern_of(loop.target, inner)}) => TRUE({write(test, inner)}))" for test in loop.ifs
        )
        layers.append((f"LIST({over}){tests}", pattern_of(loop.target, inner), ""))
    text = write(node.elt, inner)
    for depth, (over, target, _) in enumerate(reversed(layers)):
        text = f"{over}.{'map' if depth == 0 else 'flatMap'}(({target}) => {text})"
    return text


def _lambda(node: Any, scope: Scope) -> str:
    names = [one.arg for one in node.args.args]
    inner = Scope(
        scope.place, scope.known, scope.own | frozenset(names), scope.is_told, scope.wanted, scope.first_line
    )
    return f"(({', '.join(names)}) => {write(node.body, inner)})"


def _call(node: Any, scope: Scope) -> str:
    dotted = ast.unparse(node.func)
    if dotted == "isinstance":
        return f"IS({write(node.args[0], scope)}, {_kinds(node.args[1], scope)})"
    if dotted in LIBRARY or (dotted in BUILTINS and dotted not in scope.own):
        given = [write(one, scope) for one in node.args]
        given += [write(one.value, scope) for one in node.keywords if one.arg in ("abs_tol", "start")]
        return f"{dotted.split('.')[-1].upper()}({', '.join(given)})"
    if dotted == "accumulate":
        return f"ACCUMULATE({_all(node.args, scope)})"
    if isinstance(node.func, ast.Name) and node.func.id not in scope.own:
        return _call_of_tool(node, scope)
    if isinstance(node.func, ast.Attribute):
        base, method = write(node.func.value, scope), node.func.attr
        if method in METHODS:
            return f"PY.{method}({', '.join([base, *(write(one, scope) for one in node.args)])})"
        return f"{base}.{method}({_all(node.args, scope)})"
    return f"{write(node.func, scope)}({_all(node.args, scope)})"


def _kinds(node: ast.AST, scope: Scope) -> str:
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.BitOr):
        return f"[...LIST({_kinds(node.left, scope)}), ...LIST({_kinds(node.right, scope)})]"
    text = write(node, scope)
    return text if text.startswith("[") else f"[{text}]"


def _call_of_tool(node: Any, scope: Scope) -> str:
    called = scope.known.get(node.func.id)
    if not isinstance(called, FunctionType):
        raise refuse(node, scope)
    scope.wanted.append(called)
    given = [write(one, scope) for one in node.args]
    if node.keywords:
        code = called.__code__
        names = code.co_varnames[: code.co_argcount + code.co_kwonlyargcount]
        by_name = {one.arg: write(one.value, scope) for one in node.keywords}
        if not set(by_name) <= set(names):
            raise refuse(node, scope)
        given += [by_name.get(name, "undefined") for name in names[len(given) :]]
    return f"{name_of(called)}({', '.join(given)})"


_WRITERS: Final[dict[type[ast.AST], Callable[[Any, Scope], str]]] = {
    ast.Constant: _constant,
    ast.Name: _name,
    ast.JoinedStr: _joined,
    ast.FormattedValue: _formatted,
    ast.Attribute: _attribute,
    ast.Subscript: _subscript,
    ast.BinOp: _binary,
    ast.UnaryOp: _unary,
    ast.BoolOp: _boolean,
    ast.Compare: _compare,
    ast.IfExp: _choice,
    ast.Tuple: _sequence,
    ast.List: _sequence,
    ast.Dict: _dictionary,
    ast.Starred: _starred,
    ast.NamedExpr: _walrus,
    ast.ListComp: _comprehension,
    ast.GeneratorExp: _comprehension,
    ast.Lambda: _lambda,
    ast.Call: _call,
}
