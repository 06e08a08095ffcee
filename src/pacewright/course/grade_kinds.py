"""The kinds of slip that a class can make: those of a log, and those of taking a card and setting out."""

from __future__ import annotations

from typing import Final, Literal

from pacewright.core.slips.slips import SlipKind

BesideKind = Literal["start_wrong", "never_left", "card_swapped"]
"""Set out from the neighbouring stake; stayed at the start; walked another card of the course."""
WalkedKind = SlipKind | BesideKind
GradeKind = WalkedKind | Literal["other"]
"""And one more: something differs and no slip that is known explains it."""

BESIDE_WEIGHT: Final[dict[BesideKind, float]] = {"start_wrong": 1.0, "never_left": 0.5, "card_swapped": 1.0}
"""How often each is taken to happen, beside a weight of 1 for an ordinary slip of a leg (assumed)."""
OWN_START_SHARE: Final = 0.7
"""Of those who walk another's card, so many start where it says, the others where their own card says
(assumed)."""
