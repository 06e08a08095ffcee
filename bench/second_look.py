"""Teach the small net that gives a second opinion on digits, and write its weights.

    PYTHONPATH=src python bench/second_look.py [--out src/pacewright/data/second_look.npz]

It is taught with 1,797 handwritten digits of 8 by 8 points, each made ten times larger, leaning, thicker or
thinner (E. Alpaydin, C. Kaynak, Optical Recognition of Handwritten Digits, UCI Machine Learning Repository,
1998, CC BY 4.0; the part that the wheel of scikit-learn carries), and with 30,000 digits drawn from strokes
(`drawn_digits.py`). None of the hands that the reader is tested with is among them.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import cv2
import numpy as np
from sklearn.datasets import load_digits
from sklearn.neural_network import MLPClassifier

from drawn_digits import cut, drawn
from pacewright.reading.second_look import WEIGHTS_FILE, stroke_directions

TIMES = 10
DRAWN = 30_000


def made(small: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """A small picture of a digit made larger, bent, leaning, thicker or thinner: ink 0 to 1, cut to it."""
    large = cv2.resize(np.pad(small, 1).astype(np.float32), (50, 50), interpolation=cv2.INTER_CUBIC)
    turn, lean = np.radians(rng.normal(0, 6)), rng.normal(0, 0.12)
    wide, high = np.exp(rng.normal(0, 0.15)), np.exp(rng.normal(0, 0.08))
    c, s = np.cos(turn), np.sin(turn)
    matrix = np.array([[c, -s], [s, c]]) @ np.array([[wide, lean], [0, high]])
    moved = np.column_stack([matrix, np.array([32, 32]) - matrix @ np.array([24.5, 24.5])])
    seen = cv2.warpAffine(large, moved, (64, 64), flags=cv2.INTER_LINEAR)
    bends = [
        cv2.resize(rng.normal(0, 1.6, (4, 4)).astype(np.float32), (64, 64), interpolation=cv2.INTER_CUBIC)
        for _ in range(2)
    ]
    ys, xs = np.mgrid[0:64, 0:64].astype(np.float32)
    seen = cv2.remap(seen, xs + bends[0], ys + bends[1], cv2.INTER_LINEAR)
    level = rng.uniform(0.38, 0.8) * min(1.0, float(np.percentile(seen, 99)))
    ink = np.clip((seen - level) / rng.uniform(0.1, 0.5) + 0.5, 0, 1)
    thicker = rng.random()
    if thicker < 0.35:
        ink = (cv2.dilate if thicker < 0.12 else cv2.erode)(ink, np.ones((3, 3), np.float32))
    ink = cv2.GaussianBlur(ink, (0, 0), rng.uniform(0.4, 1.5))
    return cut(ink) if (ink > 0.3).sum() >= 12 else made(small, rng)


if __name__ == "__main__":
    reader = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    reader.add_argument("--out", type=Path, default=Path("src/pacewright/data") / WEIGHTS_FILE)
    asked = reader.parse_args()
    small = load_digits()
    rng = np.random.default_rng(7)
    inks = [made(one / 16, rng) for one in small.images for _ in range(TIMES)]
    inks += [drawn(at % 10, rng) for at in range(DRAWN)]
    true = np.concatenate([np.repeat(small.target, TIMES), np.arange(DRAWN) % 10])
    net = MLPClassifier(
        (160,), alpha=1e-3, max_iter=12, random_state=1, learning_rate_init=1.5e-3, batch_size=256
    )
    net.fit(np.stack([stroke_directions(ink) for ink in inks]), true)
    kept = dict(
        zip(("hidden", "told", "hidden_from", "told_from"), [*net.coefs_, *net.intercepts_], strict=True)
    )
    np.savez_compressed(asked.out, **{name: one.astype(np.float16) for name, one in kept.items()})
    print(f"taught with {len(true)} digits; its weights are in {asked.out}")
