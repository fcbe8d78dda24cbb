"""What may be wrong: a set of causes with its prior."""

from __future__ import annotations

import math
from dataclasses import dataclass

from nextprobe.errors import MisuseError


@dataclass(frozen=True)
class Hypothesis:
    """A set of causes that are all present, everything else being sound.

    Parameters
    ----------
    causes : frozenset of str
        Keys of the causes; empty means that nothing is wrong.
    log_prior : float
        Natural logarithm of its prior probability; minus infinity if impossible.

    Raises
    ------
    MisuseError
        If the logarithm is positive or not a number.
    """

    causes: frozenset[str]
    log_prior: float

    def __post_init__(self) -> None:
        if math.isnan(self.log_prior) or self.log_prior > 0.0:
            raise MisuseError(f"{self.log_prior} is not the logarithm of a probability")

    @property
    def label(self) -> str:
        """Return its causes in alphabetical order, joined by ``+``."""
        return " + ".join(sorted(self.causes)) or "nothing wrong"
