"""What stands round a walked figure: scale bar, north arrow, the key to its hand, its caption."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial
from typing import Final

from pacewright.drawing import svg, symbols
from pacewright.drawing.labels import Placement
from pacewright.drawing.page_fit import PageFit
from pacewright.drawing.svg import PENCIL
from pacewright.drawing.walk_figure import FigureStation, WalkFigure

EDGE_MM: Final = 6.0
TITLE_MM: Final = 5.6
STRIP_MM: Final = 19.0
"""Height of the strip under the frame that holds scale bar and north arrow."""

_MOST_TITLE_LINES: Final = 2
"""A long title never costs the drawing its room."""
_ARROW_MM: Final = 32.0
"""Width of the north arrow and its words, at the right end of the strip."""
_BAR_WORDS_MM: Final = 28.0
"""What the number and the unit of a bar take beyond its end, and what lies before it."""
_LEAST_BAR_MM: Final = 8.0
_TEXT_MM: Final = 4.6
_SMALL_MM: Final = 3.8
SAMPLE_MM: Final = 14.0
"""Length of a sample in the key."""

_SAMPLE_HIGH_MM: Final = 8.0

Sample = Callable[[float, float], str]
"""Draws a sample of a hand in the key, from x and y of its left end."""

Hand = tuple[Sample, str]
"""A kind of mark or line, and the words for it."""

_CROWDED: Final = 100
_MOST_NUMBERS: Final = 40
_MARKS: Final[dict[str, symbols.MarkKind]] = {kind: kind for kind in symbols.MARK_RADIUS_MM}
_STYLES: Final[dict[str, symbols.RegionStyle]] = {s: s for s in ("station", "arrival", "suspect")}


def draw_title(title: str, width_mm: float) -> tuple[list[str], float]:
    """Draw the title over few lines, the rest of a longer one left out; give also the height it takes."""
    feed = TITLE_MM * svg.LINE_HEIGHT
    lines = svg.wrap_text(title, TITLE_MM, width_mm - 2 * EDGE_MM)
    if len(lines) > _MOST_TITLE_LINES:
        lines = [*lines[: _MOST_TITLE_LINES - 1], f"{lines[_MOST_TITLE_LINES - 1][:-4].rstrip()} ..."]
    drawn = [
        svg.text(EDGE_MM, EDGE_MM + 0.8 * TITLE_MM + i * feed, line, TITLE_MM, font_weight="bold")
        for i, line in enumerate(lines)
    ]
    return drawn, len(lines) * feed + 1.0 if lines else 0.0


def draw_strip(figure: WalkFigure, fit: PageFit) -> list[str]:
    """Draw the scale bar, the scale in words, and the north arrow under the frame."""
    left, right, top = fit.frame.left, fit.frame.right, fit.frame.bottom
    apart = f"{fit.units_per_cm:g} {figure.unit}{'' if fit.units_per_cm == 1 else 's'}"
    scale = f"crosses {apart} apart"
    room_mm = right - left - _ARROW_MM - 1.0
    if svg.text_width_mm(scale, _SMALL_MM) > room_mm:
        scale = f"+ every {apart}"
    # Between the bar's number with its unit and the arrow nothing may touch.
    longest_mm = min(0.36 * (right - left), max(_LEAST_BAR_MM, right - left - _ARROW_MM - _BAR_WORDS_MM))
    return [
        symbols.scale_bar(left + 4, top + 5.5, fit.length_mm(1.0), figure.unit, longest_mm),
        svg.text(left + 1, top + 18.0, scale, _SMALL_MM, fill=PENCIL),
        symbols.north_arrow(right - _ARROW_MM + 4.0, top + 18, 15, figure.azimuth_reference),
    ]


def draw_below(
    figure: WalkFigure,
    placement: Placement,
    page_mm: tuple[float, float],
    *,
    more: Sequence[Hand] = (),
    text_mm: float = _TEXT_MM,
    columns: int = 2,
) -> tuple[list[str], float]:
    """Draw what comes below the page proper; give also the height of the whole.

    The key explains each kind of line that the figure uses; then come the labels that found no room,
    then the caption.

    Parameters
    ----------
    figure, placement
        What is drawn, and where its labels went.
    page_mm
        Width and height of the page proper.
    more
        Further entries of the key.
    text_mm, columns
        Height of the type, and how many entries of the key stand side by side at most.
    """
    feed = text_mm * svg.LINE_HEIGHT
    width = page_mm[0] - 2 * EDGE_MM
    y = page_mm[1] + 0.6 * text_mm
    hands = [*walk_hands(figure), *more]
    columns = min(columns, key_columns(hands, width, text_mm))
    drawn, high_mm = draw_hands(hands, EDGE_MM, y, width, text_mm, columns)
    y += high_mm
    for at, sentence in enumerate([*label_sentences(placement), *figure.caption]):
        y += 0.25 * feed if at == 0 and hands else 0.0
        for line in svg.wrap_text(sentence, text_mm, width):
            drawn.append(svg.text(EDGE_MM, y, line, text_mm))
            y += feed
    return drawn, y - feed + EDGE_MM


def draw_hands(
    hands: Sequence[Hand], left: float, y: float, width_mm: float, text_mm: float, columns: int
) -> tuple[list[str], float]:
    """Draw a key in columns, its first baseline at y; give also the height that it takes."""
    # The mark of the start must not touch the row above, however small the type.
    row_mm = max(text_mm * svg.LINE_HEIGHT, 2 * symbols.MARK_RADIUS_MM["start"] + 0.8)
    drawn = []
    for at, (sample, words) in enumerate(hands):
        x, row = left + (at % columns) * width_mm / columns, at // columns
        drawn.append(sample(x, y + row * row_mm - 0.36 * text_mm))
        drawn.append(svg.text(x + SAMPLE_MM + 3, y + row * row_mm, words, text_mm))
    return drawn, -(-len(hands) // columns) * row_mm


def draw_sample(hand: Hand) -> str:
    """Draw the sample of one entry of a key as a drawing of its own."""
    sample, words = hand
    return svg.drawing(SAMPLE_MM + 2.0, _SAMPLE_HIGH_MM, [sample(1.0, _SAMPLE_HIGH_MM / 2)], title=words)


def key_columns(hands: Sequence[Hand], width_mm: float, text_mm: float) -> int:
    """How many entries of a key have room side by side."""
    widest_mm: float = max((svg.text_width_mm(words, text_mm) for _, words in hands), default=0.0)
    return max(1, math.floor((width_mm + 3.0) / (SAMPLE_MM + 3.0 + widest_mm + 3.0)))


def label_sentences(placement: Placement) -> list[str]:
    """The labels that found no room, first those whose short form is on the drawing."""
    on_drawing = {label.content for label in placement.labels}
    sentences = []
    for words, is_marked in (("Marked in short", True), ("No room to mark", False)):
        entries = [
            f"{short}: {content}" for short, content in placement.key if (short in on_drawing) == is_marked
        ]
        sentences += [f"{words}: {'; '.join(entries)}."] if entries else []
    return sentences


def mark_of(station: FigureStation, figure: WalkFigure) -> symbols.MarkKind:
    """The kind of mark that a station of a figure has."""
    if station is figure.stations[0]:
        return "start"
    if station is figure.stations[-1]:
        return "end"
    if station.name:
        return "named"
    return "crowded" if len(figure.stations) > _CROWDED else "plain"


def number_step(figure: WalkFigure) -> int:
    """1 where every station without a name is numbered, 2 where every other one is, and so on."""
    steps = (digit * 10.0**power for power in range(9) for digit in (1, 2, 5))
    return int(next(step for step in steps if len(figure.stations) <= step * _MOST_NUMBERS))


def walk_hands(figure: WalkFigure) -> list[Hand]:
    """The kinds of mark and line that a figure uses, each with its sample and its words."""
    styles = {region.style for region in figure.regions}
    marks = {mark_of(station, figure) for station in figure.stations}
    step = number_step(figure)
    numbered = "station, numbered" if step == 1 else f"station, one in {step} numbered"
    used = (
        ("start", "start of the log", bool(figure.stations)),
        ("end", "end of the log", len(figure.stations) > 1),
        ("named", "station with a name", "named" in marks),
        ("plain", numbered, "plain" in marks),
        ("crowded", numbered, "crowded" in marks),
        ("walked", "leg, counted", any(not leg.estimated for leg in figure.legs)),
        ("estimated", "leg, estimated", any(leg.estimated for leg in figure.legs)),
        ("boxing", "obstacle, boxed", any(leg.boxings for leg in figure.legs)),
        ("ray", "bearing to a thing seen", bool(figure.rays)),
        ("way back", "way back", figure.way_back is not None),
        ("station", "region of a station", "station" in styles),
        ("arrival", "region of arrival", "arrival" in styles),
        ("suspect", "region of a suspect", "suspect" in styles),
        ("alternative", _other_figure(figure), bool(figure.alternatives)),
        ("misclosure", "misclosure", figure.arrow is not None),
    )
    return [(partial(_sample, kind), words) for kind, words, is_used in used if is_used]


def _other_figure(figure: WalkFigure) -> str:
    labels = {other.label for other in figure.alternatives}
    return labels.pop() if len(labels) == 1 and "" not in labels else "other figure, chance"


def _sample(kind: str, x: float, y: float) -> str:
    """Draw one kind of mark or line as it looks in the figure, its left end at x."""
    start, end = (x, y), (x + SAMPLE_MM, y)
    if kind in _MARKS:
        return symbols.station_mark(x + SAMPLE_MM / 2, y, _MARKS[kind])
    if kind in ("walked", "estimated"):
        return symbols.leg_line(start, end, estimated=kind == "estimated")
    if kind == "boxing":
        return symbols.boxed_leg((x, y - 0.8), (x + SAMPLE_MM, y - 0.8), [("right", symbols.LEAST_OFFSET_MM)])
    if kind == "ray":
        return symbols.ray_line(start, end)
    if kind == "way back":
        return symbols.way_back_line([start, end])
    if kind == "alternative":
        return symbols.alternative_line([start, end])
    if kind == "misclosure":
        return symbols.misclosure_arrow(start, end)
    oval = [
        (x + SAMPLE_MM / 2 * (1 + math.cos(turn_rad)), y + 1.9 * math.sin(turn_rad))
        for turn_rad in (2 * math.pi * i / 32 for i in range(32))
    ]
    return symbols.region_shape(oval, _STYLES[kind])
