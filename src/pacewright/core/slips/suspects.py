"""What may be wrong in a log: a correction with its chance, and the sums by what is struck."""

from __future__ import annotations

from dataclasses import dataclass

from pacewright.core.slips.reading_slips import ReadingKind, ReadingSlip
from pacewright.core.slips.slips import AnySlip, PageKind, SlipKind

AnyKind = SlipKind | ReadingKind | PageKind


@dataclass(frozen=True, slots=True)
class PlausibleEntry:
    """A row's azimuth and count as they would have been, in the log's own units.

    Attributes
    ----------
    leg
        From 1; None for a leg that was never written.
    azimuth, count
        In the units of the heading.
    azimuth_text, count_text
        As the pencil would have written them.
    """

    leg: int | None
    azimuth: float
    count: float
    azimuth_text: str
    count_text: str


@dataclass(frozen=True, slots=True)
class Suspect:
    """One correction that may be the right one, whatever slip made it necessary.

    Attributes
    ----------
    probability
        Of this correction.
    kinds
        The slips that could be behind it, the likeliest first.
    legs
        The legs it changes, from 1; none for a missing leg and for the whole log.
    after_legs
        For a missing leg, the first and last leg after which it may be missing; 0 is the start.
    entries
        What would have been written: a row for every leg; one row for a missing leg; none where all
        azimuths are turned.
    turn_deg
        What is added to every azimuth, 0 but for a mirrored declination.
    slip
        The likeliest slip itself; None for a missing leg and for a reading.
    reading
        The slip in a reading; None where a leg is what it changes.
    """

    probability: float
    kinds: tuple[AnyKind, ...]
    legs: tuple[int, ...]
    after_legs: tuple[int, int] | None
    entries: tuple[PlausibleEntry, ...]
    turn_deg: float
    slip: AnySlip | None
    reading: ReadingSlip | None = None

    @property
    def kind(self) -> AnyKind:
        """The likeliest slip behind it."""
        return self.kinds[0]

    @property
    def is_told(self) -> bool:
        """True where something tells what to write instead, so that it can be accepted."""
        return self.after_legs is None or bool(self.entries[0].count)


@dataclass(frozen=True, slots=True)
class LegChance:
    """How likely a mistake is in one leg, or in a leg missing after one; both None for the whole log."""

    leg: int | None
    after_leg: int | None
    probability: float


@dataclass(frozen=True, slots=True)
class ReadingChance:
    """How likely a mistake is in one reading: a back azimuth, a bearing, a known place, a marker, a pull.

    Attributes
    ----------
    probability
        Of any slip there.
    slip
        The likeliest of them.
    """

    probability: float
    slip: ReadingSlip


@dataclass(frozen=True, slots=True)
class PlaceToCheck:
    """Where to look first: a leg, or the gaps between two legs that cannot be told apart.

    All None stands for the declination of the whole log.
    """

    leg: int | None
    after_legs: tuple[int, int] | None
    probability: float
    reading: ReadingSlip | None = None
