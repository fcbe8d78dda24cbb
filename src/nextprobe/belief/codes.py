"""Codes that occur, numbered anew."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.intp]

# A table over all codes up to the greatest is faster than sorting while it is no larger than this.
_WIDEST = 1 << 22


def numbered(codes: IntArray) -> tuple[IntArray, IntArray]:
    """Return the codes that occur, rising, and the number of each among them.

    The same as ``numpy.unique(codes, return_inverse=True)``, mostly without sorting.

    Parameters
    ----------
    codes : ndarray of int, shape (R,)
        Not negative.

    Returns
    -------
    occurring : ndarray of int, shape (K,)
    number : ndarray of int, shape (R,)
        From 0 to K - 1.
    """
    if not codes.size or codes.max() >= _WIDEST:
        occurring, number = np.unique(codes, return_inverse=True)
        return occurring, number.reshape(-1)
    occurs = np.zeros(int(codes.max()) + 1, dtype=np.bool_)
    occurs[codes] = True
    occurring = np.flatnonzero(occurs)
    places = np.zeros(len(occurs), dtype=np.intp)
    places[occurring] = np.arange(len(occurring))
    return occurring, places[codes]
