"""Digits drawn from strokes as people are taught to write them, bent at random.

`FORMS` holds for every digit its forms. In a form `/` is between strokes, `|` where runs of a stroke meet in
a corner; a run is the points of a smooth line in a square of 100 by 100, x to the right, y down (common
practice, drawn by eye).
"""

from __future__ import annotations

import cv2
import numpy as np

FORMS = {
    0: (
        "60,2 25,8 3,50 30,97 70,95 97,50 75,8 55,2",
        "75,10 45,0 10,30 10,75 45,100 90,70 90,25 60,5 45,20",
        "50,0 10,20 2,65 40,100 90,80 97,35 65,5 35,10",
        "80,12 50,0 8,30 8,80 50,100 95,70 92,20 70,0 50,15 45,30",
    ),
    1: (
        "50,0 50,100",
        "50,0 48,50 52,100",
        "25,25 50,0 | 50,0 50,100",
        "30,20 50,0 | 50,0 50,100 / 25,100 75,100",
        "56,0 44,100",
    ),
    2: (
        "5,25 35,0 85,12 75,45 2,97 | 2,97 50,94 100,97",
        "8,20 45,0 85,20 60,60 20,95 2,85 30,75 60,95 100,92",
        "10,15 50,0 80,20 60,60 10,95 30,80 60,90 100,98",
        "0,10 60,0 95,15 70,50 5,100 | 5,100 100,95",
        "10,20 45,0 85,20 65,60 25,97 2,85 15,65 50,80 100,95",
        "10,25 40,0 80,15 65,55 30,95 3,92 10,68 45,72 70,95 100,88",
        "20,12 60,0 90,20 60,60 25,95 2,88 20,68 50,78 75,92 100,75",
        "5,30 50,0 80,25 40,75 0,100 | 0,100 25,78 100,100",
    ),
    3: (
        "8,12 45,0 85,15 70,42 38,48 | 38,48 80,58 90,82 50,100 3,88",
        "10,10 50,0 85,20 50,46 90,70 60,98 5,92",
        "8,2 88,2 | 88,2 40,42 | 40,42 85,55 85,88 40,100 5,88",
    ),
    4: (
        "20,0 6,55 | 6,55 95,50 / 75,0 68,100",
        "70,0 2,65 | 2,65 100,62 / 70,0 70,100",
        "12,5 5,40 30,55 80,42 / 85,5 70,100",
        "10,0 5,50 45,52 85,45 / 90,0 85,50 80,100",
    ),
    5: (
        "15,5 10,45 | 10,45 50,36 90,60 75,93 35,100 3,88 / 15,5 95,2",
        "95,2 25,5 | 25,5 15,45 | 15,45 60,42 85,70 50,100 0,93",
        "95,5 50,0 25,10 25,40 70,55 75,85 35,100 2,90",
        "20,10 20,42 75,60 70,90 30,100 0,88 / 20,8 100,0",
    ),
    6: (
        "75,0 30,30 6,72 35,100 82,88 82,60 45,52 10,78",
        "50,0 15,40 10,80 45,100 85,80 70,58 30,65 15,85",
        "35,0 12,45 12,85 50,100 90,80 75,60 40,65 20,80",
        "90,2 40,25 8,65 30,98 75,92 80,65 40,60 15,70",
    ),
    7: (
        "0,6 95,4 | 95,4 60,45 40,100",
        "0,5 95,5 | 95,5 35,100 / 25,50 85,48",
        "4,25 6,6 | 6,6 95,5 | 95,5 50,100",
        "2,12 50,5 90,5 75,40 55,100",
        "0,18 30,2 60,12 95,2 | 95,2 50,100",
    ),
    8: (
        "80,12 45,0 15,20 50,47 88,76 50,100 10,78 50,47 85,25 70,6",
        "95,10 50,0 15,20 50,50 80,78 45,100 10,80 45,50 90,15",
        "50,47 15,25 50,0 85,25 50,47 | 50,47 8,75 50,100 92,75 50,47",
        "90,20 55,2 25,20 55,50 70,80 40,100 20,80 50,50 95,5",
    ),
    9: (
        "88,22 50,0 10,25 40,50 85,25 | 88,15 80,60 70,100",
        "85,20 50,0 12,25 40,50 82,30 | 85,20 85,70 50,100 10,92",
        "80,10 40,2 5,30 35,50 80,30 88,10 | 88,10 85,50 85,100",
        "70,5 25,10 15,40 55,42 85,10 | 85,10 70,50 55,100",
        "90,12 45,0 10,22 40,42 90,12 75,60 45,100",
        "98,5 40,2 5,25 30,48 85,20 | 85,20 60,100",
        "95,0 30,12 8,38 45,45 90,10 | 88,10 50,100",
        "75,12 45,0 8,22 35,45 80,12 | 80,0 72,50 70,100",
    ),
}


