"""Modules of JavaScript put into one text, in the order in which they need each other."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from pacewright.exceptions import FormatComplaint

_IMPORT: Final = re.compile(r'^import \{([^}]*)\} from "(\./|\.\./)([^"]+)";\n', re.MULTILINE)
_EXPORT: Final = re.compile(
    r"^export (?:async )?(?:function\*?|class|const|let) ([A-Za-z_$][\w$]*)", re.MULTILINE
)
_LITERAL: Final = re.compile(r"""("(?:[^"\\]|\\.)*"|'(?:[^'\\]|\\.)*'|`[^`]*`)""")
_BLANKS: Final = re.compile(r" *([=*<>?:,{}()|&!;]) *|(?:(?<=[\w)\]])|^) ([+-]) (?:(?=[\w(\[])|$)")


def join_modules(texts: Mapping[str, str]) -> str:
    """The modules as one text, each in a scope of its own and after those that it imports from.

    Parameters
    ----------
    texts
        Text by name, as `engine/py.js`; what is imported and not among them stands in an earlier text.

    Raises
    ------
    FormatComplaint
        Two modules import each other.
    """
    order: list[str] = []
    waiting: list[str] = []

    def visit(name: str) -> None:
        if name in order or name not in texts:
            return
        if name in waiting:
            raise FormatComplaint(
                f"{name} imports itself by way of {waiting[-1]}", "Part what both need into a third file"
            )
        waiting.append(name)
        for _, up, path in _IMPORT.findall(texts[name]):
            visit(_found(name, up, path))
        order.append(waiting.pop())

    for name in texts:
        visit(name)
    return "\n".join(_wrapped(name, texts[name]) for name in order)


def exports_of(text: str) -> list[str]:
    """What a module exports."""
    return _EXPORT.findall(text)


def take_exports(texts: Mapping[str, str]) -> str:
    """The lines that bring all that some modules export into the scope about them.

    Raises
    ------
    FormatComplaint
        Two of them export one name.
    """
    owner: dict[str, str] = {}
    for module, text in texts.items():
        for name in exports_of(text):
            if name in owner:
                raise FormatComplaint(f"{name} stands in {owner[name]} and in {module}", "Rename one of them")
            owner[name] = module
    return "".join(
        f"const {{ {', '.join(exports_of(text))} }} = {_scope(name)};\n" for name, text in texts.items()
    )


def bare(text: str) -> str:
    """A text without lines that are comments and without blanks at the left: the page stays small."""
    kept, in_comment = [], False
    for line in text.splitlines():
        short = line.strip()
        while in_comment or short.startswith("/*"):
            _, end, after = short.partition("*/")
            in_comment, short = not end, after.strip()
            if in_comment:
                break
        if short and not short.startswith("//"):
            kept.append(short)
    return "\n".join(kept) + "\n"


def tight(text: str) -> str:
    """A text without the blanks about its signs: a quarter of the page is blanks.

    What stands in quotes stays, and so does a line that a glance cannot part: one with a pattern or a
    quotient, or with one template within another.

    >>> tight('const a = (b, c) => "x = 1" + b + +c;\\nreturn a / b;')
    'const a=(b,c)=>"x = 1"+b + +c;\\nreturn a / b;'
    """
    return "\n".join(map(_tight_line, text.split("\n")))


def _tight_line(line: str) -> str:
    parts = _LITERAL.split(line)
    code = "".join(parts[::2])
    if line.count("`") not in (0, 2) or any(sign in code for sign in "`\"'/"):
        return line
    return "".join(_BLANKS.sub(r"\1\2", part) if k % 2 == 0 else part for k, part in enumerate(parts))


def _found(name: str, up: str, path: str) -> str:
    folder = name.rpartition("/")[0] if up == "./" else ""
    return f"{folder}/{path}" if folder else path


def _scope(name: str) -> str:
    return "$" + re.sub(r"\W", "_", name.removesuffix(".js"))


def _wrapped(name: str, text: str) -> str:
    def taken(match: re.Match[str]) -> str:
        return f"const {{{match[1]}}} = {_scope(_found(name, match[2], match[3]))};\n"

    exported = ", ".join(exports_of(text))
    body = re.sub(r"^export ", "", _IMPORT.sub(taken, bare(text)), flags=re.MULTILINE).strip()
    return f"const {_scope(name)} = (() => {{\n{body}\nreturn {{ {exported} }};\n}})();"
