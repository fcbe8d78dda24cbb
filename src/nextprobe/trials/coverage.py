"""How often the 95 % interval of a reading holds what is read, and how wide it is.

The interval is the central one of what is predicted, given that a number is shown; over-range is
judged by the places of :mod:`nextprobe.trials.pit`. An interval that holds everything says nothing,
so its width is told as well.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nextprobe.trials.score import Share, share


@dataclass(frozen=True)
class Interval:
    """What was predicted of a number, against what was read.

    Parameters
    ----------
    mode : str
        Of the meter.
    inside : bool
        Whether the interval held what was read.
    half_width : float
        Of the interval [V, ohm or F].
    """

    mode: str
    inside: bool
    half_width: float


@dataclass(frozen=True)
class Coverage:
    """How often intervals held what was read.

    Parameters
    ----------
    covered : Share
        Its bounds take readings as independent; those of one device are not quite.
    half_width : float
        Median [V, ohm or F].
    """

    covered: Share
    half_width: float


def coverage(intervals: Sequence[Interval]) -> dict[str, Coverage]:
    """Return how often intervals held, by the mode of the meter."""
    found = {}
    for mode in sorted({each.mode for each in intervals}):
        own = [each for each in intervals if each.mode == mode]
        held = share(sum(each.inside for each in own), len(own))
        found[mode] = Coverage(held, float(np.median([each.half_width for each in own])))
    return found
