"""Made-up land and people who walk on it and write down what they see; for tests of finding a start.

Written from the world alone, without the tool's own code. The land is a random surface whose roughness
falls off with wavelength as that of hills does, never mirrored and never tiled: a copy would make two places
alike that no real land has alike. A person walks by an azimuth and a count, each off by what the person
shares over the whole walk and by scatter of its own, looks at the true land, and writes whole degrees and
whole metres. Remarks are wrong at stated rates; slips strike what is written, not what is walked.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

Floats = NDArray[np.float64]
POINTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
EDGE_M = 150.0
STREAM_KM2 = 0.35
"""What drains so much land is a stream that a person sees (assumed, apart from the tool's own figures)."""


@dataclass(frozen=True, slots=True, eq=False)
class MadeLand:
    """Heights in metres, north up, the upper left corner at west 0 and north 0 of its own."""

    height_m: NDArray[np.float32]
    cell_m: float
    _gradient: tuple[Floats, Floats] = field(init=False, repr=False)
    _standing: Floats = field(init=False, repr=False)

    def __post_init__(self) -> None:
        heights = self.height_m.astype(float)
        down, across = np.gradient(heights, self.cell_m)
        object.__setattr__(self, "_gradient", (across, -down))
        radius = 300.0 / self.cell_m
        reach = int(radius)
        at = np.mgrid[-reach : reach + 1, -reach : reach + 1]
        disc = (np.hypot(*at) <= radius).astype(float)
        standing = heights - ndimage.convolve(heights, disc / disc.sum(), mode="nearest")
        object.__setattr__(self, "_standing", standing / standing.std())

    @property
    def size_m(self) -> tuple[float, float]:
        rows, columns = self.height_m.shape
        return columns * self.cell_m, rows * self.cell_m

    def height_at(self, place: Floats) -> float:
        return self._at(self.height_m.astype(float), place)

    def falls_to(self, place: Floats) -> tuple[float, float]:
        """Azimuth to which the ground falls, and how steeply, metres a metre."""
        east, north = (self._at(one, place) for one in self._gradient)
        return float(np.degrees(np.arctan2(-east, -north)) % 360.0), float(np.hypot(east, north))

    def lie_at(self, place: Floats) -> str:
        above = self._at(self._standing, place)
        return "on ridge" if above > 0.7 else "in valley" if above < -0.7 else "on slope"

    def meets_stream(self, start: Floats, end: Floats) -> bool:
        steps = np.linspace(0.0, 1.0, max(2, int(np.hypot(*(end - start)) / (self.cell_m / 3.0))))[:, None]
        places = start * (1.0 - steps) + end * steps
        rows = np.clip((-places[:, 1] / self.cell_m).astype(int), 0, self.height_m.shape[0] - 1)
        columns = np.clip((places[:, 0] / self.cell_m).astype(int), 0, self.height_m.shape[1] - 1)
        return bool(self.streams[rows, columns].any())

    @property
    def streams(self) -> NDArray[np.bool_]:
        """Where the streams of this land run: where enough of it drains through."""
        return _streams(self)

    def _at(self, field: Floats, place: Floats) -> float:
        where = [[-place[1] / self.cell_m - 0.5], [place[0] / self.cell_m - 0.5]]
        return float(ndimage.map_coordinates(field, where, order=1, mode="nearest")[0])


@dataclass(frozen=True, slots=True)
class LandWalker:
    """How a person walks and notes; angles in degrees, the rest as shares and metres."""

    azimuth_sd_deg: float = 2.5
    count_sd: float = 0.05
    bias_sd_deg: float = 1.5
    scale_sd: float = 0.03
    side_sd_deg: float = 20.0
    rise_sd_m: float = 5.0
    altimeter_sd_m: float = 10.0
    altimeter_off_sd_m: float = 30.0
    wrong: float = 0.08
    wrong_lie: float = 0.15
    slip: float = 0.0
    leg_median_m: float = 250.0


@dataclass(frozen=True, slots=True, eq=False)
class LandWalk:
    """A walk as it was: the log's text, and where its stations truly lie."""

    text: str
    stations_m: Floats
    has_slip: bool


def hilly_land(cells: int, rms_slope: float, seed: int, cell_m: float = 30.0) -> MadeLand:
    """Hills without repetition: a spectrum that falls as wavelength to the power 3.7, phases at random."""
    rng = np.random.default_rng(seed)
    size = 1 << (2 * cells - 1).bit_length()
    waves = np.hypot(np.fft.fftfreq(size)[:, None], np.fft.rfftfreq(size)[None, :])
    waves[0, 0] = 1.0
    strength = waves**-1.85
    strength[0, 0] = 0.0
    phases = np.exp(2j * np.pi * rng.random(strength.shape)) * rng.normal(size=strength.shape)
    # The whole surface repeats at its edge; half of it does not.
    heights = np.fft.irfft2(strength * phases, s=(size, size))[:cells, :cells]
    down, across = np.gradient(heights, cell_m)
    heights *= rms_slope / np.sqrt((down**2 + across**2).mean())
    return MadeLand((heights - heights.min() + 100.0).astype(np.float32), cell_m)


def as_mapped(land: MadeLand, error_m: float, seed: int) -> MadeLand:
    """The land as a map has it: heights off by so much, some 200 m long."""
    if error_m == 0:
        return land
    rng = np.random.default_rng(seed)
    noise = ndimage.gaussian_filter(rng.normal(size=land.height_m.shape), 100.0 / land.cell_m)
    return MadeLand((land.height_m + error_m * noise / noise.std()).astype(np.float32), land.cell_m)


def walk_on(
    land: MadeLand,
    legs: int,
    remarks: frozenset[str] | set[str],
    seed: int,
    person: LandWalker | None = None,
    start: tuple[float, float] | None = None,
) -> LandWalk:
    """Walk once; `remarks` holds some of trend, side, lie, stream, alt."""
    person = person or LandWalker()
    rng = np.random.default_rng(seed)
    stations, written = _walked(land, legs, person, rng, start)
    offset = rng.normal() * person.altimeter_off_sd_m
    rows = [("", "", " ".join(_of_station(land, stations[0], remarks, person, offset, rng)))]
    has_slip = False
    for k, (azimuth, count) in enumerate(written):
        notes = _of_leg(land, stations[k], stations[k + 1], remarks, person, rng)
        notes += _of_station(land, stations[k + 1], remarks, person, offset, rng)
        if rng.random() < person.slip:
            has_slip = True
            azimuth, count = _slipped(azimuth, count, rng)
        rows.append((str(azimuth), str(count), " ".join(notes)))
    heading = "# azimuth: grid degrees\n# count: metres\nazimuth,count,notes\n"
    return LandWalk(heading + "".join(",".join(row) + "\n" for row in rows), np.array(stations), has_slip)


def notes_at(
    land: MadeLand, place: Floats, remarks: frozenset[str] | set[str], rng: np.random.Generator
) -> list[str]:
    """What a person writes who stands somewhere."""
    return _of_station(land, place, remarks, LandWalker(), 0.0, rng)


def _walked(
    land: MadeLand, legs: int, person: LandWalker, rng: np.random.Generator, start: tuple[float, float] | None
) -> tuple[list[Floats], list[tuple[int, int]]]:
    bias, scale = rng.normal() * person.bias_sd_deg, 1.0 + rng.normal() * person.scale_sd
    wide, high = land.size_m
    for _ in range(10_000):
        first = start or (rng.uniform(EDGE_M, wide - EDGE_M), -rng.uniform(EDGE_M, high - EDGE_M))
        stations, written = [np.array(first)], []
        general = rng.uniform(0.0, 360.0)
        for _ in range(legs):
            general = (general + rng.normal() * 50.0) % 360.0
            azimuth = round(general) % 360
            count = round(float(np.clip(person.leg_median_m * np.exp(0.5 * rng.normal()), 80.0, 600.0)))
            turned = np.radians(azimuth + bias + rng.normal() * person.azimuth_sd_deg)
            length = count * scale * (1.0 + rng.normal() * person.count_sd)
            stations.append(stations[-1] + length * np.array([np.sin(turned), np.cos(turned)]))
            written.append((azimuth, count))
        every = np.array(stations)
        beyond = every * (1.0, -1.0)
        if (beyond > EDGE_M).all() and (beyond < np.array([wide, high]) - EDGE_M).all():
            return stations, written
    raise AssertionError("no such walk stays on this land")


def _of_leg(
    land: MadeLand,
    start: Floats,
    end: Floats,
    remarks: frozenset[str] | set[str],
    person: LandWalker,
    rng: np.random.Generator,
) -> list[str]:
    said = []
    if "trend" in remarks:
        rise = land.height_at(end) - land.height_at(start) + rng.normal() * person.rise_sd_m
        limit = max(5.0, 0.03 * float(np.hypot(*(end - start))))
        lie = "up" if rise > limit else "down" if rise < -limit else "level"
        said.append(str(rng.choice(["up", "level", "down"])) if rng.random() < person.wrong else lie)
    if "stream" in remarks:
        met = land.meets_stream(start, end) != (rng.random() < person.wrong)
        said.append("cross stream" if met else "no stream")
    return [f"[{one}]" for one in said]


def _of_station(
    land: MadeLand,
    place: Floats,
    remarks: frozenset[str] | set[str],
    person: LandWalker,
    offset_m: float,
    rng: np.random.Generator,
) -> list[str]:
    said = []
    if "side" in remarks:
        falls_deg, steep = land.falls_to(place)
        seen = int(np.floor((falls_deg + rng.normal() * person.side_sd_deg) / 45.0 + 0.5)) % 8
        if rng.random() < person.wrong:
            seen, steep = int(rng.integers(8)), 1.0
        said.append("flat" if steep < 0.04 else f"faces {POINTS[seen]}")
    if "lie" in remarks:
        is_wrong = rng.random() < person.wrong_lie
        any_lie = str(rng.choice(["on ridge", "in valley", "on slope"]))
        said.append(any_lie if is_wrong else land.lie_at(place))
    if "alt" in remarks:
        reading = land.height_at(place) + offset_m + rng.normal() * person.altimeter_sd_m
        said.append(f"alt {round(reading)} m")
    return [f"[{one}]" for one in said]


def _slipped(azimuth: int, count: int, rng: np.random.Generator) -> tuple[int, int]:
    kind = int(rng.integers(3))
    if kind == 0:
        return (azimuth + 180) % 360, count
    if kind == 1 or count <= 100:
        return azimuth, count + 100
    return azimuth, count - 100


@lru_cache(maxsize=8)
def _streams(land: MadeLand) -> NDArray[np.bool_]:
    """Where water runs that drains enough land: down the steepest way, and out of hollows as they spill."""
    heights = land.height_m.astype(float)
    level, came_from, order = _flooded(heights)
    below = _steepest(level, came_from)
    gathered = np.ones(heights.size)
    # A piece that lies lower was reached before: the last reached hands on first.
    for here in reversed(order):
        if below[here] != here:
            gathered[below[here]] += gathered[here]
    return np.asarray(gathered.reshape(heights.shape) * (land.cell_m / 1000.0) ** 2 > STREAM_KM2)


def _flooded(heights: Floats) -> tuple[Floats, NDArray[np.intp], list[int]]:
    """Take land from the edge inward, the lowest first: its level, hollows filled, whence, in which order."""
    rows, columns = heights.shape
    number = np.arange(heights.size).reshape(heights.shape)
    is_taken = np.ones((rows + 2, columns + 2), dtype=bool)
    is_taken[2:-2, 2:-2] = False
    level, came_from, order = heights.copy(), number.copy(), []
    edge = np.argwhere(is_taken[1:-1, 1:-1])
    front = [(heights[r, c], int(r), int(c)) for r, c in edge]
    heapq.heapify(front)
    while front:
        height, r, c = heapq.heappop(front)
        order.append(int(number[r, c]))
        for down, across in _ABOUT:
            r2, c2 = r + down, c + across
            if not is_taken[r2 + 1, c2 + 1]:
                is_taken[r2 + 1, c2 + 1] = True
                level[r2, c2], came_from[r2, c2] = max(height, heights[r2, c2]), number[r, c]
                heapq.heappush(front, (level[r2, c2], r2, c2))
    return level, came_from.ravel(), order


def _steepest(level: Floats, came_from: NDArray[np.intp]) -> NDArray[np.intp]:
    """To which piece each drains: the steepest below, or on a level the one it was reached from."""
    around = np.pad(level, 1, constant_values=np.inf)
    rows, columns = level.shape
    falls = [
        (level - around[1 + r : 1 + r + rows, 1 + c : 1 + c + columns]).ravel() / np.hypot(r, c)
        for r, c in _ABOUT
    ]
    best = np.argmax(falls, axis=0)
    steps = np.array([r * columns + c for r, c in _ABOUT])
    is_edge = came_from == np.arange(level.size)
    down = np.where(np.max(falls, axis=0) > 0, np.arange(level.size) + steps[best], came_from)
    return np.asarray(np.where(is_edge, came_from, down))


_ABOUT = tuple((r, c) for r in (-1, 0, 1) for c in (-1, 0, 1) if r or c)
