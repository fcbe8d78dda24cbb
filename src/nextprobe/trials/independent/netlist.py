"""The netlist of a board with its faults, written from the board itself.

It knows nothing of how the prediction makes a circuit of a board: faults are worked in here a
second time. What they have in common is the board, and the usual values of parts.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

from nextprobe.board import GROUND, Board, Fault, FaultKind, Part, PartKind, Pin, Role
from nextprobe.circuit import defaults
from nextprobe.trials.independent.curves import Conduction, Curve
from nextprobe.trials.independent.parts import UsualParts

KIND = FaultKind
_LEAST_OHMS = 1e-3
_RESISTANCE = re.compile(r"\bdcr\s*[=:]?\s*([\d.]+)\s*(m?)", re.IGNORECASE)


@dataclass
class Netlist:
    """One netlist under construction.

    Parameters
    ----------
    board : Board
    faults : sequence of Fault
        All that is wrong at once.
    parts : UsualParts
        What its parts are like.
    lines : list of str
        Elements so far.
    """

    board: Board
    faults: Sequence[Fault]
    parts: UsualParts
    lines: list[str] = field(default_factory=list)
    _models: dict[str, str] = field(default_factory=dict)
    _nodes: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._wrong = {(fault.kind, fault.place): fault.magnitude for fault in self.faults}

    def write(self, clamped: str, removed: frozenset[str] = frozenset()) -> None:
        """Write the whole board; the node under `clamped` is called 0."""
        self._nodes[self.under(clamped)] = "0"
        for part in self.board.fitted:
            if part.reference not in removed:
                _WRITERS.get(part.kind, _leaks_only)(self, part)
                self._joints(part)
        for fault in self.faults:
            if fault.kind is KIND.BRIDGE:
                ends = fault.place.split("~")
                self.resistor(self.under(ends[0]), self.under(ends[1]), defaults.BRIDGE_OHMS)

    def afresh(self) -> Netlist:
        """Return the same netlist, not yet written."""
        return Netlist(self.board, self.faults, self.parts)

    @property
    def models(self) -> list[str]:
        """Cards of the junctions."""
        return [f".model {name} {card}" for card, name in self._models.items()]

    def wrong(self, kind: FaultKind, place: str) -> bool:
        """Whether that fault is there."""
        return (kind, place) in self._wrong

    def size(self, kind: FaultKind, place: str) -> float | None:
        """Return how large a fault is, None where it is not there."""
        return self._wrong.get((kind, place))

    def node(self, name: str) -> str:
        """Return what the simulator calls a node."""
        return self._nodes.setdefault(name, f"n{len(self._nodes)}")

    def pad(self, part: Part, pin: Pin) -> str:
        """Return what is under the pad of a pin."""
        name = f"{part.reference}.{pin.number}"
        return f"cut {name}" if self.wrong(KIND.BROKEN_NET, f"{pin.net}/{name}") else pin.net

    def leg(self, part: Part, pin: Pin) -> str:
        """Return the part's side of a joint."""
        name = f"{part.reference}.{pin.number}"
        bad = self.wrong(KIND.JOINT_OPEN, name) or self.wrong(KIND.HIGH_RESISTANCE, name)
        return f"leg {name}" if bad else self.pad(part, pin)

    def under(self, point: str) -> str:
        """Return what a probe touches: the contact of a connector, else a pad or a net."""
        if point in self.board.nets or point == GROUND:
            return point
        reference, _, number = point.partition(".")
        part = self.board.part(reference)
        touch = self.leg if part.kind is PartKind.CONNECTOR else self.pad
        return touch(part, part.pin(number))

    def resistor(self, one: str, other: str, ohms: float) -> None:
        """Add a resistor."""
        ends = f"{self.node(one)} {self.node(other)}"
        self.lines.append(f"R{len(self.lines)} {ends} {max(ohms, _LEAST_OHMS):.9g}")

    def conduct(self, anode: str, cathode: str, law: Conduction) -> None:
        """Add a junction, or a current source that follows a table."""
        a, c = self.node(anode), self.node(cathode)
        if a == c:
            return
        if isinstance(law, Curve):
            points = zip(law.volts, law.amperes, strict=True)
            table = ", ".join(f"{volts:.9g}, {amperes:.6g}" for volts, amperes in points)
            across = f"v({a},{c})" if c != "0" else f"v({a})"
            across = f"-v({c})" if a == "0" else across
            self.lines.append(f"B{len(self.lines)} {a} {c} I=pwl({across}, {table})")
            return
        card = f"D(IS={law.saturation:.12g} N={law.emission:.9g} RS={law.series:.9g})"
        name = self._models.setdefault(card, f"m{len(self._models)}")
        self.lines.append(f"D{len(self.lines)} {a} {c} {name}")

    def damage(self, place: str, one: str, other: str) -> None:
        """Add the short or leak that is there at a place."""
        if self.wrong(KIND.SHORT, place):
            self.resistor(one, other, defaults.SHORT_OHMS)
        elif (ohms := self.size(KIND.LEAKY, place)) is not None:
            self.resistor(one, other, ohms)

    def leaks(self, place: str, node: str, rail: str | None = None) -> None:
        """Add leaks to ground and to a rail that are there at a pin."""
        for kind, other in ((KIND.LEAK_TO_GROUND, GROUND), (KIND.LEAK_TO_RAIL, rail)):
            ohms = self.size(kind, place)
            if ohms is not None and other is not None:
                self.resistor(node, other, ohms)

    def _joints(self, part: Part) -> None:
        for pin in part.pins:
            name = f"{part.reference}.{pin.number}"
            ohms = self.size(KIND.HIGH_RESISTANCE, name)
            if ohms is not None and not self.wrong(KIND.JOINT_OPEN, name):
                self.resistor(self.leg(part, pin), self.pad(part, pin), ohms)


