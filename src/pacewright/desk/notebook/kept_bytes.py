"""How much is kept: steps of undo up to a bound, and of a guest no more than a share of the disk."""

from __future__ import annotations

import json
import threading
from collections.abc import Sequence
from typing import Any, Final

from django.db.models import Count, QuerySet, Sum, TextField
from django.db.models.functions import Cast, Length

from pacewright.desk.models import Edit, KeptLog, Member
from pacewright.exceptions import OutputComplaint

MOST_UNDO: Final = 300
"""Steps of a log that can be taken back; of older ones only the key stays, so that none is made twice."""
MOST_UNDO_BYTES: Final = 2_000_000
LARGE_BYTES: Final = 20_000
MOST_GUEST_BYTES: Final = 20_000_000
"""A log of sixty rows takes some 20 kB with all that was ever corrected on it."""
_UNCOUNTED_BYTES: Final = 64_000
_RECORD_BYTES: Final = 120
_NOTHING: Final[dict[str, Any]] = {"kind": "paste", "rows": []}


def bound_undo(log: KeptLog, edits: Sequence[Edit]) -> None:
    """Let go of the steps of undo that are too old, or too much together; the latest always stays.

    Parameters
    ----------
    log
        At its new revision.
    edits
        What was just recorded.
    """
    first, last = log.revision - MOST_UNDO - len(edits), log.revision - MOST_UNDO
    if last > 0:
        _let_go(log.edits.filter(number__gt=first, number__lte=last))
    if any(bytes_of(edit.inverse) + bytes_of(edit.change) > LARGE_BYTES for edit in edits):
        _let_go_of_large(log)


def _let_go(edits: QuerySet[Edit]) -> None:
    edits.update(change=_NOTHING, inverse=_NOTHING, is_undone=True)


def _let_go_of_large(log: KeptLog) -> None:
    together = 0
    sizes = (
        log.edits.filter(is_undone=False)
        .order_by("-number")
        .annotate(size=_length("change") + _length("inverse"))
    )
    for at, (number, size) in enumerate(sizes.values_list("number", "size")):
        together += size
        if at and together > MOST_UNDO_BYTES:
            _let_go(log.edits.filter(number__lte=number))
            return


def bytes_of(kept: Any) -> int:
    """About how many bytes something takes that is kept as JSON."""
    return len(json.dumps(kept))


def _length(name: str) -> Length:
    return Length(Cast(name, TextField()))


class GuestShares:
    """What each guest may still keep before it is counted again: counting reads all that they keep."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._left: dict[Any, int] = {}

    def spend(self, member: Member, more_bytes: int) -> None:
        """Let a member keep so much more; the owner is not counted.

        Raises
        ------
        OutputComplaint
            A guest keeps as much as a guest may.
        """
        if member.is_owner:
            return
        with self._lock:
            left = self._left.get(member.pk, _UNCOUNTED_BYTES if more_bytes < _UNCOUNTED_BYTES else 0)
            self._left[member.pk] = left - more_bytes
        if left >= more_bytes:
            return
        free = MOST_GUEST_BYTES - kept_bytes(member) - more_bytes
        with self._lock:
            self._left[member.pk] = max(free, 0) // 2
        if free < 0:
            raise OutputComplaint(
                f"a guest keeps at most {MOST_GUEST_BYTES // 1_000_000} MB at this desk, this would be more",
                "Delete logs for good, under Books",
            )

    def clear(self) -> None:
        """Have every guest counted anew."""
        with self._lock:
            self._left.clear()


SHARES: Final = GuestShares()


def kept_bytes(member: Member) -> int:
    """About how many bytes of the desk are a member's."""
    logs = Sum(_length("rows") + Length("heading") + Length("words"))
    found = [
        member.logs.aggregate(of=logs)["of"],
        member.logs.exclude(came_as=None).aggregate(of=Sum(Length("came_as")))["of"],
        member.photographs.aggregate(of=Sum("kept_bytes"))["of"],
        member.walkers.aggregate(of=Sum(Length("toml") + Length("trials_csv")))["of"],
        member.walkers.aggregate(of=Sum(Length("past__toml") + Length("past__trials_csv")))["of"],
    ]
    edits = Edit.objects.filter(log__owner=member).aggregate(
        of=Sum(_length("change") + _length("inverse")), many=Count("pk")
    )
    return sum(one or 0 for one in (*found, edits["of"])) + _RECORD_BYTES * edits["many"]
