"""Everything that a plan of unconditional steps needs to know, as arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nextprobe.errors import MisuseError

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class PlanTable:
    """Steps that may end the job, world by world.

    A plan is an order of steps, each taken at most once while the job has not ended, and then
    giving up. In world ``r`` step ``a`` costs ``prices[a]``; it ends the job with probability
    ``ends[a, r]``, independently of other steps *given the world*, and then costs
    ``penalties[a, r]`` more. What is drawn once per device is therefore part of the world.

    Parameters
    ----------
    names : tuple of str, length A
        Ids of the steps, the same as those of options where there are such.
    weights : ndarray, shape (R,)
        Of the worlds, not negative; need not sum to one.
    prices : ndarray, shape (A,)
        [currency], not negative.
    ends : ndarray, shape (A, R)
        Probabilities.
    penalties : ndarray, shape (A, R)
        Expected extra cost if it ends there [currency], not negative.
    stop_prices : ndarray, shape (R,)
        Cost of giving up now [currency].

    Raises
    ------
    MisuseError
        If shapes or ranges are wrong.
    """

    names: tuple[str, ...]
    weights: FloatArray
    prices: FloatArray
    ends: FloatArray
    penalties: FloatArray
    stop_prices: FloatArray

    def __post_init__(self) -> None:
        steps, worlds = len(self.names), len(self.weights)
        shapes_wanted = {
            "prices": (steps,),
            "ends": (steps, worlds),
            "penalties": (steps, worlds),
            "stop_prices": (worlds,),
        }
        for name, shape in shapes_wanted.items():
            if getattr(self, name).shape != shape:
                raise MisuseError(f"{name} should be of shape {shape}")
        if (self.weights < 0.0).any() or (self.prices < 0.0).any() or (self.penalties < 0.0).any():
            raise MisuseError("weights, prices and penalties must not be negative")
        if (self.ends < 0.0).any() or (self.ends > 1.0 + 1e-12).any():
            raise MisuseError("the chance that a step ends the job must be a probability")
