"""Usual parameters of parts whose makers publish none.

The drops of signal clamps are rounded from an aggregate of public IBIS (ANSI/EIA-656) files of
eight makers (50 distinct curves, typical corner): at 1 mA the median is 0.61 V, quartiles 0.57
and 0.68 V; memory data 0.46, inputs 0.66, level shifters 0.56, the upper clamp 0.73; one diode
of n = 1.6 with 25 ohm fits 0.2 to 2 mA within 2.7 mV. It is a small convenience sample.
Everything else here is common practice, no published source.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import expm1

from nextprobe.board import ROOM_TEMPERATURE, Part, Role
from nextprobe.circuit.junction import thermal_voltage

CLAMP_EMISSION = 1.6
CLAMP_SERIES = 25.0
UPPER_CLAMP_DROP = 0.73
LARGE_CHIP_PINS = 32
LARGE_CHIP_LOWER_BY = 0.05

CLAMP_DROP = {
    Role.LANE: 0.50,
    Role.OPEN_DRAIN: 0.61,
    Role.LOGIC: 0.60,
    Role.CLOCK: 0.58,
    Role.ANALOGUE: 0.66,
    Role.RADIO: 0.66,
}
"""Drop of the ground clamp of a signal pin at 1 mA, by the role of its net [V]."""
OTHER_CLAMP_DROP = 0.60

SUBSTRATE_AREA = {False: 20.0, True: 200.0}
"""Area of the substrate diode of a rail against a signal clamp, by whether the chip is large."""
RAIL_LEAK = {False: 200e3, True: 30e3}
"""What one chip loads a rail with, unpowered [ohm]."""
CORE_RESISTANCE = {False: 45.0, True: 20.0}
"""What one chip loads a core rail with [ohm]: 5 to 60 mV at 1 mA."""

SHORT_OHMS = 0.1
CLAMP_SHORT_OHMS = 1.0
BRIDGE_OHMS = 0.1
LEAST_OHMS = 1e-3
UNKNOWN_RESISTOR = 1e3
FERRITE_OHMS = {False: 0.5, True: 0.05}
"""Series resistance of a ferrite, by whether it is on a supply [ohm]."""
INDUCTOR_OHMS = {False: 1.0, True: 0.1}
PROTECTION_LEAK = 100e6


@dataclass(frozen=True)
class JunctionModel:
    """Saturation current [A] at 25 °C, emission coefficient [1], series resistance [ohm]."""

    saturation: float
    emission: float
    series: float

    def scaled(self, area: float) -> JunctionModel:
        """Return the junction of `area` times the size."""
        return JunctionModel(self.saturation * area, self.emission, self.series / area)


def junction_of_drop(drop: float, emission: float, series: float) -> JunctionModel:
    """Return the junction that drops `drop` [V] at 1 mA and 25 °C."""
    inner = (drop - 1e-3 * series) / (emission * thermal_voltage(ROOM_TEMPERATURE))
    return JunctionModel(1e-3 / expm1(inner), emission, series)


def is_large(chip: Part) -> bool:
    """Whether a chip counts as large (a processor, storage or power chip)."""
    return len(chip.pins) >= LARGE_CHIP_PINS


@cache
def lower_clamp(role: Role, large: bool) -> JunctionModel:
    """Return the clamp from ground to a signal pin."""
    drop = CLAMP_DROP.get(role, OTHER_CLAMP_DROP) - (LARGE_CHIP_LOWER_BY if large else 0.0)
    return junction_of_drop(drop, CLAMP_EMISSION, CLAMP_SERIES)


@cache
def upper_clamp() -> JunctionModel:
    """Return the clamp from a signal pin to its supply rail."""
    return junction_of_drop(UPPER_CLAMP_DROP, CLAMP_EMISSION, CLAMP_SERIES)


@cache
def substrate(large: bool) -> JunctionModel:
    """Return the diode from ground to a rail inside one chip."""
    return lower_clamp(Role.UNKNOWN, large).scaled(SUBSTRATE_AREA[large])


DIODE = junction_of_drop(0.60, 1.8, 1.0)
"""A small-signal diode."""
LED = junction_of_drop(1.75, 2.0, 10.0)
BODY_DIODE = junction_of_drop(0.50, 1.2, 0.5)
UNIDIRECTIONAL = junction_of_drop(0.66, 1.2, 1.0)
"""A unidirectional protection part, forward."""
