"""Fault rates that are wrong, up or down by the kind of fault, the same in a whole rehearsal."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import FaultKind
from nextprobe.trials.chances import Chances
from nextprobe.trials.independent.worlds import World


def rate_factors(world: World, seed: int, kinds: Sequence[FaultKind]) -> NDArray[np.float64]:
    """Return what the rate of each fault is multiplied by [1].

    It must not be drawn afresh for each device: over many devices such errors would cancel.

    Parameters
    ----------
    world : World
    seed : int
        Of the rehearsal.
    kinds : sequence of FaultKind
        Of each fault.
    """
    chances = Chances(seed)
    power = {kind: chances.once(f"rate of {kind.value}").choice((-1.0, 1.0)) for kind in set(kinds)}
    return np.array([world.rates ** power[kind] for kind in kinds])
