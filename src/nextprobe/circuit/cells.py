"""Cells: the smallest pieces of a board whose branches a fault can change by itself."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import lru_cache

from nextprobe.board import Fault, FaultKind, Part, PartKind, Pin
from nextprobe.circuit.branch import Branch
from nextprobe.circuit.chips import pin_branches, supply_branches
from nextprobe.circuit.conditions import Conditions
from nextprobe.circuit.defaults import BRIDGE_OHMS
from nextprobe.circuit.passives import conductor_branches, gap_branches
from nextprobe.circuit.semiconductors import semiconductor_branches
from nextprobe.circuit.site import BOARDS_KEPT, Site, is_signal

_CONDUCTORS = frozenset({PartKind.RESISTOR, PartKind.FERRITE, PartKind.INDUCTOR})
_GAPS = frozenset({PartKind.CAPACITOR, PartKind.SWITCH, PartKind.CRYSTAL})
_JUNCTIONS = frozenset({PartKind.DIODE, PartKind.PROTECTION, PartKind.TRANSISTOR})


@dataclass(frozen=True, slots=True)
class Cell:
    """A part, one signal pin of a chip (`number`), or all supplies of a chip."""

    reference: str
    number: str | None = None


def cells_of(site: Site, part: Part) -> Iterator[Cell]:
    """Yield the cells of a part."""
    yield Cell(part.reference)
    if part.kind is PartKind.CHIP:
        for pin in part.pins:
            if is_signal(site.board, pin):
                yield Cell(part.reference, pin.number)


def branches_of(site: Site, cell: Cell) -> list[Branch]:
    """Return the branches of a cell."""
    part = site.board.part(cell.reference)
    pins: tuple[Pin, ...] = part.pins
    if cell.number is not None:
        found = pin_branches(site, part, part.pin(cell.number))
        pins = (part.pin(cell.number),)
    elif part.kind is PartKind.CHIP:
        found = supply_branches(site, part)
        pins = tuple(pin for pin in part.pins if not is_signal(site.board, pin))
    else:
        found = _plain(site, part)
    return found + [joint for pin in pins for joint in _joint(site, part, pin)]


def _plain(site: Site, part: Part) -> list[Branch]:
    if part.kind in _CONDUCTORS:
        found = conductor_branches(site, part)
    elif part.kind in _GAPS:
        found = gap_branches(site, part)
    elif part.kind in _JUNCTIONS:
        found = semiconductor_branches(site, part)
    else:
        found = []
    for pin in part.pins:
        found += site.leaks(f"{part.reference}.{pin.number}", site.node(part, pin))
    return found


def _joint(site: Site, part: Part, pin: Pin) -> list[Branch]:
    """Return the resistance of a joint that has become high-resistance."""
    name = f"{part.reference}.{pin.number}"
    ohms = site.magnitude(FaultKind.HIGH_RESISTANCE, name)
    if ohms is None or site.has(FaultKind.JOINT_OPEN, name):
        return []
    ends = site.conditions.terminal(name, pin.net), site.conditions.pad(name, pin.net)
    return [Branch(f"{name} joint", *ends, ohms)]


def bridge_branches(site: Site) -> list[Branch]:
    """Return the links between pins that are bridged."""
    touched = site.conditions.touched
    return [
        Branch(f"{a}~{b}", touched(site.board, a), touched(site.board, b), BRIDGE_OHMS)
        for a, b in site.conditions.bridges
    ]


def all_branches(site: Site, removed: Iterable[str] = ()) -> tuple[Branch, ...]:
    """Return every branch of a board from which the parts `removed` were taken."""
    gone = frozenset(removed)
    board = site.as_designed
    return _all(site, gone) if board is None else _kept(_Stripped(board, gone, site))


@dataclass(frozen=True)
class _Stripped:
    """A board as designed without some parts; its branches are the same under every meter."""

    board: tuple[str, float]
    gone: frozenset[str]
    site: Site = field(compare=False)


@lru_cache(BOARDS_KEPT)
def _kept(asked: _Stripped) -> tuple[Branch, ...]:
    return _all(asked.site, asked.gone)


def _all(site: Site, gone: frozenset[str]) -> tuple[Branch, ...]:
    parts = [part for part in site.board.fitted if part.reference not in gone]
    cells = [cell for part in parts for cell in cells_of(site, part)]
    found = [branch for cell in cells for branch in branches_of(site, cell)]
    return (*found, *bridge_branches(site))


def affected_cells(site: Site, fault: Fault) -> list[Cell]:
    """Return the cells whose branches `fault` may change."""
    if fault.kind is FaultKind.BRIDGE or not fault.kind.is_electrical:
        return []
    place = fault.place.rpartition("/")[2] if _is_broken(fault) else fault.place
    reference, _, number = place.partition(".")
    part = site.board.part(reference)
    if part.kind is not PartKind.CHIP or not number:
        return [Cell(reference)]
    if is_signal(site.board, part.pin(number)):
        return [Cell(reference, number)]
    moves = fault.kind in (FaultKind.JOINT_OPEN, FaultKind.HIGH_RESISTANCE, FaultKind.BROKEN_NET)
    return list(cells_of(site, part)) if moves else [Cell(reference)]


def _is_broken(fault: Fault) -> bool:
    return fault.kind is FaultKind.BROKEN_NET


def moved_points(conditions: Conditions, site: Site) -> dict[str, str]:
    """Return the points under which the node differs from the net, with that node."""
    pins = {place for kind, place in conditions.marks if "." in place} | set(conditions.cut or ())
    found = {}
    for pin in pins:
        node = conditions.touched(site.board, pin)
        if node != site.board.net_of(pin):
            found[pin] = node
    return found
