"""All that is wrong with a file: what is wrong in its order, then how to mend each."""

from __future__ import annotations

from typing import Final

from pacewright.exceptions import Complaint, Where

MOST_SHOWN: Final = 20


def say_complaints(complaint: Complaint) -> list[str]:
    """One line for one complaint; for several what is wrong, a line each, and then the ways to mend them."""
    if not complaint.others:
        return [str(complaint)]
    told = complaint.all()
    shown, more = told[:MOST_SHOWN], len(told) - MOST_SHOWN
    file = f"{complaint.where.file}: " if complaint.where.file else ""
    lines = [f"{file}{len(told)} things are to be mended."]
    lines += [f"  {_place(one)}: {_said(one.what)}" for one in shown]
    lines += [f"  and {more} more"] if more > 0 else []
    ways: dict[str, list[str]] = {}
    for one in shown:
        ways.setdefault(one.do, []).append(_line(one))
    return [*lines, "How:", *(f"  {_joined(of)}: {_said(do)}" for do, of in ways.items())]


def _place(complaint: Complaint) -> str:
    return str(Where(None, complaint.where.line, complaint.where.column)) or "the file"


def _line(complaint: Complaint) -> str:
    return str(complaint.where.line or "")


def _joined(lines: list[str]) -> str:
    different = [line for line in dict.fromkeys(lines) if line]
    if not different:
        return "the file"
    if len(different) == 1:
        return f"line {different[0]}"
    return f"lines {', '.join(different[:-1])} and {different[-1]}"


def _said(part: str) -> str:
    # What a file holds is shortened, and kept on its line, as in a single complaint.
    return str(Complaint(part, "-")).removesuffix(" -.")
