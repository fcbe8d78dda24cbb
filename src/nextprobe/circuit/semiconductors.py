"""Diodes, protection parts and the body diodes of transistors."""

from __future__ import annotations

from nextprobe.board import FaultKind, Part, PartKind, Pin, Role
from nextprobe.circuit.branch import Branch
from nextprobe.circuit.defaults import (
    BODY_DIODE,
    DIODE,
    LED,
    PROTECTION_LEAK,
    UNIDIRECTIONAL,
    JunctionModel,
)
from nextprobe.circuit.passives import short_or_leak
from nextprobe.circuit.site import Site

_ANODES = frozenset({"A", "ANODE", "2"})
_CATHODES = frozenset({"K", "C", "CATHODE", "1"})
_GATES = frozenset({"G", "GATE", "B", "BASE"})


def semiconductor_branches(site: Site, part: Part) -> list[Branch]:
    """Return the branches of a diode, protection part or transistor, one per junction."""
    found: list[Branch] = []
    for place, anode, cathode in junction_places(site, part):
        found += _one(site, part, place, (site.node(part, anode), site.node(part, cathode)))
    return found


def junction_places(site: Site, part: Part) -> list[tuple[str, Pin, Pin]]:
    """Return the name of each junction of a part with its anode and cathode.

    A part with one junction lends it its own name (``D5``); the lines of a protection array are
    called by their pins (``D5.1``).
    """
    if part.kind is PartKind.PROTECTION:
        return _protection_places(site, part)
    ends = _transistor_ends(part) if part.kind is PartKind.TRANSISTOR else _diode_ends(part)
    return [] if ends is None else [(part.reference, *ends)]


def _protection_places(site: Site, part: Part) -> list[tuple[str, Pin, Pin]]:
    grounds = [pin for pin in part.pins if site.board.role(pin.net) is Role.GROUND]
    if not part.pins:
        return []
    common = grounds[0] if grounds else part.pins[-1]
    lines = [pin for pin in part.pins if pin is not common and pin not in grounds]
    if len(lines) == 1:
        return [(part.reference, common, lines[0])]
    return [(f"{part.reference}.{line.number}", common, line) for line in lines]


def _diode_ends(part: Part) -> tuple[Pin, Pin] | None:
    if len(part.pins) < 2:
        return None
    anodes = [pin for pin in part.pins if pin.number.upper() in _ANODES]
    cathodes = [pin for pin in part.pins if pin.number.upper() in _CATHODES]
    if anodes and cathodes:
        return anodes[0], cathodes[0]
    return part.pins[1], part.pins[0]


def _transistor_ends(part: Part) -> tuple[Pin, Pin] | None:
    """Return anode and cathode of the body diode; pins in the order gate, source, drain.

    The diode of an n-channel part conducts from source to drain, of a p-channel part from drain
    to source.
    """
    channel = [pin for pin in part.pins if pin.number.upper() not in _GATES]
    named = {pin.number.upper()[:1]: pin for pin in channel}
    if "S" in named and "D" in named:
        source, drain = named["S"], named["D"]
    elif len(part.pins) == 3 and len(channel) == 3:
        source, drain = part.pins[1], part.pins[2]
    else:
        return None
    words = part.note.lower()
    p_channel = "p-channel" in words or "pmos" in words or "p-fet" in words
    return (drain, source) if p_channel else (source, drain)


def _one(site: Site, part: Part, place: str, nodes: tuple[str, str]) -> list[Branch]:
    if site.has(FaultKind.OPEN, place):
        return []
    ohms = short_or_leak(site, place)
    if site.has(FaultKind.SHORT, place) and ohms is not None:
        return [Branch(f"{place} fault", *nodes, ohms)]
    extra = [] if ohms is None else [Branch(f"{place} fault", *nodes, ohms)]
    return [_healthy(site, part, place, nodes), *extra]


def _healthy(site: Site, part: Part, place: str, nodes: tuple[str, str]) -> Branch:
    model = _model(part)
    if model is None:
        return Branch(place, *nodes, PROTECTION_LEAK)
    return site.junction(place, nodes, model, (f"Is:{part.reference}", f"Rs:{part.reference}"))


def _model(part: Part) -> JunctionModel | None:
    words = part.note.lower()
    if part.kind is PartKind.PROTECTION:
        return UNIDIRECTIONAL if "unidirectional" in words else None
    if part.kind is PartKind.TRANSISTOR:
        return BODY_DIODE
    return LED if "led" in words.split() or part.reference.upper().startswith("LED") else DIODE
