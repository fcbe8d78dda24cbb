"""Every single electrical fault that a board can have, as far as its parts say."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from nextprobe.board import Board, Fault, FaultKind, Part, PartKind, Pin, Role
from nextprobe.circuit.chips import rail_pins
from nextprobe.circuit.semiconductors import junction_places
from nextprobe.circuit.site import Site, is_signal, rail_of

SMALL_CHIP_PINS = 16


@dataclass(frozen=True)
class MagnitudeGrid:
    """Magnitudes at which continuous faults are tabulated.

    Parameters
    ----------
    leaks : tuple of float
        Leaks to ground and across parts [ohm].
    rail_leaks : tuple of float
        Leaks of a signal pin to its rail [ohm].
    drifts : tuple of float
        Factors on a resistor's value [1].
    high_resistances : tuple of float
        Added to ferrites and inductors [ohm].
    """

    leaks: tuple[float, ...] = (33.0, 100.0, 330.0, 1e3, 3.3e3, 10e3, 33e3)
    rail_leaks: tuple[float, ...] = (100.0, 1e3, 10e3)
    drifts: tuple[float, ...] = (0.2, 0.5, 2.0, 5.0)
    high_resistances: tuple[float, ...] = (1.0, 5.0, 20.0, 100.0)


DEFAULT_GRID = MagnitudeGrid()


def enumerate_faults(board: Board, grid: MagnitudeGrid = DEFAULT_GRID) -> tuple[Fault, ...]:
    """Return all single electrical faults of a board, each once, sorted.

    Stand-in chips get only what can be said of any chip: open joints, leaks to ground and
    shorted clamps, and shorted or leaky supplies. Other stand-in parts get none.
    """
    found = {fault for part in board.fitted for fault in _of_part(Site(board), part, grid)}
    return tuple(sorted(found | set(_broken_nets(board)), key=_order))


def _order(fault: Fault) -> tuple[str, str, float]:
    return fault.place, fault.kind.value, fault.magnitude or 0.0


def _of_part(site: Site, part: Part, grid: MagnitudeGrid) -> Iterator[Fault]:
    if part.implied and part.kind is not PartKind.CHIP:
        return
    rule = _RULES.get(part.kind)
    if rule is not None:
        yield from rule(site, part, grid)


def _each(kind: FaultKind, place: str, magnitudes: tuple[float, ...]) -> Iterator[Fault]:
    return (Fault(kind, place, magnitude) for magnitude in magnitudes)


def _resistor(_: Site, part: Part, grid: MagnitudeGrid) -> Iterator[Fault]:
    yield Fault(FaultKind.OPEN, part.reference)
    yield Fault(FaultKind.SHORT, part.reference)
    yield from _each(FaultKind.DRIFTED, part.reference, grid.drifts)


def _conductor(_: Site, part: Part, grid: MagnitudeGrid) -> Iterator[Fault]:
    yield Fault(FaultKind.OPEN, part.reference)
    yield from _each(FaultKind.HIGH_RESISTANCE, part.reference, grid.high_resistances)


def _gap(_: Site, part: Part, grid: MagnitudeGrid) -> Iterator[Fault]:
    yield from _open_short_leaky(part.reference, grid)


def _switch(_: Site, part: Part, __: MagnitudeGrid) -> Iterator[Fault]:
    yield Fault(FaultKind.SHORT, part.reference)


def _junctions(site: Site, part: Part, grid: MagnitudeGrid) -> Iterator[Fault]:
    for place, _, _ in junction_places(site, part):
        yield from _open_short_leaky(place, grid)


def _open_short_leaky(place: str, grid: MagnitudeGrid) -> Iterator[Fault]:
    yield Fault(FaultKind.OPEN, place)
    yield Fault(FaultKind.SHORT, place)
    yield from _each(FaultKind.LEAKY, place, grid.leaks)


def _chip(site: Site, part: Part, grid: MagnitudeGrid) -> Iterator[Fault]:
    for pin in part.pins:
        if is_signal(site.board, pin):
            yield from _signal_pin(site, part, pin, grid)
        elif site.board.role(pin.net).is_supply:
            yield Fault(FaultKind.JOINT_OPEN, f"{part.reference}.{pin.number}")
    for pins in rail_pins(site, part).values():
        name = f"{part.reference}.{pins[0].number}"
        yield Fault(FaultKind.SHORT, name)
        yield from _each(FaultKind.LEAKY, name, grid.leaks)
    if not part.implied and len(part.pins) <= SMALL_CHIP_PINS:
        yield from _bridges(part)


def _signal_pin(site: Site, part: Part, pin: Pin, grid: MagnitudeGrid) -> Iterator[Fault]:
    name = f"{part.reference}.{pin.number}"
    yield Fault(FaultKind.JOINT_OPEN, name)
    yield Fault(FaultKind.CLAMP_SHORT, name)
    yield from _each(FaultKind.LEAK_TO_GROUND, name, grid.leaks)
    if part.implied:
        return
    yield Fault(FaultKind.CLAMP_OPEN, name)
    if rail_of(site.board, part, pin) is not None:
        yield from _each(FaultKind.LEAK_TO_RAIL, name, grid.rail_leaks)


def _connector(_: Site, part: Part, __: MagnitudeGrid) -> Iterator[Fault]:
    for pin in part.pins:
        yield Fault(FaultKind.JOINT_OPEN, f"{part.reference}.{pin.number}")
    yield from _bridges(part)


def _bridges(part: Part) -> Iterator[Fault]:
    """Yield bridges between pins that follow each other in natural order."""
    ordered = sorted(part.pins, key=lambda pin: natural_order(pin.number))
    for first, second in pairwise(ordered):
        if first.net != second.net:
            place = f"{part.reference}.{first.number}~{part.reference}.{second.number}"
            yield Fault(FaultKind.BRIDGE, place)


def natural_order(name: str) -> tuple[tuple[int, int, str], ...]:
    """Return a key that sorts ``2`` before ``10`` and ``A2`` before ``A10``."""
    pieces = re.findall(r"\d+|\D+", name)
    return tuple((0, int(p), "") if p.isdigit() else (1, 0, p) for p in pieces)


def _broken_nets(board: Board) -> Iterator[Fault]:
    """Yield, for nets of three or more pins, each connector pin that may be cut off."""
    for net in board.nets.values():
        if board.role(net.name) is Role.GROUND or len(net.pins) < 3:
            continue
        for name in net.pins:
            if board.part(name.partition(".")[0]).kind is PartKind.CONNECTOR:
                yield Fault(FaultKind.BROKEN_NET, f"{net.name}/{name}")


_RULES: dict[PartKind, Callable[[Site, Part, MagnitudeGrid], Iterator[Fault]]] = {
    PartKind.RESISTOR: _resistor,
    PartKind.FERRITE: _conductor,
    PartKind.INDUCTOR: _conductor,
    PartKind.CAPACITOR: _gap,
    PartKind.DIODE: _junctions,
    PartKind.PROTECTION: _junctions,
    PartKind.TRANSISTOR: _junctions,
    PartKind.SWITCH: _switch,
    PartKind.CHIP: _chip,
    PartKind.CONNECTOR: _connector,
}
