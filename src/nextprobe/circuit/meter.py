"""What a meter does to a circuit, and what it shows.

A source of constant current with a soft limit at the compliance, and the load of the input
across it: floating nets stay solvable, and over-range is a state of the display.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import exp

import numpy as np

from nextprobe.board import BenchSetup, MeterMode, MeterRange
from nextprobe.circuit.junction import current_and_slope
from nextprobe.circuit.network import Bools, Elements, Floats
from nextprobe.errors import SettingError

LIMIT_WIDTH = 0.05
"""Volts by which the source's own current falls e-fold near the compliance."""
LIMIT_SERIES = 1.0
RESISTANCE_MODES = frozenset({MeterMode.OHMS, MeterMode.LOW_OHMS, MeterMode.CONTINUITY})
DRIVEN_MODES = RESISTANCE_MODES | {MeterMode.DIODE}


@dataclass(frozen=True)
class Drive:
    """The meter as a circuit between probe (node 0) and reference.

    Parameters
    ----------
    meter_range : MeterRange
        Of a mode that drives a current.
    positive_probe : bool
        Whether the free lead is the positive one.

    Raises
    ------
    SettingError
        If the range drives no current.
    """

    meter_range: MeterRange
    positive_probe: bool

    def __post_init__(self) -> None:
        if self.meter_range.mode not in DRIVEN_MODES or not self.meter_range.test_current:
            raise SettingError(f"{self.meter_range.mode} range drives no test current")

    @property
    def injected(self) -> float:
        """Current into the probe's node [A]."""
        current = self.meter_range.test_current
        return current if self.positive_probe else -current

    @property
    def largest(self) -> float:
        """Voltage of the probe that can not be exceeded [V], signed."""
        most = self.meter_range.compliance + 0.5
        return most if self.positive_probe else -most

    @property
    def saturation(self) -> float:
        """Saturation current of the soft limit [A]."""
        return self.meter_range.test_current * exp(-self.meter_range.compliance / LIMIT_WIDTH)

    def elements(self) -> Elements:
        """Return load and soft limit as branches between node 0 and the reference (−1)."""
        start, end = (0, -1) if self.positive_probe else (-1, 0)
        return Elements(
            np.array([0, start]),
            np.array([-1, end]),
            np.array([self.meter_range.load, LIMIT_SERIES]),
            np.array([0.0, self.saturation]),
            np.array([0.0, LIMIT_WIDTH]),
        )

    def shown(self, probe_volts: Floats) -> tuple[Floats, Bools]:
        """Return what the display shows [V or ohm] and whether it is over-range.

        Resistance is voltage over the current that leaves the meter. Over-range values are the
        full scale.
        """
        volts = np.abs(probe_volts)
        full_scale = self.meter_range.full_scale
        value = volts
        if self.meter_range.mode in RESISTANCE_MODES:
            outside = self.outside_current(volts)
            floor = np.maximum(volts, 1e-12) / (2 * full_scale)
            value = volts / np.maximum(outside, floor)
        over = value > full_scale
        return np.where(over, full_scale, value), over

    def outside_current(self, volts: Floats) -> Floats:
        """Return the current that leaves the meter at a voltage [A]."""
        limit = (np.full_like(volts, x) for x in (self.saturation, LIMIT_WIDTH, LIMIT_SERIES))
        lost, _ = current_and_slope(volts, *limit)
        return np.asarray(self.meter_range.test_current - lost - volts / self.meter_range.load)

    @cached_property
    def least_shown_current(self) -> float:
        """Current that a circuit draws at the edge of over-range [A]; less is over-range."""
        full_scale = self.meter_range.full_scale
        if self.meter_range.mode not in RESISTANCE_MODES:
            return float(self.outside_current(np.array([full_scale]))[0])
        # Takes long to import, and whoever reads junctions or finds a table ready does without.
        from scipy.optimize import brentq  # noqa: PLC0415

        return float(brentq(self._excess, 0.0, abs(self.largest))) / full_scale

    def _excess(self, volts: float) -> float:
        outside = float(self.outside_current(np.array([volts]))[0])
        return volts - self.meter_range.full_scale * outside

    def shown_slope(self, probe_volts: Floats) -> Floats:
        """Return the derivative of the shown value to the probe's voltage."""
        step = 1e-6
        sign = 1.0 if self.positive_probe else -1.0
        up, _ = self.shown(np.abs(probe_volts) + step)
        down, _ = self.shown(np.abs(probe_volts) - step)
        return sign * (up - down) / (2 * step)


def drive_of(setup: BenchSetup, meter_range: MeterRange) -> Drive:
    """Return the meter's drive in a set-up.

    Raises
    ------
    SettingError
        If the range is of another mode than the set-up, or drives no current.
    """
    if setup.mode is not meter_range.mode:
        raise SettingError(f"set-up is {setup.mode}, range is {meter_range.mode}")
    return Drive(meter_range, not setup.clamped_is_positive)
