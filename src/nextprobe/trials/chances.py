"""What chance decides about a simulated device, the same whatever else is asked of it.

Every question has a stream of its own, named by what is asked: the third check of a function, or
the quality of a donor, comes out the same under every strategy. Differences between strategies on
the same device are then due to what they do, and hardly to luck (common random numbers: Law and
Kelton, Simulation Modeling and Analysis, ch. 11; cited from memory).
"""

from __future__ import annotations

from collections import Counter
from zlib import crc32

import numpy as np
from scipy.special import betaincinv

# How firmly a device is of one mind about a piece of work, as a number of attempts; see `fails`.
_OBSTINACY = 2.0


class Chances:
    """Streams of random numbers by name.

    Parameters
    ----------
    seed : int
        Not negative; the same seed decides everything alike.
    """

    def __init__(self, seed: int) -> None:
        self._seed = seed
        self._asked: Counter[str] = Counter()

    def once(self, name: str) -> np.random.Generator:
        """Return the stream of something that is drawn once per device."""
        return np.random.default_rng([self._seed, crc32(name.encode())])

    def again(self, name: str) -> np.random.Generator:
        """Return a stream of its own for each time that something is asked."""
        self._asked[name] += 1
        return np.random.default_rng([self._seed, crc32(name.encode()), self._asked[name]])

    def obstinacy(self, name: str) -> Obstinacy:
        """Return how a device takes to a piece of work: drawn once, then the same each time."""
        return Obstinacy(float(self.once(f"obstinacy of {name}").random()))


class Obstinacy:
    """How likely a piece of work is to fail on this very device, each time that it is tried.

    On average over devices it fails with the chance that is assumed; on one device the chance is
    drawn from a beta distribution with that mean, worth two attempts. Work that has failed with a
    chance of ``f`` fails again with ``(2 f + 1) / 3``: what did not come off once is likelier
    not to come off again, for the same pad, place or hand. The inference assumes the same (see
    :mod:`nextprobe.diagnosis.attempts`). How firmly is common practice, no published source.

    Parameters
    ----------
    rank : float
        Share of devices that are less obstinate, 0 to 1: the same for all faults that the work is
        good for, so that work done well still cures the surest first.
    """

    def __init__(self, rank: float) -> None:
        self._rank = rank

    def chance(self, failure: float) -> float:
        """Return the chance of failing here of work that fails by `failure` on average."""
        if not 0.0 < failure < 1.0:
            return float(min(max(failure, 0.0), 1.0))
        shapes = _OBSTINACY * failure, _OBSTINACY * (1.0 - failure)
        return float(betaincinv(*shapes, self._rank))
