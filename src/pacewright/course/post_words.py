"""Words to write on posts: what a learner copies as proof of having been there."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

import numpy as np

WORD_LETTERS: Final = "BDFGHKLMNPRTVXZ"
"""Consonants that are told apart on a wet stake, and spell nothing."""


def draw_words(number: int, rng: np.random.Generator, taken: Collection[str] = ()) -> list[str]:
    """Draw so many words, all different and none of those taken.

    Parameters
    ----------
    number
        Of words.
    rng
        Chance.
    taken
        Words that stand on posts already.
    """
    words: list[str] = []
    while len(words) < number:
        word = "".join(rng.choice(list(WORD_LETTERS), size=3, replace=False).tolist())
        if word not in words and word not in taken:
            words.append(word)
    return words
