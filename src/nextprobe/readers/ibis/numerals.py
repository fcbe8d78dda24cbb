"""Numbers of IBIS files: a scale of one letter, with or without a unit behind it.

ANSI/EIA-656, general syntax rules (from memory): the letters are T, G, M, k, m, u, n, p and f,
their case matters, only the first letter behind a number counts, and scientific notation is
allowed. ``NA`` stands for a number that is not available.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import isfinite

from nextprobe.readers.ibis.content import Corners

SCALES = {
    "T": 1e12, "G": 1e9, "M": 1e6, "k": 1e3,
    "m": 1e-3, "u": 1e-6, "µ": 1e-6, "\u03bc": 1e-6, "n": 1e-9, "p": 1e-12, "f": 1e-15,
}  # fmt: skip
_NUMBER = re.compile(r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?)([^\W\d_]*)")
# Capitals that are no scale and no unit: somebody meant a scale.
_MISTAKEN = frozenset("KUNP")


class UnreadableError(ValueError):
    """A word that is no number; its message says why."""


def numeral(word: str) -> float | None:
    """Return the number that a word says, None for ``NA``.

    Raises
    ------
    UnreadableError
        If it is no number.
    """
    if word.upper() == "NA":
        return None
    match = _NUMBER.fullmatch(word)
    if match is None:
        raise UnreadableError(f"'{word[:30]}' is no number")
    letter = match[2][:1]
    if letter in _MISTAKEN and letter:
        raise UnreadableError(f"'{word[:30]}' has a scale in the wrong case")
    value = float(match[1]) * SCALES.get(letter, 1.0)
    if not isfinite(value):
        raise UnreadableError(f"'{word[:30]}' is too large")
    return value


def corners(words: Sequence[str]) -> Corners:
    """Return what three words say: typical, minimum, maximum; the last two may be missing.

    Raises
    ------
    UnreadableError
        If one of them is no number.
    """
    return Corners(*(numeral(word) for word in words[:3]))