def _strokes(form: str) -> list[list[np.ndarray]]:
    """The strokes of a form, each as its runs: arrays (points, 2)."""
    return [
        [
            np.array([[float(part) / 100 for part in point.split(",")] for point in run.split()])
            for run in stroke.split("|")
        ]
        for stroke in form.split("/")
    ]


def _smooth(points: np.ndarray) -> np.ndarray:
    """A line through all its points (Catmull and Rom, 1974)."""
    wide = np.vstack([2 * points[0] - points[1], points, 2 * points[-1] - points[-2]])
    t = np.linspace(0, 1, 12)[:, None]
    return np.vstack(
        [
            0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3)
            for a, b, c, d in zip(wide, wide[1:], wide[2:], wide[3:], strict=False)
        ]
    )


def drawn(digit: int, rng: np.random.Generator) -> np.ndarray:
    """A digit as somebody may write it: ink 0 to 1, cut to it."""
    form = FORMS[digit][rng.integers(len(FORMS[digit]))]
    wide = (np.exp(rng.normal(np.log(0.62), 0.22)) if digit != 1 else rng.uniform(0.3, 0.8)) * 64
    lean, turn = rng.normal(-0.12, 0.22), np.radians(rng.normal(0, 5))
    canvas, pen = np.zeros((128, 160), np.float32), int(rng.integers(3, 13))
    bends = rng.normal(0, 0.035, (4, 4, 2))
    for stroke in _strokes(form):
        moved, line, last = rng.normal(0, 0.02, 2), [], None
        for run in stroke:
            points = run + rng.normal(0, 0.035, (len(run), 2))
            if last is not None:
                points[0] = last
            last = points[-1]
            line.append(_smooth(points))
        whole = np.vstack(line) + moved
        whole = whole + _bend(whole, bends)
        x = (whole[:, 0] - 0.5) * wide + lean * (whole[:, 1] - 0.5) * 64
        y = (whole[:, 1] - 0.5) * 64
        x, y = x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn)
        ends = np.round(np.column_stack([x + 80, y + 64]) * 16).astype(np.int32)
        cv2.polylines(canvas, [ends], False, 1.0, pen, cv2.LINE_8, 4)
    return cut(cv2.GaussianBlur(canvas, (0, 0), rng.uniform(0.6, 2.2)))


def _bend(line: np.ndarray, bends: np.ndarray) -> np.ndarray:
    at = np.clip(line, 0, 1) * 2.999
    whole = np.floor(at).astype(int)
    share = at - whole
    return sum(
        bends[whole[:, 1] + down, whole[:, 0] + across]
        * np.abs(1 - down - share[:, 1])[:, None]
        * np.abs(1 - across - share[:, 0])[:, None]
        for down in (0, 1)
        for across in (0, 1)
    )


def cut(ink: np.ndarray) -> np.ndarray:
    """Ink without the paper around it."""
    rows, columns = np.nonzero(ink > 0.3)
    return ink[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