def _leaks_only(net: Netlist, part: Part) -> None:
    for pin in part.pins:
        net.leaks(f"{part.reference}.{pin.number}", net.leg(part, pin))


def _ends(net: Netlist, part: Part) -> list[tuple[str, str]]:
    """Return the ends of a part of two pins, or of an array, first with last and inwards."""
    legs = [net.leg(part, pin) for pin in part.pins]
    return list(zip(legs, legs[::-1], strict=True))[: len(legs) // 2]


def _conductor(net: Netlist, part: Part) -> None:
    _leaks_only(net, part)
    name = part.reference
    if net.wrong(KIND.OPEN, name):
        return
    ohms = _ohms(net, part) * (net.size(KIND.DRIFTED, name) or 1.0)
    ohms += net.size(KIND.HIGH_RESISTANCE, name) or 0.0
    for ends in _ends(net, part):
        net.resistor(*ends, defaults.SHORT_OHMS if net.wrong(KIND.SHORT, name) else ohms)


def _ohms(net: Netlist, part: Part) -> float:
    if part.kind is PartKind.RESISTOR:
        known = defaults.UNKNOWN_RESISTOR if part.value is None else part.value
        return known * net.parts.resistor(part)
    words = _RESISTANCE.search(part.note)
    supply = any(net.board.role(pin.net).is_supply for pin in part.pins)
    ferrite = part.kind is PartKind.FERRITE
    ohms = (defaults.FERRITE_OHMS if ferrite else defaults.INDUCTOR_OHMS)[supply]
    if words:
        ohms = float(words[1]) * (1e-3 if words[2] else 1.0)
    return ohms * net.parts.coil(part)


def _gap(net: Netlist, part: Part) -> None:
    _leaks_only(net, part)
    for ends in _ends(net, part):
        net.damage(part.reference, *ends)


def _one_junction(
    net: Netlist,
    part: Part,
    place: str,
    ends: tuple[Pin, Pin],
    usual: defaults.JunctionModel | None,
) -> None:
    anode, cathode = (net.leg(part, pin) for pin in ends)
    if net.wrong(KIND.OPEN, place):
        return
    net.damage(place, anode, cathode)
    if net.wrong(KIND.SHORT, place):
        return
    if usual is None:
        net.resistor(anode, cathode, defaults.PROTECTION_LEAK)
    else:
        net.conduct(anode, cathode, net.parts.junction(part, usual))


def _diode(net: Netlist, part: Part) -> None:
    _leaks_only(net, part)
    named = {pin.number.upper(): pin for pin in part.pins}
    anode = next((named[word] for word in ("A", "ANODE", "2") if word in named), None)
    cathode = next((named[word] for word in ("K", "C", "CATHODE", "1") if word in named), None)
    if anode is None or cathode is None:
        anode, cathode = part.pins[1], part.pins[0]
    shines = "led" in part.note.lower().split() or part.reference.upper().startswith("LED")
    usual = defaults.LED if shines else defaults.DIODE
    _one_junction(net, part, part.reference, (anode, cathode), usual)


def _protection(net: Netlist, part: Part) -> None:
    _leaks_only(net, part)
    usual = defaults.UNIDIRECTIONAL if "unidirectional" in part.note.lower() else None
    grounds = [pin for pin in part.pins if pin.net == GROUND]
    common = grounds[0] if grounds else part.pins[-1]
    lines = [pin for pin in part.pins if pin is not common and pin not in grounds]
    for line in lines:
        place = part.reference if len(lines) == 1 else f"{part.reference}.{line.number}"
        _one_junction(net, part, place, (common, line), usual)


def _transistor(net: Netlist, part: Part) -> None:
    _leaks_only(net, part)
    named = {pin.number.upper()[:1]: pin for pin in part.pins}
    if {"S", "D"} <= set(named):
        source, drain = named["S"], named["D"]
    elif len(part.pins) == 3:
        source, drain = part.pins[1], part.pins[2]
    else:
        return
    words = part.note.lower()
    turned = any(word in words for word in ("p-channel", "pmos", "p-fet"))
    ends = (drain, source) if turned else (source, drain)
    _one_junction(net, part, part.reference, ends, defaults.BODY_DIODE)


def _chip(net: Netlist, part: Part) -> None:
    supplies: dict[str, list[Pin]] = {}
    for pin in part.pins:
        if net.board.role(pin.net).is_supply:
            supplies.setdefault(pin.net, []).append(pin)
    inside = {rail: _rail(net, part, rail, pins) for rail, pins in supplies.items()}
    first = next((rail for rail in supplies if net.board.role(rail) is Role.RAIL), None)
    for pin in part.pins:
        if pin.net == GROUND:
            net.leaks(f"{part.reference}.{pin.number}", net.leg(part, pin))
        elif pin.net not in supplies:
            rail = pin.supply or first
            _pin(net, part, pin, None if rail is None else inside.get(rail, rail))


def _rail(net: Netlist, part: Part, rail: str, pins: Sequence[Pin]) -> str:
    """Write what is inside a chip at one rail, and return its node; all its pins are joined."""
    legs = [net.leg(part, pin) for pin in pins]
    node = rail if rail in legs else f"inside {part.reference} {rail}"
    large = defaults.is_large(part)
    core = net.board.role(rail) is Role.CORE_RAIL
    net.conduct(GROUND, node, net.parts.substrate(part, rail))
    ohms = (defaults.CORE_RESISTANCE if core else defaults.RAIL_LEAK)[large]
    net.resistor(node, GROUND, ohms * net.parts.load(rail))
    for pin, leg in zip(pins, legs, strict=True):
        name = f"{part.reference}.{pin.number}"
        net.leaks(name, node)
        net.damage(name, node, GROUND)
        if node != rail and not net.wrong(KIND.JOINT_OPEN, name):
            net.resistor(node, leg, _LEAST_OHMS)
    return node


def _pin(net: Netlist, part: Part, pin: Pin, rail: str | None) -> None:
    name, node = f"{part.reference}.{pin.number}", net.leg(part, pin)
    if net.wrong(KIND.CLAMP_SHORT, name):
        net.resistor(GROUND, node, defaults.CLAMP_SHORT_OHMS)
    elif not net.wrong(KIND.CLAMP_OPEN, name):
        net.conduct(GROUND, node, net.parts.lower(net.board, part, pin))
    net.leaks(name, node, rail)
    upper = net.parts.upper(net.board, part, pin) if rail is not None else None
    if rail is not None and upper is not None:
        net.conduct(node, rail, upper)


_WRITERS: Mapping[PartKind, Callable[[Netlist, Part], None]] = MappingProxyType(
    {
        PartKind.RESISTOR: _conductor,
        PartKind.FERRITE: _conductor,
        PartKind.INDUCTOR: _conductor,
        PartKind.CAPACITOR: _gap,
        PartKind.SWITCH: _gap,
        PartKind.CRYSTAL: _gap,
        PartKind.DIODE: _diode,
        PartKind.PROTECTION: _protection,
        PartKind.TRANSISTOR: _transistor,
        PartKind.CHIP: _chip,
    }
)
