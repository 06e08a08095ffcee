"""A count on the tally cord and back: nine lower beads, four upper ones, in both customs.

The cord is common practice: at every full bead's worth one of nine lower beads is slid down; the
tenth puts all nine back and slides one of four upper beads. The custom says what a bead is worth:
a hundred paces, or a hundred metres by the walker's own pace count.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from pacewright.core.plausible import COUNT
from pacewright.exceptions import ValueComplaint

LOWER_BEADS: Final = 9
UPPER_BEADS: Final = 4
BEADS_IN_CORD: Final = (LOWER_BEADS + 1) * (UPPER_BEADS + 1)
"""Bead steps until the cord stands empty again: 50 hundreds."""
LARGEST_COUNT: Final = COUNT.most


def whole_count(count: float) -> int:
    """A count as it is said and written, to the whole pace: a half goes up.

    So for lengths, and for an east or a north, where a half goes away from nothing. A total of what was
    written so is the sum of what was written, which a pencil can check.

    References
    ----------
    Common practice of hand reckoning; the other rule, a half to the even number, makes 182.5 and 183.5
    paces 182 and 184.

    >>> whole_count(182.5), whole_count(183.5), whole_count(-0.5), whole_count(-0.4)
    (183, 184, -1, 0)
    """
    # The ninth decimal: a half that was worked out in binary is a half all the same.
    whole = math.floor(abs(count) + 0.5 + 1e-9)
    return -whole if count < 0 else whole


@dataclass(frozen=True, slots=True)
class Tally:
    """How a count stands on the cord.

    Attributes
    ----------
    thousands
        Thousands in all, those of cords run through included.
    hundreds
        Lower beads down, 0 to 9.
    paces
        Paces walked since the last bead was slid.
    """

    thousands: int
    hundreds: int
    paces: float

    @property
    def full_cords(self) -> int:
        """Times the whole cord was run through and put back (a notch or a knot each)."""
        return self.thousands // (UPPER_BEADS + 1)

    @property
    def upper_beads(self) -> int:
        """Upper beads down now, 0 to 4."""
        return self.thousands % (UPPER_BEADS + 1)


def tally_of_count(count: float, paces_per_bead: float = 100.0) -> Tally:
    """The cord's setting after so many paces.

    Parameters
    ----------
    count
        Paces walked, 0 to 1,000,000.
    paces_per_bead
        100 in the custom of a bead a hundred paces; the walker's pace count per 100 m in the custom
        of a bead a hundred metres.

    Raises
    ------
    ValueComplaint
        The count or the bead's worth is no such number.

    Examples
    --------
    >>> tally_of_count(1480)
    Tally(thousands=1, hundreds=4, paces=80)
    >>> tally_of_count(700, paces_per_bead=62.5)
    Tally(thousands=1, hundreds=1, paces=12.5)
    >>> tally_of_count(7250).full_cords, tally_of_count(7250).upper_beads
    (1, 2)
    """
    _check(count, paces_per_bead)
    # The ninth decimal: 3 beads of 64.1 must read 3 beads, not 2 beads and 64.1 paces.
    beads = math.floor(count / paces_per_bead + 1e-9)
    rest = max(0.0, round(count - beads * paces_per_bead, 9))
    return Tally(beads // 10, beads % 10, int(rest) if rest == int(rest) else rest)


def count_of_tally(tally: Tally, paces_per_bead: float = 100.0) -> float:
    """The paces that a setting of the cord stands for.

    >>> count_of_tally(Tally(1, 4, 80)), count_of_tally(Tally(1, 1, 12.5), 62.5)
    (1480.0, 700.0)
    """
    count = (tally.thousands * 10 + tally.hundreds) * paces_per_bead + tally.paces
    _check(count, paces_per_bead)
    return float(count)


def _check(count: float, paces_per_bead: float) -> None:
    if not 0 <= count <= LARGEST_COUNT:
        raise ValueComplaint(f"{count:g} is not a count for a tally cord", "Give 0 to 1,000,000 paces")
    if not 1 <= paces_per_bead <= 1000:
        raise ValueComplaint(
            f"a bead cannot be worth {paces_per_bead:g} paces",
            "Give 100, or your own pace count per 100 m",
        )
