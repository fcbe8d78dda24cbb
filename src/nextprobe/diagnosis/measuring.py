"""One measurement: where the leads are, and what the meter is set to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from nextprobe.board import (
    GROUND,
    BenchSetup,
    Board,
    Fault,
    FaultKind,
    MeterMode,
    Part,
    PartKind,
    Role,
)
from nextprobe.diagnosis.acts import PATIENT, Probe
from nextprobe.diagnosis.ids import PROBE, between, place_and_mode, reading_id

BENCH = BenchSetup()

SAYS = {
    MeterMode.DIODE: "in diode mode",
    MeterMode.OHMS: "in ohms",
    MeterMode.LOW_OHMS: "in low ohms",
    MeterMode.CONTINUITY: "for continuity",
    MeterMode.CAPACITANCE: "in capacitance",
    MeterMode.DC_VOLTS: "in volts, under power",
}
"""Meter modes as they are said of a measurement."""

# A resistor up to this much is measured in low ohms [ohm].
_LOW_OHMS = 300.0
_THROUGH = frozenset({PartKind.FERRITE, PartKind.INDUCTOR, PartKind.RESISTOR})


@dataclass(frozen=True)
class Measurement:
    """A point under the free lead, and the set-up of the bench."""

    point: str
    setup: BenchSetup = BENCH

    @property
    def id(self) -> str:
        """Stable name, as in ``probe:C401:capacitance``."""
        return reading_id(self.point, self.setup.mode, self.setup.clamped)

    @property
    def place(self) -> str:
        """Where the leads are, in a word: a pin, a net, a part, or two pins."""
        if self.setup.clamped == GROUND:
            return self.point
        return between(self.point, self.setup.clamped)

    @property
    def title(self) -> str:
        """One line for people."""
        verb = "Probe" if self.setup.mode is MeterMode.DIODE else "Measure"
        return f"{verb} {self.place} {SAYS[self.setup.mode]}"

    @property
    def across_contacts(self) -> bool:
        """Whether the leads are on two contacts of one connector or chip, to find a bridge."""
        ends = self.point.partition("."), self.setup.clamped.partition(".")
        same = ends[0][0] == ends[1][0] and bool(ends[0][2])
        return same and self.setup.mode is MeterMode.CONTINUITY

    @property
    def live(self) -> bool:
        """Whether the board is under power."""
        return self.setup.mode is MeterMode.DC_VOLTS

    def act(self, device: str = PATIENT) -> Probe:
        """Return the act of taking it."""
        return Probe(self.point, device, self.setup.mode, self.setup.clamped)

    def without(self, removed: frozenset[str]) -> Measurement:
        """Return the same measurement with parts taken off the board."""
        if removed == self.setup.removed:
            return self
        return Measurement(self.point, replace(self.setup, removed=removed))


def measurement_of(place: str, mode: MeterMode, board: Board | None = None) -> Measurement:
    """Return the measurement that a place and a meter mode mean.

    A two-pin part stands for a measurement across it, ``J4.21~C407.1`` for one between two pins;
    anything else is measured against ground.
    """
    point, tilde, clamped = place.partition("~")
    if tilde:
        return Measurement(point.strip(), BenchSetup(mode, clamped.strip()))
    part = None
    if board is not None and not board.has_point(place):
        part = board.by_reference.get(place)
    if part is not None and len(part.pins) == 2:
        return across(part, mode)
    return Measurement(place, BenchSetup(mode))


def measurement_from_id(name: str, board: Board | None = None) -> Measurement:
    """Return the measurement that an id such as ``probe:C401:capacitance`` means."""
    return measurement_of(*place_and_mode(name.removeprefix(f"{PROBE}:")), board)


def across(part: Part, mode: MeterMode) -> Measurement:
    """Return the measurement across a two-pin part; where it is grounded, against ground."""
    first, second = part.pins
    if GROUND in (first.net, second.net):
        pin = second if first.net == GROUND else first
        return Measurement(f"{part.reference}.{pin.number}", BenchSetup(mode))
    clamped = f"{part.reference}.{first.number}"
    return Measurement(f"{part.reference}.{second.number}", BenchSetup(mode, clamped))


def over_bridge(fault: Fault) -> Measurement:
    """Return the measurement that shows a bridge: from contact to contact, for continuity."""
    point, _, clamped = fault.place.partition("~")
    return Measurement(point, BenchSetup(MeterMode.CONTINUITY, clamped))


def bridge_of(item: Measurement) -> Fault:
    """Return the bridge that a measurement from contact to contact shows."""
    return Fault(FaultKind.BRIDGE, f"{item.point}~{item.setup.clamped}")


def to_ground(board: Board, part: Part) -> Iterator[Measurement]:
    """Yield the supply pins of a connector in ohms: what leaks shows there, one pin a net."""
    seen: set[str] = set()
    for pin in part.pins:
        if board.role(pin.net).is_supply and pin.net not in seen:
            seen.add(pin.net)
            yield Measurement(f"{part.reference}.{pin.number}", BenchSetup(MeterMode.OHMS))


def series_parts(board: Board, part: Part) -> tuple[Part, ...]:
    """Return the two-pin parts between a connector's nets and other nets than ground."""
    nets = [pin.net for pin in part.pins if pin.net != GROUND]
    found = {
        other.reference: other
        for net in dict.fromkeys(nets)
        for other, _ in board.parts_on(net)
        if len(other.pins) == 2 and GROUND not in [pin.net for pin in other.pins]
    }
    return tuple(found.values())


def through(board: Board, part: Part) -> Iterator[Measurement]:
    """Yield what conducts in series with a connector's pins, in low ohms across each."""
    for other in series_parts(board, part):
        if conducts(other):
            yield across(other, MeterMode.LOW_OHMS)


def conducts(part: Part) -> bool:
    """Tell whether a sound part reads next to nothing in ohms: a coil, or a small resistor."""
    small = part.kind is not PartKind.RESISTOR or (part.value or 1e9) <= _LOW_OHMS
    return part.kind in _THROUGH and small


def coupling(board: Board, part: Part) -> Iterator[Measurement]:
    """Yield the series capacitors of a connector, in capacitance across each."""
    for other in series_parts(board, part):
        if other.kind is PartKind.CAPACITOR and other.value is not None:
            yield across(other, MeterMode.CAPACITANCE)


def lines(board: Board, part: Part) -> Iterator[Measurement]:
    """Yield the lines from a connector's pins to the next part that can be reached with a probe."""
    for pin in part.pins:
        if pin.net == GROUND or board.role(pin.net) is Role.NOT_CONNECTED:
            continue
        far = _reachable(board, part, pin.net)
        if far is not None:
            setup = BenchSetup(MeterMode.CONTINUITY, far)
            yield Measurement(f"{part.reference}.{pin.number}", setup)


def _reachable(board: Board, near: Part, net: str) -> str | None:
    """Return a pin of another part on a net; the balls of a chip are out of reach."""
    for part, pin in board.parts_on(net):
        if part.reference != near.reference and part.kind is not PartKind.CHIP:
            return f"{part.reference}.{pin.number}"
    return None
