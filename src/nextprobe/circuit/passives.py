"""Resistors, ferrites, inductors, capacitors and switches at DC."""

from __future__ import annotations

import re

from nextprobe.board import FaultKind, Part, PartKind, Pin
from nextprobe.circuit.branch import Branch
from nextprobe.circuit.defaults import (
    FERRITE_OHMS,
    INDUCTOR_OHMS,
    SHORT_OHMS,
    UNKNOWN_RESISTOR,
)
from nextprobe.circuit.site import Site

_STATED_RESISTANCE = re.compile(r"\bdcr\s*[=:]?\s*([\d.]+)\s*(m?)", re.IGNORECASE)


def pairs(part: Part) -> list[tuple[Pin, Pin]]:
    """Return the pins that belong together: first with last, and inwards.

    That is the usual order of a two-pin part and of an array with pins on two sides (common
    practice, no published source).
    """
    count = len(part.pins)
    return [(part.pins[i], part.pins[count - 1 - i]) for i in range(count // 2)]


def series_resistance(part: Part, on_supply: bool) -> float:
    """Return the nominal DC resistance of a resistor, ferrite or inductor [ohm].

    That of ferrites and inductors is read from words such as ``DCR 0.3`` or ``DCR=40m`` in the
    part's note; else it is the usual one, lower with an end on a supply.
    """
    if part.kind is PartKind.RESISTOR:
        return UNKNOWN_RESISTOR if part.value is None else part.value
    stated = _STATED_RESISTANCE.search(part.note)
    if stated:
        return float(stated[1]) * (1e-3 if stated[2] else 1.0)
    return (FERRITE_OHMS if part.kind is PartKind.FERRITE else INDUCTOR_OHMS)[on_supply]


def conductor_branches(site: Site, part: Part) -> list[Branch]:
    """Return the branches of a resistor, ferrite or inductor."""
    if site.has(FaultKind.OPEN, part.reference):
        return []
    return [_conductor(site, part, index, ends) for index, ends in enumerate(pairs(part))]


def _conductor(site: Site, part: Part, index: int, ends: tuple[Pin, Pin]) -> Branch:
    name = f"{part.reference} {index}"
    nodes = site.node(part, ends[0]), site.node(part, ends[1])
    if site.has(FaultKind.SHORT, part.reference):
        return Branch(name, *nodes, SHORT_OHMS)
    on_supply = any(site.board.role(pin.net).is_supply for pin in ends)
    ohms = series_resistance(part, on_supply)
    ohms *= site.magnitude(FaultKind.DRIFTED, part.reference) or 1.0
    ohms += site.magnitude(FaultKind.HIGH_RESISTANCE, part.reference) or 0.0
    return site.resistor(name, nodes, ohms, f"R:{part.reference}")


def gap_branches(site: Site, part: Part) -> list[Branch]:
    """Return what bridges a part that is open when healthy: a capacitor, switch or crystal."""
    ohms = short_or_leak(site, part.reference)
    if ohms is None:
        return []
    return [
        Branch(f"{part.reference} {index}", site.node(part, a), site.node(part, b), ohms)
        for index, (a, b) in enumerate(pairs(part))
    ]


def short_or_leak(site: Site, place: str) -> float | None:
    """Return the resistance of a short or leak that is present at `place` [ohm]."""
    if site.has(FaultKind.SHORT, place):
        return SHORT_OHMS
    return site.magnitude(FaultKind.LEAKY, place)
