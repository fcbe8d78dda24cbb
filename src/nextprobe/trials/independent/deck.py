"""A whole deck: a board under a meter that touches one point after the other in one run."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import exp

from nextprobe.board import (
    OVER_RANGE,
    ROOM_TEMPERATURE,
    ZERO_CELSIUS,
    BenchSetup,
    MeterMode,
    MeterRange,
    OverRange,
)
from nextprobe.circuit.junction import thermal_voltage
from nextprobe.circuit.meter import LIMIT_SERIES, LIMIT_WIDTH
from nextprobe.errors import SolverError
from nextprobe.trials.independent.netlist import Netlist

Simulator = Callable[[str], str]
"""Runs a deck and returns what it prints."""

_AWAY, _ON = "1e12", "1e-3"
_NUMBER = r"(-?\d\S*)"
_ANSWER = re.compile(rf"v\(probe\) = {_NUMBER}\s+i\(vsense\) = {_NUMBER}")


def meter_cards(setup: BenchSetup, meter: MeterRange) -> list[str]:
    """Return the source of current, its soft limit, the load, and what the meter can sense.

    The free lead is the node ``probe``, the other one is 0.
    """
    current = meter.test_current
    low, high = ("meter", "0") if setup.clamped_is_positive else ("0", "meter")
    saturation = current * exp(-meter.compliance / LIMIT_WIDTH)
    emission = LIMIT_WIDTH / thermal_voltage(ROOM_TEMPERATURE)
    return [
        f"Imeter {low} {high} {current:.9g}",
        f"Rmeter meter 0 {meter.load:.9g}",
        f"Dmeter {high} {low} limit temp=25",
        f".model limit D(IS={saturation:.9g} N={emission:.9g} RS={LIMIT_SERIES})",
        "Vsense meter probe 0",
    ]


@dataclass(frozen=True)
class MeterOnBoard:
    """A meter whose free lead touches some points of a board in turn.

    Parameters
    ----------
    net : Netlist
        Not yet written.
    setup : BenchSetup
    meter : MeterRange
    temperature : float
        Of the board [K].
    """

    net: Netlist
    setup: BenchSetup
    meter: MeterRange
    temperature: float

    def deck(self, points: Sequence[str]) -> str:
        """Return the text that measures at all points."""
        self.net.write(self.setup.clamped, self.setup.removed)
        leads = [
            f"Rlead{index} probe {self.net.node(self.net.under(point))} {_AWAY}"
            for index, point in enumerate(points)
        ]
        celsius = self.temperature - ZERO_CELSIUS
        return "\n".join(
            [
                "* a board under a meter",
                *self.net.lines,
                *leads,
                *meter_cards(self.setup, self.meter),
                *self.net.models,
                f".options tnom=25 temp={celsius:.6g} rshunt=1e12",
                *_control(len(points)),
                ".end",
                "",
            ]
        )

    def shown(self, volts: float, amperes: float) -> float | OverRange:
        """Return what the display has for a voltage and a current [V or ohm], not yet rounded."""
        value = abs(volts)
        if self.meter.mode is not MeterMode.DIODE:
            value = value / max(abs(amperes), 1e-15)
        return OVER_RANGE if value > self.meter.full_scale else value

    def readings(self, points: Sequence[str], simulator: Simulator) -> list[float | OverRange]:
        """Return what is read at all points.

        Raises
        ------
        SolverError
            If the simulator has no answer for one of them.
        """
        found = self._measured(points, simulator)
        return [found[point] for point in points]

    def _measured(
        self, points: Sequence[str], simulator: Simulator
    ) -> dict[str, float | OverRange]:
        printed = simulator(self.deck(points))
        found = {}
        for block in printed.split("POINT ")[1:]:
            answer = _ANSWER.search(block)
            if answer is not None:
                point = points[int(block.split(maxsplit=1)[0])]
                found[point] = self.shown(float(answer[1]), float(answer[2]))
        missing = [point for point in points if point not in found]
        if missing and len(points) == 1:
            raise SolverError(f"the simulator has no answer at {missing[0]}: {printed[-300:]}")
        # Where a run of many does not converge from the point before, a run of its own does.
        for point in missing:
            found |= replace(self, net=self.net.afresh())._measured([point], simulator)
        return found


def _control(count: int) -> list[str]:
    lines = [".control", "set numdgt=12"]
    for index in range(count):
        touch = [f"alter Rlead{index} = {_ON}", "op", f"echo POINT {index}"]
        lines += [*touch, "print v(probe) i(vsense)", f"alter Rlead{index} = {_AWAY}"]
    return [*lines, "quit", ".endc"]
