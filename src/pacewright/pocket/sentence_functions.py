"""The sentences of the tool as JavaScript: whole functions, and the texts of complaints."""

from __future__ import annotations

import ast
import inspect
import textwrap
from collections.abc import Callable, Iterable, Sequence
from types import FunctionType, ModuleType
from typing import Any

from pacewright.exceptions import FormatComplaint
from pacewright.pocket.sentence_code import names_in, pattern_of, write
from pacewright.pocket.sentence_means import HELPED, Scope, is_read, name_of, refuse


def write_functions(
    starts: Iterable[Callable[..., Any]], in_engine: frozenset[str], constants: Sequence[tuple[str, Any]] = ()
) -> str:
    """Functions that make sentences in JavaScript, with all that they call.

    Parameters
    ----------
    starts
        The functions asked for.
    in_engine
        Names of the functions that the engine has.
    constants
        Names and values that stand beside them.

    Raises
    ------
    FormatComplaint
        A function holds what is not known, or calls what the engine has not.
    """
    waiting = [one for one in starts if isinstance(one, FunctionType)]
    done, texts = dict[str, FunctionType](), []
    while waiting:
        one = waiting.pop(0)
        name = one.__name__
        if name in done:
            if done[name] is not one and is_read(one):
                raise FormatComplaint(
                    f"{name} stands in {done[name].__module__} and in {one.__module__}", "Rename one of them"
                )
            continue
        if not is_read(one):
            if name_of(one) not in in_engine:
                raise FormatComplaint(
                    f"{name} of {one.__module__} is not in the engine of the pocket page", "Write it there"
                )
            continue
        done[name] = one
        text, wanted = write_function(one)
        texts.append(text)
        waiting.extend(wanted)
    told = [
        f"const {name} = {write(ast.parse(repr(value), mode='eval').body, Scope(name, {}))};"
        for name, value in constants
    ]
    return "\n".join([*told, *texts]) + "\n"


def write_function(function: FunctionType) -> tuple[str, list[FunctionType]]:
    """One function in JavaScript, and the functions of the tool that it calls."""
    lines, first_line = inspect.getsourcelines(function)
    tree = ast.parse(textwrap.dedent("".join(lines))).body[0]
    assert isinstance(tree, ast.FunctionDef)
    asked = [*tree.args.posonlyargs, *tree.args.args, *tree.args.kwonlyargs]
    parameters = [one.arg for one in asked]
    bound = _bound(tree)
    scope = Scope(
        function.__module__, function.__globals__, bound | frozenset(parameters), False, [], first_line
    )
    shown = [*parameters]
    defaults = [*tree.args.defaults, *(one for one in tree.args.kw_defaults if one is not None)]
    for at, default in enumerate(reversed(defaults), start=1):
        shown[-at] = f"{shown[-at]} = {write(default, scope)}"
    star = "*" if any(isinstance(one, ast.Yield | ast.YieldFrom) for one in ast.walk(tree)) else ""
    declared = sorted(bound - frozenset(parameters))
    body = [f"let {', '.join(declared)};"] if declared else []
    body += [_statement(one, scope) for one in tree.body]
    text = "\n".join(filter(None, body))
    return (
        f"function{star} {tree.name}({', '.join(shown)}) {{\n{textwrap.indent(text, '  ')}\n}}",
        scope.wanted,
    )


def _bound(tree: ast.FunctionDef) -> frozenset[str]:
    names: frozenset[str] = frozenset()
    for one in ast.walk(tree):
        if isinstance(one, ast.Assign):
            for target in one.targets:
                names |= _targets(target)
        elif isinstance(one, ast.AnnAssign | ast.AugAssign | ast.For):
            names |= _targets(one.target)
        elif isinstance(one, ast.NamedExpr):
            names |= {one.target.id}
    return names


def _targets(target: ast.AST) -> frozenset[str]:
    return frozenset() if isinstance(target, ast.Subscript | ast.Attribute) else names_in(target)


def _block(body: Sequence[ast.stmt], scope: Scope) -> str:
    inside = "\n".join(filter(None, (_statement(one, scope) for one in body)))
    return "{\n" + textwrap.indent(inside, "  ") + "\n}"


def _statement(node: ast.stmt, scope: Scope) -> str:
    match node:
        case ast.Expr(value=ast.Constant()) | ast.Assert() | ast.Pass():
            return ""
        case ast.Expr(value=ast.Yield(value=value)) if value is not None:
            return f"yield {write(value, scope)};"
        case ast.Expr(value=ast.YieldFrom(value=value)):
            return f"yield* LIST({write(value, scope)});"
        case ast.Expr(value=value):
            return f"{write(value, scope)};"
        case ast.Return(value=value):
            return f"return {write(value, scope) if value is not None else 'null'};"
        case ast.Assign(targets=[target], value=value):
            # A line that begins with a bracket would go on from the line above.
            return f"{pattern_of(target, scope)} = {_spread(target, write(value, scope))};"
        case ast.AnnAssign(target=target, value=value) if value is not None:
            return f"{pattern_of(target, scope)} = {write(value, scope)};"
        case ast.AugAssign(target=ast.Name(id=name), op=operator, value=value) if type(operator) in HELPED:
            return f"{name} = {HELPED[type(operator)]}({name}, {write(value, scope)});"
        case ast.If(test=test, body=body, orelse=orelse):
            other = f" else {_block(orelse, scope)}" if orelse else ""
            return f"if (TRUE({write(test, scope)})) {_block(body, scope)}{other}"
        case ast.For(target=target, iter=over, body=body, orelse=[]):
            return f"for ({pattern_of(target, scope)} of LIST({write(over, scope)})) {_block(body, scope)}"
        case ast.Continue():
            return "continue;"
        case ast.Break():
            return "break;"
    raise refuse(node, scope)


def _spread(target: ast.AST, value: str) -> str:
    return value if isinstance(target, ast.Name) else f"LIST({value})"


def write_complaints(modules: Iterable[ModuleType]) -> str:
    """The texts of all complaints that the functions of some files make, by function and in order.

    Each is a function of one object that holds what the Python function calls by those names.

    Raises
    ------
    FormatComplaint
        A text holds what is not known.
    """
    entries: dict[str, list[str]] = {}
    for module in modules:
        tree = ast.parse(inspect.getsource(module))
        for function in ast.walk(tree):
            if isinstance(function, ast.FunctionDef):
                for text in _complaints_in(function, module):
                    entries.setdefault(function.name, []).append(text)
    parts = ",\n    "
    lines = [f"  {name}: [\n    {parts.join(texts)},\n  ]," for name, texts in entries.items()]
    return "const COMPLAINTS = {\n" + "\n".join(lines) + "\n};\n"


def _complaints_in(function: ast.FunctionDef, module: ModuleType) -> list[str]:
    own = _bound(function) | {one.arg for one in (*function.args.args, *function.args.kwonlyargs)}
    for loop in ast.walk(function):
        if isinstance(loop, ast.comprehension):
            own -= names_in(loop.target)
    scope = Scope(module.__name__, vars(module), own, True)
    calls = [one for one in ast.walk(function) if isinstance(one, ast.Call) and len(one.args) == 2]
    found = [one for one in calls if isinstance(one.func, ast.Name) and one.func.id.endswith("Complaint")]
    found.sort(key=lambda one: (one.lineno, one.col_offset))
    texts = []
    for one in found:
        assert isinstance(one.func, ast.Name)
        what, do = (write(arg, scope) for arg in one.args)
        texts.append(f'(of) => ["{one.func.id}", {what}, {do}]')
    return texts
