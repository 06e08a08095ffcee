"""Milliseconds a page of typesetting, and a class set of 500 pages in one document.

Every row prints the same sheets twice and says whether the bytes were the same; the time is that of the
first. The last column is the time a page over that of the blank log page. At the end stands the most
memory that the run took, nearly all of it for the class set: a long set is laid out in parts, two at a time,
and joined (some 500 MB for 480 pages, 925 MB when it was laid out in one go; the typesetter takes about
1.8 MB a page). Joining takes 4 to 5 ms a page and keeps every tag.
"""

from __future__ import annotations

import random
import re
import sys
import time
from collections.abc import Callable

from pacewright.core.pace.walker import Walker
from pacewright.files.known_places import open_estimate
from pacewright.files.log_csv import read_log
from pacewright.sheets.debrief import debrief_of, debrief_sheet
from pacewright.sheets.leg_cards import leg_card
from pacewright.sheets.log_page import blank_log, filled_log
from pacewright.sheets.paper import PAPERS, PaperName, Sheet
from pacewright.sheets.traverse_sheet import traverse_sheet
from pacewright.sheets.typesetting import typeset
from pacewright.sheets.way_back_card import way_back_card

WALKER = Walker(name="Ines Rowe", per_100_m=62.5)
CLASS_SET = 167
"""Walkers: a leg card of one page and a way back of two for each, 501 pages."""
CLASS_SET_LIMIT_S = 30.0


def made_log(seed: int, legs: int = 6) -> bytes:
    """A made-up log, each of its own."""
    chance = random.Random(seed)
    rows = [f"# title: Walk {seed}", "# azimuth: magnetic degrees", "# count: paces", "# start: Gate"]
    rows.append("azimuth,count,notes")
    rows += [f"{chance.randrange(360)},{chance.randrange(20, 900)},[at marker {i}] dry" for i in range(legs)]
    return "\n".join(rows).encode("utf-8")


def debriefs() -> list[Sheet]:
    """The debrief of logs that come back to a marker."""
    made = []
    for seed in range(10):
        log = read_log(made_log(seed) + b"\n10,300,[at marker 0]")
        told = debrief_of(open_estimate(log, WALKER))
        made.append(debrief_sheet(told, PAPERS["a4"]))
    return made


def class_set() -> list[Sheet]:
    """A leg card and the way back for every walker of a large class."""
    on, made = PAPERS["a4"], []
    for seed in range(CLASS_SET):
        log = read_log(made_log(seed))
        made += [leg_card(open_estimate(log, WALKER), on), way_back_card(open_estimate(log, WALKER), on)]
    return made


SETS: tuple[tuple[str, PaperName, Callable[[], list[Sheet]]], ...] = (
    ("blank log, 50 pages", "a4", lambda: [blank_log(PAPERS["a4"], 50)]),
    ("log of 300 legs", "a4", lambda: [filled_log(read_log(made_log(1, 300)), PAPERS["a4"])]),
    (
        "leg cards, 50",
        "a4",
        lambda: [leg_card(open_estimate(read_log(made_log(i)), WALKER), PAPERS["a4"]) for i in range(50)],
    ),
    (
        "ways back, 20",
        "a4",
        lambda: [
            way_back_card(open_estimate(read_log(made_log(i)), WALKER), PAPERS["a4"]) for i in range(20)
        ],
    ),
    ("debriefs, 10", "a4", debriefs),
    (
        "traverse table",
        "a4",
        lambda: [traverse_sheet(open_estimate(read_log(made_log(1)), WALKER), PAPERS["a4"])],
    ),
    (
        "pocket cards, 20",
        "pocket",
        lambda: [leg_card(open_estimate(read_log(made_log(i)), WALKER), PAPERS["pocket"]) for i in range(20)],
    ),
    ("class set", "a4", class_set),
)


def main() -> None:
    """Print a line a set."""
    typeset([blank_log(PAPERS["a4"])], PAPERS["a4"])  # loads the fonts, once a run
    heads = ("pages", "make s", "print s", "ms a page", "same bytes", "to first")
    print(f"{'set':<22}" + "".join(f"{head:>11}" for head in heads))
    first = 0.0
    for name, paper, make in SETS:
        began = time.perf_counter()
        sheets = make()
        are_made = time.perf_counter()
        pdf = typeset(sheets, PAPERS[paper])
        done = time.perf_counter()
        pages = int(re.search(rb"<xmpTPg:NPages>(\d+)<", pdf)[1])  # type: ignore[index]
        a_page = (done - are_made) / pages
        first = first or a_page
        again = typeset(sheets, PAPERS[paper]) == pdf
        print(
            f"{name:<22}{pages:>11}{are_made - began:>11.2f}{done - are_made:>11.2f}{1000 * a_page:>11.1f}"
            f"{again!s:>11}{a_page / first:>11.2f}"
        )
        if name == "class set":
            print(f"class set in {done - began:.1f} s, wanted under {CLASS_SET_LIMIT_S:g} s; {peak_mb()}")


def peak_mb() -> str:
    """Say the most memory that this run took, where the system counts it."""
    try:
        import resource
    except ImportError:
        return "memory not counted here"
    # Kilobytes, but bytes on macOS.
    share = 1e6 if sys.platform == "darwin" else 1e3
    return f"at most {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / share:.0f} MB"


if __name__ == "__main__":
    main()
