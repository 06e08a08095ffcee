"""What a browser is told of a page: only what it does not have already.

A page as it was told is known by a mark that follows from all its rows. A browser says which it has; where
this run of the desk remembers that one, only the rows that differ travel, else all do.
"""

from __future__ import annotations

import hashlib
import json
import re
import threading
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from typing import Any, Final

MOST_ROWS_HELD: Final = 30_000
"""Of all pages together."""
_REVISION: Final = re.compile(r'data-revision="\d+"')

Told = Mapping[str, Any]


class ToldPages:
    """The pages that were told lately, by their marks; what was not asked for the longest time goes first."""

    def __init__(self, most_rows: int = MOST_ROWS_HELD) -> None:
        self._lock = threading.Lock()
        self._pages: OrderedDict[str, tuple[Told, ...]] = OrderedDict()
        self._most, self._held = most_rows, 0

    def since(self, rows: Sequence[Told], seen: str) -> dict[str, Any]:
        """What to tell of a page to a browser that has the page of a mark.

        Parameters
        ----------
        rows
            The page as it stands; each has an `id`.
        seen
            The mark that the browser names; empty for none.

        Returns
        -------
        dict
            `mark`, and `rows` (all of them), or `of` (the mark that it rests on), `changed` (the rows that
            are new or differ) and, where it is another, `order` (every identity).
        """
        mark = _mark_of(json.dumps(rows, sort_keys=True))
        with self._lock:
            old = self._pages.get(seen)
            if seen in self._pages:
                self._pages.move_to_end(seen)
            known = {row["id"]: row for row in old or ()}
            # A row that stayed as it was is held once for all pages that have it.
            self._hold(mark, tuple(known[row["id"]] if known.get(row["id"]) == row else row for row in rows))
        if old is None:
            return {"mark": mark, "rows": list(rows)}
        told: dict[str, Any] = {"mark": mark, "of": seen}
        told["changed"] = [row for row in rows if known.get(row["id"]) != row]
        order = [row["id"] for row in rows]
        return told if order == [row["id"] for row in old] else {**told, "order": order}

    def _hold(self, mark: str, rows: tuple[Told, ...]) -> None:
        if mark in self._pages:
            self._pages.move_to_end(mark)
            return
        self._pages[mark] = rows
        self._held += len(rows) + 1
        while self._held > self._most and len(self._pages) > 1:
            _, gone = self._pages.popitem(last=False)
            self._held -= len(gone) + 1


TOLD_PAGES: Final = ToldPages()


def answer_mark(html: str) -> str:
    """The mark of an answer; the revision that it stands at does not count."""
    return _mark_of(_REVISION.sub("", html))


def _mark_of(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:20]
