"""What the bench of the one answer asks of the tool, each question in one place."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.slips.mistakes import Findings, find_mistakes
from pacewright.core.slips.slips import KIND_WEIGHT
from pacewright.files.log_csv import read_log
from pacewright.files.walker_toml import write_walker
from support.command import run
from support.field_bound import area
from support.field_slips import LEG_KINDS, Struck
from support.field_walks import Page, Person

PERSON = Person()
WALKER = Walker(per_100_m=100 / PERSON.pace_m)
PRIOR = 0.5
_FOLDER = TemporaryDirectory()


@dataclass(frozen=True, slots=True)
class Chance:
    """One thing to check and its chance; a run of gaps that nothing tells apart is one thing."""

    struck: Struck
    last_leg: int | None
    probability: float

    def is_it(self, truth: Struck) -> bool:
        mine = self.struck
        if mine.what != truth.what:
            return False
        if self.last_leg is not None:
            return int(mine.leg or 0) <= int(truth.leg or 0) <= self.last_leg
        return all(one is None or one == other for one, other in zip(mine[1:], truth[1:], strict=True))


@dataclass(frozen=True, slots=True)
class Checked:
    """What the search says: whether there is a mistake, and every thing to check, the likeliest first."""

    verdict: str
    mistake_probability: float
    chances: tuple[Chance, ...]

    @property
    def first(self) -> Chance:
        return self.chances[0]

    @property
    def accuses_leg(self) -> bool:
        """True where a mistake is likelier than not and a leg is the likeliest thing to check."""
        return self.verdict != "none" and self.first.struck.what in ("leg", "gap")

    @property
    def accuses_outright(self) -> bool:
        """True where besides the log is said to hold a mistake, not only perhaps."""
        return self.verdict == "mistake" and self.accuses_leg


def ask_log(page: Page) -> TravelLog:
    return read_log(page.text.encode())


def ask_search(log: TravelLog) -> Findings:
    return find_mistakes(log, WALKER, prior=PRIOR)


def ask_check(page: Page) -> Checked:
    log = ask_log(page)
    found = ask_search(log)
    first: dict[str, int] = {}
    spots = [first.setdefault(name, k) if name else k for k, name in enumerate(log.station_names())]
    chances = [*_of_legs(found), *_of_readings(found, spots)]
    chances.sort(key=lambda one: -one.probability)
    return Checked(found.verdict, found.mistake_probability, tuple(chances))


def _of_legs(found: Findings) -> Iterable[Chance]:
    gaps: dict[int, float] = {}
    for one in found.by_leg:
        if one.after_leg is not None:
            gaps[one.after_leg] = one.probability
        else:
            yield Chance(Struck("log" if one.leg is None else "leg", leg=one.leg), None, one.probability)
    runs: list[list[int]] = []
    for leg in sorted(gaps):
        if runs and leg == runs[-1][-1] + 1 and math.isclose(gaps[leg], gaps[leg - 1], rel_tol=0.2):
            runs[-1].append(leg)
        else:
            runs.append([leg])
    yield from (Chance(Struck("gap", leg=run[0]), run[-1], sum(gaps[k] for k in run)) for run in runs)


def _of_readings(found: Findings, spots: Sequence[int]) -> Iterable[Chance]:
    """The readings; iron lies at a spot, whichever visit of it is named."""
    for one in getattr(found, "by_reading", ()):
        slip = one.slip
        station = slip.station
        struck = Struck(slip.reading, slip.leg, station, slip.name)
        if struck.what == "station" and station is not None:
            struck = Struck("station", station=spots[station])
        # A place is known by its name, a marker by where it was met.
        if struck.what == "place":
            struck = Struck("place", name=slip.name)
        if struck.what == "marker":
            struck = Struck("marker", station=station)
        yield Chance(struck, None, one.probability)


def kind_shares(page: Page) -> dict[str, float]:
    """How often each kind is drawn: as often as the search takes it, in a log that holds so much."""
    shares: dict[str, float] = {kind: weight for kind, weight in KIND_WEIGHT.items() if kind in LEG_KINDS}
    told: dict[str, float] = {}
    for one in ask_search(ask_log(page)).posterior.readings:
        told[one.kind] = told.get(one.kind, 0.0) + one.weight
    for kind, ways in _READING_KINDS.items():
        shares |= dict.fromkeys(ways, told.get(kind, 0.0) / len(ways))
    return shares


_READING_KINDS = {
    "back_not_turned": ("back_not_turned",),
    "back_misread": ("back_misread", "back_swapped", "back_copied"),
    "bearing_misread": ("bearing_misread", "bearing_turned", "bearing_of_other"),
    "place_wrong": ("place_wrong",),
    "marker_mistaken": ("marker_mistaken",),
    "station_pulled": ("station_pulled",),
}


@dataclass(frozen=True, slots=True, eq=False)
class WayHome:
    """Azimuth and count to the start, and the covariance, in own paces, of where the walker then stands."""

    azimuth_deg: float
    count: int
    covariance: np.ndarray

    @property
    def area(self) -> float:
        return area(self.covariance)

    def holds(self, beside: np.ndarray) -> np.ndarray:
        """Which ends, own paces beside the start, shape (m, 2), the 95 % region holds; shape (m,)."""
        solved = np.linalg.solve(self.covariance, beside.T)
        return np.einsum("mi,im->m", beside, solved) <= -2.0 * math.log(0.05)


def ask_way_home(page: Page) -> WayHome:
    found = ask_command("back", page)
    return WayHome(found["azimuth_deg"], found["count"], np.array(found["covariance"]))


def ask_command(command: str, page: Page) -> dict[str, Any]:
    """Ask as a user would: the log on standard input, the walker in a file."""
    said = run(command, "-", "--walker", _walker_file(), "--json", stdin=page.text.encode())
    found = dict(said.json)
    if "complaint" in found:
        raise RuntimeError(f"{command}: {found['complaint']}")
    return found


@cache
def _walker_file() -> Path:
    path = Path(_FOLDER.name) / "ines.toml"
    path.write_bytes(write_walker(WALKER))
    return path


def ask_adjusted(log: TravelLog) -> Any:
    """All places of a log adjusted as a whole; what comes back gives their regions as `covariances`."""
    from pacewright.core.adjust.adjustment import adjust

    return adjust(log, WALKER)
