"""Whether a cause shows itself, and what a check makes of it.

A cause affects an effect never, always or now and then. Which of these is drawn **once per
device**: put it into a column of the ensemble. Only what is intermittent, and the errors of the
check itself, are drawn afresh when a check is repeated.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike

from nextprobe.belief.ensemble import FloatArray
from nextprobe.errors import MisuseError


class Shows(IntEnum):
    """Code of how a cause shows itself on one device."""

    NEVER = 0
    ALWAYS = 1
    INTERMITTENT = 2


@dataclass(frozen=True)
class Manifestation:
    """Chances of how a cause shows itself.

    Parameters
    ----------
    always : float
        Probability that it shows at every check.
    intermittent : float
        Probability that it shows now and then.
    duty : float
        How often an intermittent one shows.

    Raises
    ------
    MisuseError
        If these are not probabilities.
    """

    always: float = 1.0
    intermittent: float = 0.0
    duty: float = 0.5

    def __post_init__(self) -> None:
        values = (self.always, self.intermittent, self.duty, 1.0 - self.always - self.intermittent)
        if not all(-1e-12 <= value <= 1.0 for value in values):
            raise MisuseError("chances of showing must be probabilities and sum to at most one")

    @property
    def probabilities(self) -> FloatArray:
        """Chance of each code of :class:`Shows`, shape (3,)."""
        never = max(0.0, 1.0 - self.always - self.intermittent)
        return np.array([never, self.always, self.intermittent])

    def duties(self, codes: ArrayLike) -> FloatArray:
        """Return how often it shows at a check, for codes of :class:`Shows` of any shape."""
        table = np.array([0.0, 1.0, self.duty])
        return np.asarray(table[np.asarray(codes, dtype=np.intp)])


@dataclass(frozen=True)
class ImperfectCheck:
    """Errors of a check, independent each time it is made.

    Parameters
    ----------
    false_pass : float
        Chance that it passes although the effect is there.
    false_fail : float
        Chance that it fails although it is not.

    Raises
    ------
    MisuseError
        If these are not probabilities.
    """

    false_pass: float = 0.0
    false_fail: float = 0.0

    def __post_init__(self) -> None:
        if not (0.0 <= self.false_pass <= 1.0 and 0.0 <= self.false_fail <= 1.0):
            raise MisuseError("false passes and false fails are probabilities")

    def failure_probability(self, duties: ArrayLike) -> FloatArray:
        """Return the chance that the check fails.

        Parameters
        ----------
        duties : array_like, shape (..., J)
            How often each of J causes shows, 0 where it is absent; they combine as a noisy OR.

        Returns
        -------
        ndarray, shape (...)
            ``b (1 - false_pass) + (1 - b) false_fail`` with ``b = 1 - prod(1 - duty)``.
        """
        sound = np.prod(1.0 - np.asarray(duties, dtype=np.float64), axis=-1)
        return np.asarray((1.0 - sound) * (1.0 - self.false_pass) + sound * self.false_fail)
