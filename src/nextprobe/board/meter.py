"""A multimeter as its data sheet describes it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import hypot, sqrt
from types import MappingProxyType

from nextprobe.board.kinds import MeterMode
from nextprobe.errors import SettingError


@dataclass(frozen=True)
class MeterRange:
    """One range of one mode.

    Parameters
    ----------
    mode : MeterMode
        What is measured.
    full_scale : float
        Largest value that is shown [V, ohm or F]; above it the meter shows over-range.
    resolution : float
        One count [V, ohm or F].
    percent, counts : float
        Accuracy: ±(percent of reading + counts).
    test_current : float
        Current that the meter drives [A]; 0 where it drives none.
    compliance : float
        Voltage at which the current source gives up [V].
    load : float
        Resistance across the leads [ohm].
    """

    mode: MeterMode
    full_scale: float
    resolution: float
    percent: float
    counts: float
    test_current: float = 0.0
    compliance: float = 0.0
    load: float = 10e6

    def __post_init__(self) -> None:
        if self.full_scale <= 0 or self.resolution <= 0 or self.load <= 0:
            raise SettingError("full scale, resolution and load must be positive")
        if self.test_current < 0 or self.test_current > 10e-3:
            raise SettingError(f"test current {self.test_current} A is outside 0 to 10 mA")
        if self.test_current and not 0 < self.compliance <= 10:
            raise SettingError(f"compliance {self.compliance} V is outside 0 to 10 V")

    def standard_uncertainty(self, value: float) -> float:
        """Return the standard uncertainty of a shown `value`, in its own unit.

        The half-width ``a = percent·|value| + counts·resolution`` and the half count of the
        display are taken as rectangular, ``u = a/√3`` (JCGM 100:2008, 4.3.7), and combined in
        quadrature (5.1.2).
        """
        half_width = self.percent / 100 * abs(value) + self.counts * self.resolution
        return hypot(half_width, self.resolution / 2) / sqrt(3)


def _usual_ranges() -> Mapping[MeterMode, MeterRange]:
    modes = MeterMode
    return MappingProxyType(
        {
            modes.DIODE: MeterRange(modes.DIODE, 2.0, 1e-3, 1.0, 2, 1e-3, 3.0),
            modes.OHMS: MeterRange(modes.OHMS, 40e3, 10.0, 0.8, 2, 50e-6, 1.0),
            modes.LOW_OHMS: MeterRange(modes.LOW_OHMS, 400.0, 0.1, 0.8, 3, 1e-3, 1.0),
            modes.CONTINUITY: MeterRange(modes.CONTINUITY, 400.0, 0.1, 1.0, 5, 1e-3, 1.0),
            modes.CAPACITANCE: MeterRange(modes.CAPACITANCE, 100e-6, 1e-10, 3.0, 5, 0.0, 0.3),
            modes.DC_VOLTS: MeterRange(modes.DC_VOLTS, 40.0, 1e-3, 0.5, 2),
        }
    )


@dataclass(frozen=True)
class Meter:
    """A meter and its ranges; the defaults are a mid-price bench meter.

    The defaults are common practice, no published source.
    """

    name: str = "bench meter"
    ranges: Mapping[MeterMode, MeterRange] = field(default_factory=_usual_ranges)

    def range_for(self, mode: MeterMode) -> MeterRange:
        """Return the range of `mode`; raises SettingError if the meter lacks it."""
        try:
            return self.ranges[mode]
        except KeyError:
            raise SettingError(f"{self.name} can not measure {mode}") from None
