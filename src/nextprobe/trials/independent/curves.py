"""What a junction conducts: an equation, or a table as a chip's maker publishes it.

Tables are drawn from the quantiles of :mod:`nextprobe.reference.clamp_priors`: the drop at 1 mA,
and by how much it is less at 0.3 mA. Below, the drop falls evenly with the logarithm of the
current, from a tenth of a milliampere on at a rate of its own; above, a resistance is added. No
single diode has this curve.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, log10

import numpy as np

from nextprobe.board import ROOM_TEMPERATURE
from nextprobe.circuit.defaults import JunctionModel
from nextprobe.circuit.junction import thermal_voltage
from nextprobe.reference.clamp_priors import STEP, ClampPrior

MILLIAMPERE = 1e-3
# The 95 % quantile is published too; the ends are an assumption.
STEP_PRIOR = ClampPrior(
    MILLIAMPERE,
    (0.0, 0.25, 0.5, 0.75, 0.95, 1.0),
    (0.035, STEP.lower, STEP.median, STEP.upper, 0.206, 0.25),
)
"""Drop at 1 mA less that at 0.3 mA."""
_CURRENTS = np.array(
    [size * 10.0**power for power in range(-6, -1) for size in (1.0, 1.7, 3.0, 5.5)]
)
_REVERSE = -20.0
_LEAST_SHARE = 0.3


@dataclass(frozen=True)
class Curve:
    """A table of current by voltage, straight between its points.

    Parameters
    ----------
    volts, amperes : tuple of float
        Rising; nothing flows below 0 V [V], [A].
    """

    volts: tuple[float, ...]
    amperes: tuple[float, ...]

    def drop(self, current: float) -> float:
        """Return the voltage at a current [V]."""
        return float(np.interp(current, self.amperes[1:], self.volts[1:]))

    def moved(self, volts: float) -> Curve:
        """Return the curve that drops more by `volts` at 1 mA, and in proportion elsewhere."""
        here = self.drop(MILLIAMPERE)
        factor = max(_LEAST_SHARE, (here + volts) / here)
        return replace(self, volts=tuple(factor * each for each in self.volts))


Conduction = JunctionModel | Curve


def moved(law: Conduction, volts: float) -> Conduction:
    """Return what drops more by `volts` at 1 mA."""
    if isinstance(law, Curve):
        return law.moved(volts)
    factor = exp(-volts / (law.emission * thermal_voltage(ROOM_TEMPERATURE)))
    return replace(law, saturation=law.saturation * factor)


def drawn_curve(drop: float, step_level: float, rng: np.random.Generator) -> Curve:
    """Return a curve with a given drop at 1 mA.

    Parameters
    ----------
    drop : float
        At 1 mA [V].
    step_level : float
        Quantile of what it drops less at 0.3 mA [1].
    rng : numpy.random.Generator
        Draws what the published figures do not say.
    """
    step = min(STEP_PRIOR.quantile(step_level), 0.4 * drop)
    per_decade = step / log10(1.0 / 0.3)
    lower, series = rng.uniform(0.6, 1.1), 25.0 * rng.lognormal(0.0, 0.5)
    decades = np.log10(_CURRENTS / MILLIAMPERE)
    fall = np.maximum(decades, -1.0) + lower * np.minimum(decades + 1.0, 0.0)
    volts = drop + per_decade * fall + series * np.maximum(_CURRENTS - MILLIAMPERE, 0.0)
    kept = volts > 0.02
    return Curve((_REVERSE, 0.0, *volts[kept].tolist()), (0.0, 0.0, *_CURRENTS[kept].tolist()))
