"""Photographs of a log page as a phone takes them, made from the printed page and real handwriting.

Nothing here is shared with what reads them: the places of the boxes come from the strokes of the PDF, the
photograph from a sheet in space that is curled, creased, lit from one side and seen through a lens that
bends straight lines (D. C. Brown, Close-range camera calibration, 1971: the first radial term) and darkens
towards the corners (the cosine fourth law; both from memory).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import cv2
import numpy as np
import pymupdf
from scipy.interpolate import griddata

from support.handwriting import handwritten
from support.pdf_pages import MM_PER_PT, opened

PX_PER_MM = 8.0


@dataclass(frozen=True)
class Boxes:
    """Where the boxes of a printed page are, in mm of the page."""

    rows: tuple[tuple[float, float], ...]
    azimuth: tuple[float, ...]
    count: tuple[float, ...]
    ticks: tuple[tuple[float, float, float, float], ...]


@dataclass(frozen=True)
class Row:
    """What somebody writes in a row: digits, which boxes are ticked, whether the numbers are struck out."""

    azimuth: str = ""
    count: str = ""
    ticks: tuple[int, ...] = ()
    struck: bool = False
    note: bool = False


@dataclass(frozen=True)
class Camera:
    """How a photograph is taken: degrees, mm on the sheet, points of the photograph.

    `lens_bend` is Brown's k1, of places in focal lengths; `vignetting` the power of the cosine that the
    light falls off with; `groove` how much darker a crease is, `facet` how unlike its two sides are lit.
    """

    tilt_deg: float = 0.0
    tilt_towards_deg: float = 0.0
    turn_deg: float = 0.0
    curl_mm: float = 0.0
    crease_mm: float = 0.0
    shadow: float = 0.0
    blur_px: float = 0.0
    noise: float = 2.0
    quality: int = 88
    wide_px: int = 2400
    high_px: int = 3200
    fill: float = 0.94
    seed: int = 0
    light: float = 1.0
    lens_bend: float = 0.0
    vignetting: float = 0.0
    creases: int = 1
    groove: float = 0.0
    facet: float = 0.0
    ink: tuple[int, int] = field(default=(35, 95))


def boxes_of(page: pymupdf.Page) -> Boxes:
    """Read from the strokes of a printed page where its boxes are."""
    dotted, level, upright, ticks = [], [], [], []
    for drawing in page.get_drawings():
        for item in drawing["items"]:
            if item[0] == "re" and drawing["type"] == "s":
                ticks.append(tuple(MM_PER_PT * part for part in item[1]))
            if item[0] != "l" or drawing["type"] != "s":
                continue
            a, b = item[1], item[2]
            if abs(a.x - b.x) < 0.01:
                (upright if drawing["dashes"] in ("[] 0", None) else dotted).append(
                    (MM_PER_PT * a.x, *sorted((MM_PER_PT * a.y, MM_PER_PT * b.y)))
                )
            elif abs(a.y - b.y) < 0.01:
                level.append(MM_PER_PT * a.y)
    xs = sorted({round(x, 2) for x, *_ in dotted})
    top, foot = dotted[0][1], dotted[0][2]
    wide = xs[1] - xs[0]
    rules = sorted({round(y, 2) for y in level if top - 0.5 < y < foot + 0.5})
    rows = tuple((a, b) for a, b in itertools.pairwise(rules) if b - a > 3.0)
    half = len(xs) // 2
    azimuth, count = ((one[0] - wide, *one) for one in (xs[:half], xs[half:]))
    return Boxes(rows, (*azimuth, azimuth[-1] + wide), (*count, count[-1] + wide), tuple(sorted(ticks)))


def printed(pdf: bytes, number: int = 0) -> tuple[np.ndarray, Boxes]:
    """Print a page to an image (0 black to 255 white), and give where its boxes are."""
    page = opened(pdf)[number]
    return _image_of(page), boxes_of(page)


def printed_sheet(pdf: bytes) -> np.ndarray:
    """Print the first page of any sheet to an image, 0 black to 255 white."""
    return _image_of(opened(pdf)[0])


def _image_of(page: pymupdf.Page) -> np.ndarray:
    scale = PX_PER_MM * MM_PER_PT
    drawn = page.get_pixmap(matrix=pymupdf.Matrix(scale, scale), colorspace=pymupdf.csGRAY)
    return np.frombuffer(drawn.samples, np.uint8).reshape(drawn.height, drawn.width).astype(np.float32)


def write(
    sheet: np.ndarray, boxes: Boxes, rows: Sequence[Row], rng: np.random.Generator, camera: Camera
) -> np.ndarray:
    """Write rows on a printed page, every digit from the hand of somebody else."""
    sheet = sheet.copy()
    for row, (top, foot) in zip(rows, boxes.rows, strict=False):
        for text, lefts in ((row.azimuth, boxes.azimuth), (row.count, boxes.count)):
            for at, letter in enumerate(text):
                if letter != " ":
                    _write_digit(sheet, int(letter), lefts[at], lefts[at + 1], top, foot, rng, camera)
            if row.struck and text:
                _stroke(
                    sheet,
                    lefts[0] + 0.8,
                    (top + foot) / 2 + 0.6,
                    lefts[len(text)] - 0.6,
                    (top + foot) / 2 - 0.5,
                )
        own = sorted(box for box in boxes.ticks if top < (box[1] + box[3]) / 2 < foot)
        for tick in row.ticks:
            left, high, right, low = own[tick]
            middle = left + 0.4 * (right - left)
            _stroke(sheet, left + 0.3, high + 1.6, middle, low - 0.4)
            _stroke(sheet, middle, low - 0.4, right + 0.5, high - 0.3)
        if row.note:
            right = own[-1][2]
            for word in range(4):
                x = right + 4 + 9 * word
                _stroke(sheet, x, foot - 2.0, x + 2.0, top + 2.0)
                _stroke(sheet, x + 2.0, top + 2.0, x + 5.0, foot - 2.5)
    return sheet


def _write_digit(
    sheet: np.ndarray,
    digit: int,
    left: float,
    right: float,
    top: float,
    foot: float,
    rng: np.random.Generator,
    camera: Camera,
) -> None:
    images = handwritten()[digit]
    image = images[rng.integers(len(images))]
    rows, columns = np.nonzero(image > 60)
    image = image[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
    high_mm = rng.uniform(0.62, 0.8) * (foot - top)
    wide_mm = min(high_mm * image.shape[1] / image.shape[0], 0.78 * (right - left))
    shape = max(3, round(high_mm * PX_PER_MM)), max(2, round(wide_mm * PX_PER_MM))
    ink = cv2.resize(image, shape[::-1], interpolation=cv2.INTER_CUBIC).astype(np.float32) / 255
    # A pencil draws an edge, where the small image has a slope.
    ink = np.clip((ink - 0.3) / 0.4, 0, 1) * rng.uniform(0.85, 1.0, shape)
    spare_x, spare_y = right - left - wide_mm, foot - top - high_mm
    x = left + spare_x * rng.uniform(0.3, 0.7)
    y = top + spare_y * rng.uniform(0.3, 0.7)
    _lay(sheet, ink, x, y, rng.uniform(*camera.ink))


def _lay(sheet: np.ndarray, ink: np.ndarray, x_mm: float, y_mm: float, black: float) -> None:
    y, x = round(y_mm * PX_PER_MM), round(x_mm * PX_PER_MM)
    under = sheet[y : y + ink.shape[0], x : x + ink.shape[1]]
    under[:] = np.minimum(under, 255 - ink[: under.shape[0], : under.shape[1]] * (255 - black))


def _stroke(sheet: np.ndarray, x1: float, y1: float, x2: float, y2: float) -> None:
    ends = [(round(x * PX_PER_MM), round(y * PX_PER_MM)) for x, y in ((x1, y1), (x2, y2))]
    cv2.line(sheet, ends[0], ends[1], 60.0, 3, cv2.LINE_AA)


def photograph(sheet: np.ndarray, camera: Camera) -> bytes:
    """Photograph a page: a JPEG file."""
    rng = np.random.default_rng(camera.seed)
    paper = _with_texture(sheet, rng)
    bend = _bend(rng)
    seen, inside, axis = _through_lens(_shaded(paper, camera, bend), camera, bend)
    camera = replace(camera, wide_px=seen.shape[1], high_px=seen.shape[0])
    ground = _ground(camera, rng)
    picture = np.where(inside, seen, ground) * _light(camera, rng) * _fall_off(camera, axis)
    if camera.blur_px:
        picture = cv2.GaussianBlur(picture, (0, 0), camera.blur_px)
    picture = picture + rng.normal(0, camera.noise, picture.shape)
    colour = np.stack([picture * tint for tint in (0.93, 0.98, 1.0)], axis=2)
    done, data = cv2.imencode(
        ".jpg", np.clip(colour, 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, camera.quality]
    )
    assert done
    return bytes(data)


def _with_texture(sheet: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    grain = rng.normal(0, 1.0, (sheet.shape[0] // 2, sheet.shape[1] // 2)).astype(np.float32)
    stains = rng.normal(0, 1.0, (12, 9)).astype(np.float32)
    size = sheet.shape[::-1]
    fine = cv2.resize(cv2.GaussianBlur(grain, (0, 0), 1.0), size)
    coarse = cv2.resize(stains, size, interpolation=cv2.INTER_CUBIC)
    return np.clip(sheet * 0.94 + 8 * fine + 3 * coarse, 0, 255).astype(np.float32)


@dataclass(frozen=True)
class Bend:
    """How a sheet is bent: along which way it curls, and where its first crease runs."""

    along: float
    waves: float
    phase: float
    fold: float
    turned: float

    def from_creases(self, u: np.ndarray, v: np.ndarray, size: float, creases: int) -> list[np.ndarray]:
        """How far places are from each crease, in mm; the second is square to the first."""
        ways = [self.turned + at * np.pi / 2 for at in range(creases)]
        return [u * np.cos(way) + v * np.sin(way) - self.fold * size for way in ways]


def _bend(rng: np.random.Generator) -> Bend:
    along, waves, phase = rng.uniform(0, np.pi), rng.uniform(0.8, 1.3), rng.uniform(-0.8, 0.8)
    return Bend(along, waves, phase, rng.uniform(-0.25, 0.25), rng.uniform(0, np.pi))


def _shaded(paper: np.ndarray, camera: Camera, bend: Bend) -> np.ndarray:
    """The paper with the shade of its creases: a narrow groove, and two sides that face the light unlike."""
    if not (camera.groove or camera.facet):
        return paper
    high, wide = paper.shape
    v, u = np.mgrid[0:high:4, 0:wide:4] / PX_PER_MM
    u, v, size = u - wide / PX_PER_MM / 2, v - high / PX_PER_MM / 2, max(wide, high) / PX_PER_MM
    shade = np.ones_like(u)
    for away in bend.from_creases(u, v, size, camera.creases):
        shade *= 1 - camera.groove * np.exp(-((away / 0.8) ** 2))
        shade *= 1 + camera.facet * np.tanh(away / 1.5) * np.exp(-np.abs(away) / 40)
    return np.clip(paper * cv2.resize(shade.astype(np.float32), (wide, high)), 0, 255)


def _through_lens(
    paper: np.ndarray, camera: Camera, bend: Bend
) -> tuple[np.ndarray, np.ndarray, tuple[float, float, float]]:
    """The paper as it is seen, where it is, and the axis of the lens with the focal length, in points."""
    high, wide = paper.shape
    high_mm, wide_mm = high / PX_PER_MM, wide / PX_PER_MM
    # Somewhat beyond its edges, so that they are cut clean.
    downward, sideways = np.linspace(-30, high_mm + 30, 71), np.linspace(-30, wide_mm + 30, 55)
    v, u = (one.ravel() for one in np.meshgrid(downward, sideways, indexing="ij"))
    on_paper = (u >= 0) & (u <= wide_mm) & (v >= 0) & (v <= high_mm)
    points = _in_space(u - wide_mm / 2, v - high_mm / 2, max(wide_mm, high_mm), camera, bend)
    away = 1.6 * max(wide_mm, high_mm)
    x, y = points[:, 0] / (away - points[:, 2]), points[:, 1] / (away - points[:, 2])
    bent = 1 + camera.lens_bend * (x**2 + y**2)
    x, y = x * bent, y * bent
    middle_x, middle_y = ((one[on_paper].max() + one[on_paper].min()) / 2 for one in (x, y))
    wide_of, high_of = np.ptp(x[on_paper]), np.ptp(y[on_paper])
    if wide_of > high_of:
        camera = replace(camera, wide_px=camera.high_px, high_px=camera.wide_px)
    scale = camera.fill * min(camera.wide_px / wide_of, camera.high_px / high_of)
    axis = camera.wide_px / 2 - scale * middle_x, camera.high_px / 2 - scale * middle_y
    place = np.column_stack([scale * x + axis[0], scale * y + axis[1]])
    step = 32
    ys, xs = np.mgrid[0 : camera.high_px + step : step, 0 : camera.wide_px + step : step]
    back = griddata(place, np.column_stack([u, v]) * PX_PER_MM, (xs, ys), fill_value=-1e4).astype(np.float32)
    maps = [_upsampled(back[:, :, at], step, (camera.wide_px, camera.high_px)) for at in (0, 1)]
    seen = cv2.remap(paper, maps[0], maps[1], cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR)
    inside = (maps[0] >= 0) & (maps[1] >= 0) & (maps[0] < wide - 1) & (maps[1] < high - 1)
    return seen, inside, (*axis, scale)


def _upsampled(coarse: np.ndarray, step: int, size: tuple[int, int]) -> np.ndarray:
    xs = (np.arange(size[0]) / step).astype(np.float32)
    ys = (np.arange(size[1]) / step).astype(np.float32)
    return cv2.remap(coarse, *np.meshgrid(xs, ys), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)


def _in_space(u: np.ndarray, v: np.ndarray, size: float, camera: Camera, bend: Bend) -> np.ndarray:
    across = u * np.cos(bend.along) + v * np.sin(bend.along)
    z = camera.curl_mm * np.cos(np.pi * across / size * bend.waves + bend.phase)
    for away in bend.from_creases(u, v, size, camera.creases):
        z = z + camera.crease_mm * np.maximum(0, 1 - np.abs(away) / (size / 3))
    points = np.column_stack([u, v, z])
    turn, tilt, towards = (
        np.radians(one) for one in (camera.turn_deg, camera.tilt_deg, camera.tilt_towards_deg)
    )
    points = points @ _about_z(turn).T
    lean = _about_z(towards) @ _about_x(tilt) @ _about_z(-towards)
    return points @ lean.T


def _about_z(angle: float) -> np.ndarray:
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]])


def _about_x(angle: float) -> np.ndarray:
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[1.0, 0, 0], [0, c, -s], [0, s, c]])


def _ground(camera: Camera, rng: np.random.Generator) -> np.ndarray:
    coarse = rng.normal(0, 1, (24, 18)).astype(np.float32)
    grain = cv2.resize(coarse, (camera.wide_px, camera.high_px), interpolation=cv2.INTER_CUBIC)
    return rng.uniform(50, 150) + 14 * grain


def _light(camera: Camera, rng: np.random.Generator) -> np.ndarray:
    ys, xs = np.mgrid[0 : camera.high_px : 8, 0 : camera.wide_px : 8]
    angle = rng.uniform(0, 2 * np.pi)
    side = (xs - camera.wide_px / 2) * np.cos(angle) + (ys - camera.high_px / 2) * np.sin(angle)
    edge = rng.uniform(-0.3, 0.3) * camera.wide_px
    soft = rng.uniform(30, 250)
    shade = 1 - camera.shadow / (1 + np.exp(np.clip(-(side - edge) / soft, -30, 30)))
    slope = 1 + 0.12 * side / camera.wide_px
    light = (camera.light * shade * slope).astype(np.float32)
    return cv2.resize(light, (camera.wide_px, camera.high_px), interpolation=cv2.INTER_LINEAR)


def _fall_off(camera: Camera, axis: tuple[float, float, float]) -> np.ndarray | float:
    """How much of the light comes through the lens: a power of the cosine of the angle from its axis."""
    if not camera.vignetting:
        return 1.0
    x, y, focal = axis
    ys, xs = np.mgrid[0 : camera.high_px : 8, 0 : camera.wide_px : 8]
    cosine = 1 / np.sqrt(1 + ((xs - x) ** 2 + (ys - y) ** 2) / focal**2)
    fallen = (cosine**camera.vignetting).astype(np.float32)
    return cv2.resize(fallen, (camera.wide_px, camera.high_px), interpolation=cv2.INTER_LINEAR)


def any_camera(rng: np.random.Generator, seed: int) -> Camera:
    """A camera within what a phone in the field does: tilted to 40 degrees, any way up, in shadow.

    Half of the pages were folded, once or in four; the lens bends and darkens as phones' do.
    """
    tilt, towards = rng.uniform(0, 40), rng.uniform(0, 360)
    turn, curl = rng.choice([0, 90, 180, 270]) + rng.normal(0, 12), rng.uniform(-4, 4)
    crease, is_creased = rng.uniform(0, 3), rng.random() < 0.5
    return Camera(
        tilt_deg=tilt,
        tilt_towards_deg=towards,
        turn_deg=turn,
        curl_mm=curl,
        crease_mm=crease * is_creased,
        shadow=rng.uniform(0, 0.5),
        blur_px=rng.uniform(0, 1.4),
        noise=rng.uniform(1, 5),
        quality=int(rng.integers(70, 93)),
        seed=seed,
        lens_bend=rng.uniform(-0.1, 0.1),
        vignetting=4.0,
        creases=int(rng.integers(1, 3)),
        groove=rng.uniform(0, 0.3) * is_creased,
        facet=rng.uniform(-0.12, 0.12) * is_creased,
    )
