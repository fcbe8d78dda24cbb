"""One junction with series resistance in place of a clamp table, over the range of a meter.

``V = n·Vt·ln(I/Is + 1) + I·Rs`` is linear in ``n·Vt``, ``n·Vt·ln Is`` and ``Rs`` once Is in
``ln(I + Is)`` is held; a few rounds settle it. The squares of voltage differences are least at
currents evenly spread in their logarithm. Both slopes have a least value: of all ways to hold
them there, the feasible one with the smallest residual is the optimum (Karush, Kuhn and Tucker;
Nocedal and Wright 2006, Numerical Optimization, chapter 16).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from math import exp

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import ROOM_TEMPERATURE
from nextprobe.circuit.clamp_table import ClampTable
from nextprobe.circuit.defaults import JunctionModel
from nextprobe.circuit.junction import thermal_voltage
from nextprobe.errors import SettingError

METER_CURRENTS = (0.2e-3, 2e-3)
"""Range of currents of diode modes [A] (common practice, no published source)."""

LEAST_REACH = 1e-3
"""A table that does not reach this is no clamp for a meter [A]."""

_LEAST_EMISSION = 0.5
_LEAST_SERIES = 0.01
# A saturation current stays above what a float can hold, and below 1 A.
_LEAST_LN = -650.0
_SAMPLES = 31
_ROUNDS = 40

Array = NDArray[np.float64]


@dataclass(frozen=True)
class JunctionFit:
    """A junction that stands for a table.

    Parameters
    ----------
    model : JunctionModel
        Saturation current [A], emission coefficient [1] and series resistance [ohm].
    residual : float
        Root of the mean square of the voltage differences [V].
    worst : float
        Largest of them [V].
    low, high : float
        Range of currents that was fitted [A].
    """

    model: JunctionModel
    residual: float
    worst: float
    low: float
    high: float


def junction_drop(model: JunctionModel, current: Array) -> Array:
    """Return the drop of a junction at 25 °C [V], shape as `current` [A]."""
    scale = model.emission * thermal_voltage(ROOM_TEMPERATURE)
    return np.asarray(scale * np.log1p(current / model.saturation) + current * model.series)


def fit_junction(
    table: ClampTable, low: float = METER_CURRENTS[0], high: float = METER_CURRENTS[1]
) -> JunctionFit:
    """Return the junction that differs least from a table between two currents [A].

    The table is taken as of 25 °C: the emission coefficient is in terms of that.

    Raises
    ------
    SettingError
        If the range is empty, or the table does not reach from `low` to `high`.
    """
    if not 0.0 < low < high:
        raise SettingError(f"from {low:g} to {high:g} A is no range of currents")
    currents = np.geomspace(low, high, _SAMPLES)
    # The ends of a geometric space are off by a rounding, and a table may end there.
    currents[0], currents[-1] = low, high
    drops = np.array([table.drop(float(current)) for current in currents])
    model = _fitted(currents, drops)
    differences = junction_drop(model, currents) - drops
    residual = float(np.sqrt(np.mean(differences**2)))
    return JunctionFit(model, residual, float(np.abs(differences).max()), low, high)


def fit_for_meter(table: ClampTable) -> JunctionFit | None:
    """Return the fit over the meter's range, or as much of it as the table reaches.

    None where the table does not reach 1 mA, or carries so much at no voltage at all that it is
    no junction.
    """
    low, high = METER_CURRENTS
    if not table.reaches(LEAST_REACH):
        return None
    try:
        return fit_junction(table, low, high if table.reaches(high) else min(high, table.reach))
    except SettingError:
        return None


def _fitted(currents: Array, drops: Array) -> JunctionModel:
    scale = thermal_voltage(ROOM_TEMPERATURE)
    saturation = 0.0
    for _ in range(_ROUNDS):
        offset, slope, series = _least_squares(currents, np.log(currents + saturation), drops)
        before, saturation = saturation, exp(min(max(-offset / slope, _LEAST_LN), 0.0))
        if abs(saturation - before) <= 1e-12 * saturation:
            break
    return JunctionModel(saturation, slope / scale, series)


def _least_squares(currents: Array, logarithms: Array, drops: Array) -> tuple[float, float, float]:
    """Return offset [V], slope to the logarithm [V] and series resistance [ohm]."""
    least = np.array([_LEAST_EMISSION * thermal_voltage(ROOM_TEMPERATURE), _LEAST_SERIES])
    columns = np.stack([logarithms, currents], axis=1)
    best: tuple[float, tuple[float, float, float]] | None = None
    for held in product((False, True), repeat=2):
        values = _held_at(columns, drops, least, np.array(held))
        if (values[1:] < least - 1e-15).any():
            continue
        differences = values[0] + columns @ values[1:] - drops
        found = float(differences @ differences)
        if best is None or found < best[0]:
            best = found, (float(values[0]), float(values[1]), float(values[2]))
    assert best is not None, "both held is always feasible"
    return best[1]


def _held_at(columns: Array, drops: Array, least: Array, held: NDArray[np.bool_]) -> Array:
    right = drops - columns[:, held] @ least[held]
    design = np.column_stack([np.ones(len(drops)), columns[:, ~held]])
    solved = np.linalg.lstsq(design, right, rcond=None)[0]
    values = np.concatenate([solved[:1], least])
    values[1:][~held] = solved[1:]
    return values
