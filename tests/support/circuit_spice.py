"""SPICE decks of a board with a fault under a meter, written from the board itself.

Shares the numbers of `nextprobe.circuit.defaults` with the code under test, and nothing else:
faults are worked into the netlist here a second time, and ngspice has its own diode equations.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import exp
from pathlib import Path

import pytest

from nextprobe.board import (
    OVER_RANGE,
    BenchSetup,
    Board,
    Fault,
    FaultKind,
    MeterMode,
    MeterRange,
    OverRange,
    Part,
    PartKind,
    Pin,
    Role,
)
from nextprobe.circuit import defaults
from nextprobe.circuit.meter import LIMIT_SERIES, LIMIT_WIDTH

KIND = FaultKind
VOLTS_AT_25_C = 1.380649e-23 / 1.602176634e-19 * 298.15


@dataclass
class Deck:
    """One netlist under construction.

    Parameters
    ----------
    board : Board
        What is exported.
    fault : Fault or None
        The one thing that is wrong.
    setup, meter_range
        The meter.
    """

    board: Board
    fault: Fault | None
    setup: BenchSetup
    meter_range: MeterRange
    lines: list[str] = field(default_factory=list)
    models: dict[str, str] = field(default_factory=dict)
    nodes: dict[str, str] = field(default_factory=dict)

    def is_faulty(self, kind: FaultKind, place: str) -> bool:
        return self.fault is not None and (self.fault.kind, self.fault.place) == (kind, place)

    def size(self) -> float:
        assert self.fault is not None
        assert self.fault.magnitude is not None
        return self.fault.magnitude

    def spice_node(self, name: str) -> str:
        return self.nodes.setdefault(name, f"n{len(self.nodes)}")

    def pad(self, part: Part, pin: Pin) -> str:
        cut = self.is_faulty(KIND.BROKEN_NET, f"{pin.net}/{part.reference}.{pin.number}")
        return f"cut {part.reference}.{pin.number}" if cut else pin.net

    def leg(self, part: Part, pin: Pin) -> str:
        loose = self.is_faulty(KIND.JOINT_OPEN, f"{part.reference}.{pin.number}")
        return f"leg {part.reference}.{pin.number}" if loose else self.pad(part, pin)

    def under(self, point: str) -> str:
        if point in self.board.nets:
            return point
        reference, _, number = point.partition(".")
        part = self.board.part(reference)
        touch = self.leg if part.kind is PartKind.CONNECTOR else self.pad
        return touch(part, part.pin(number))

    def resistor(self, a: str, b: str, ohms: float) -> None:
        ends = f"{self.spice_node(a)} {self.spice_node(b)}"
        self.lines.append(f"R{len(self.lines)} {ends} {max(ohms, 1e-3):.9g}")

    def diode(self, anode: str, cathode: str, model: defaults.JunctionModel) -> None:
        card = f"D(IS={model.saturation:.12g} N={model.emission:.9g} RS={model.series:.9g})"
        name = self.models.setdefault(card, f"m{len(self.models)}")
        ends = f"{self.spice_node(anode)} {self.spice_node(cathode)}"
        self.lines.append(f"D{len(self.lines)} {ends} {name}")

    def text(self, point: str) -> str:
        """Return the deck with the free lead on `point`, whose node is called ``probe``."""
        self.nodes[self.under(self.setup.clamped)] = "0"
        if self.under(point) != self.under(self.setup.clamped):
            self.nodes[self.under(point)] = "probe"
        for part in self.board.parts:
            if part.reference not in self.setup.removed:
                _WRITERS.get(part.kind, _nothing)(self, part)
        self._bridge()
        cards = [f".model {name} {card}" for card, name in self.models.items()]
        celsius = self.setup.temperature - 273.15
        options = f".options tnom=25 temp={celsius:.6g} rshunt=1e12"
        meter = self._meter()
        return "\n".join(["* deck", *self.lines, *meter, *cards, options, ".end", ""])

    def _bridge(self) -> None:
        if self.fault is not None and self.fault.kind is KIND.BRIDGE:
            a, b = self.fault.place.split("~")
            self.resistor(self.under(a), self.under(b), defaults.BRIDGE_OHMS)

    def _meter(self) -> list[str]:
        """Return the current source, its load and its soft limit."""
        current, most = self.meter_range.test_current, self.meter_range.compliance
        low, high = ("probe", "0") if self.setup.clamped_is_positive else ("0", "probe")
        card = f"D(IS={current * exp(-most / LIMIT_WIDTH):.9g} N={LIMIT_WIDTH / VOLTS_AT_25_C:.9g}"
        return [
            f"Imeter {low} {high} {current:.9g}",
            f"Rmeter probe 0 {self.meter_range.load:.9g}",
            f"Dmeter {high} {low} limit temp=25",
            f".model limit {card} RS={LIMIT_SERIES})",
        ]


def _nothing(deck: Deck, part: Part) -> None:
    """Write nothing: connectors and test points conduct nowhere."""


def _ends(deck: Deck, part: Part) -> tuple[str, str]:
    return deck.leg(part, part.pins[0]), deck.leg(part, part.pins[-1])


def _resistor(deck: Deck, part: Part) -> None:
    assert part.value is not None
    ohms = part.value
    if deck.is_faulty(KIND.OPEN, part.reference):
        return
    if deck.is_faulty(KIND.SHORT, part.reference):
        ohms = defaults.SHORT_OHMS
    if deck.is_faulty(KIND.DRIFTED, part.reference):
        ohms *= deck.size()
    deck.resistor(*_ends(deck, part), ohms)


def _coil(deck: Deck, part: Part) -> None:
    if deck.is_faulty(KIND.OPEN, part.reference):
        return
    supply = any(deck.board.role(pin.net).is_supply for pin in part.pins)
    table = defaults.FERRITE_OHMS if part.kind is PartKind.FERRITE else defaults.INDUCTOR_OHMS
    ohms = table[supply]
    words = re.search(r"DCR[ =](\d+(?:\.\d+)?)(m?)", part.note)
    if words:
        ohms = float(words[1]) / (1000 if words[2] else 1)
    if deck.is_faulty(KIND.HIGH_RESISTANCE, part.reference):
        ohms += deck.size()
    deck.resistor(*_ends(deck, part), ohms)


def _gap(deck: Deck, part: Part) -> None:
    _damage(deck, part.reference, *_ends(deck, part))


def _damage(deck: Deck, place: str, a: str, b: str) -> None:
    if deck.is_faulty(KIND.SHORT, place):
        deck.resistor(a, b, defaults.SHORT_OHMS)
    if deck.is_faulty(KIND.LEAKY, place):
        deck.resistor(a, b, deck.size())


def _junction(deck: Deck, place: str, a: str, b: str, model: defaults.JunctionModel | None) -> None:
    _damage(deck, place, a, b)
    if deck.is_faulty(KIND.OPEN, place) or deck.is_faulty(KIND.SHORT, place):
        return
    if model is None:
        deck.resistor(a, b, defaults.PROTECTION_LEAK)
    else:
        deck.diode(a, b, model)


def _diode(deck: Deck, part: Part) -> None:
    cathode, anode = _ends(deck, part)
    model = defaults.LED if "LED" in part.note else defaults.DIODE
    _junction(deck, part.reference, anode, cathode, model)


def _protection(deck: Deck, part: Part) -> None:
    model = defaults.UNIDIRECTIONAL if "unidirectional" in part.note else None
    grounds = [pin for pin in part.pins if pin.net == "GND"]
    lines = [pin for pin in part.pins if pin.net != "GND"]
    for line in lines:
        place = part.reference if len(lines) == 1 else f"{part.reference}.{line.number}"
        _junction(deck, place, deck.leg(part, grounds[0]), deck.leg(part, line), model)


def _transistor(deck: Deck, part: Part) -> None:
    _, source, drain = (deck.leg(part, pin) for pin in part.pins)
    ends = (drain, source) if "p-channel" in part.note else (source, drain)
    _junction(deck, part.reference, *ends, defaults.BODY_DIODE)


def _chip(deck: Deck, part: Part) -> None:
    supplies: dict[str, list[Pin]] = {}
    for pin in part.pins:
        if deck.board.role(pin.net).is_supply:
            supplies.setdefault(pin.net, []).append(pin)
    inside = {}
    for rail, pins in supplies.items():
        joined = any(deck.leg(part, pin) == rail for pin in pins)
        inside[rail] = rail if joined else f"inside {part.reference} {rail}"
        _rail(deck, part, pins, inside[rail])
    first = next((rail for rail in supplies if deck.board.role(rail) is Role.RAIL), None)
    for pin in part.pins:
        if pin.net not in supplies and pin.net != "GND":
            upper = pin.supply or first
            _pin(deck, part, pin, None if upper is None else inside.get(upper, upper))


def _rail(deck: Deck, part: Part, pins: list[Pin], node: str) -> None:
    large = len(part.pins) >= defaults.LARGE_CHIP_PINS
    core = deck.board.role(pins[0].net) is Role.CORE_RAIL
    deck.diode("GND", node, defaults.substrate(large))
    deck.resistor(node, "GND", (defaults.CORE_RESISTANCE if core else defaults.RAIL_LEAK)[large])
    for pin in pins:
        _damage(deck, f"{part.reference}.{pin.number}", node, "GND")


def _pin(deck: Deck, part: Part, pin: Pin, upper: str | None) -> None:
    name, node = f"{part.reference}.{pin.number}", deck.leg(part, pin)
    large = len(part.pins) >= defaults.LARGE_CHIP_PINS
    if deck.is_faulty(KIND.CLAMP_SHORT, name):
        deck.resistor(node, "GND", defaults.CLAMP_SHORT_OHMS)
    elif not deck.is_faulty(KIND.CLAMP_OPEN, name):
        deck.diode("GND", node, defaults.lower_clamp(deck.board.role(pin.net), large))
    if deck.is_faulty(KIND.LEAK_TO_GROUND, name):
        deck.resistor(node, "GND", deck.size())
    if upper is not None:
        deck.diode(node, upper, defaults.upper_clamp())
        if deck.is_faulty(KIND.LEAK_TO_RAIL, name):
            deck.resistor(node, upper, deck.size())


_WRITERS = {
    PartKind.RESISTOR: _resistor,
    PartKind.FERRITE: _coil,
    PartKind.INDUCTOR: _coil,
    PartKind.CAPACITOR: _gap,
    PartKind.SWITCH: _gap,
    PartKind.DIODE: _diode,
    PartKind.PROTECTION: _protection,
    PartKind.TRANSISTOR: _transistor,
    PartKind.CHIP: _chip,
}


def require_ngspice() -> str:
    """Return the path of ngspice; skips the test without it, fails it on continuous integration."""
    path = shutil.which("ngspice")
    if path is None:
        if os.environ.get("CI"):
            pytest.fail("ngspice is not installed")
        pytest.skip("ngspice is not installed")
    return path


def run_decks(decks: Sequence[str], folder: Path) -> list[float]:
    """Return the voltage of ``probe`` in each deck [V], from one ngspice process."""
    script = ["* all decks", "R1 1 0 1", ".control", "set numdgt=12"]
    for number, deck in enumerate(decks):
        (folder / f"deck{number}.cir").write_text(deck)
        script += [f"source deck{number}.cir", "op", f"echo DECK {number}", "print v(probe)"]
        script += ["destroy all", "remcirc"]
    (folder / "all.cir").write_text("\n".join([*script, "quit", ".endc", ".end", ""]))
    command = [require_ngspice(), "-b", "all.cir"]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    found = dict(re.findall(r"DECK (\d+)\s+v\(probe\) = (\S+)", done.stdout))
    missing = [number for number in range(len(decks)) if str(number) not in found]
    assert not missing, f"no answer for decks {missing[:9]}: {done.stderr[-2000:]}"
    return [float(found[str(number)]) for number in range(len(decks))]


def shown(volts: float, meter_range: MeterRange) -> float | OverRange:
    """Return what the meter shows at a voltage of the probe, from the same rules once more."""
    size = abs(volts)
    if meter_range.mode is not MeterMode.DIODE:
        current = meter_range.test_current
        limit = current * exp(-meter_range.compliance / LIMIT_WIDTH)
        lost = limit * (exp(size / LIMIT_WIDTH) - 1)
        lost = limit * (exp((size - lost * LIMIT_SERIES) / LIMIT_WIDTH) - 1)
        outside = current - lost - size / meter_range.load
        size = size / outside if outside > 0 else float("inf")
    return OVER_RANGE if size > meter_range.full_scale else size
