"""The faults that could explain a complaint, each with its cause and what it stops."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from nextprobe.board import ELECTRICAL, Board, Fault, FaultKind, Part, PartKind
from nextprobe.circuit import enumerate_faults
from nextprobe.diagnosis.coverage import connectors_of, covered_nets
from nextprobe.diagnosis.effects import Site, site_of, strength, touches
from nextprobe.diagnosis.vague import sizes
from nextprobe.packs.causes import Cause
from nextprobe.packs.schema import Function, Pack

FIRMWARE = "firmware"
UNLOCATED = "?"

_OPENS = frozenset(
    {FaultKind.OPEN, FaultKind.HIGH_RESISTANCE, FaultKind.DRIFTED, FaultKind.JOINT_OPEN}
)
_ELSEWHERE = {FaultKind.FIRMWARE_CORRUPT: 0.15, FaultKind.UNLISTED: 0.2}


@dataclass(frozen=True)
class Candidate:
    """One fault that could be the answer.

    Parameters
    ----------
    fault : Fault
        What it is. A place that starts with ``?`` is not located.
    cause : Cause or None
        The share of complaints that it belongs to; None if unlisted.
    stops : mapping of str to float
        Function to the chance that this fault stops it.
    """

    fault: Fault
    cause: Cause | None
    stops: Mapping[str, float]

    @property
    def located(self) -> bool:
        """Whether the place is known."""
        return not self.fault.place.startswith(UNLOCATED)


def candidates(pack: Pack, board: Board | None, complaint: str) -> tuple[Candidate, ...]:
    """List every fault that could explain that the function `complaint` fails."""
    found = [*_beside_the_board(pack, complaint), *_unlocated(pack, complaint)]
    if board is not None:
        found.extend(_on_the_board(pack, board, complaint))
    found.extend(_vague(pack, complaint, FaultKind.UNLISTED, complaint, None))
    return tuple(found)


def _spread(pack: Pack, complaint: str, fault: Fault) -> dict[str, float]:
    """Say what a fault without a place on the board stops."""
    elsewhere = _ELSEWHERE.get(fault.kind, 0.0)
    return {name: 1.0 if name == complaint else elsewhere for name in pack.functions}


def _beside_the_board(pack: Pack, complaint: str) -> Iterator[Candidate]:
    function = pack.functions[complaint]
    if function.needs.external:
        for place in external_places(pack, complaint):
            yield _single(pack, complaint, FaultKind.EXTERNAL, place, Cause.EXTERNAL)
    for slot in function.needs.modules:
        stops = _by_module(pack, slot)
        yield Candidate(Fault(FaultKind.MODULE_BAD, slot), Cause.MODULE, stops)
        if pack.modules[slot].recognised == "after refresh":
            yield Candidate(Fault(FaultKind.RECOGNITION_STALE, slot), Cause.FIRMWARE, stops)
    for place in seats(pack, function):
        stops = _by_seat(pack, place)
        yield Candidate(Fault(FaultKind.SEATING, place), Cause.SEATING, stops)
        yield Candidate(Fault(FaultKind.DIRT, place), Cause.SEATING, stops)
        for fault in sizes(FaultKind.RESIDUE, place):
            yield Candidate(fault, Cause.RESIDUE, stops)
    if function.needs.firmware:
        yield _single(pack, complaint, FaultKind.FIRMWARE_CORRUPT, FIRMWARE, Cause.FIRMWARE)
        yield _single(pack, complaint, FaultKind.SETTINGS, complaint, Cause.FIRMWARE)


def external_places(pack: Pack, complaint: str) -> tuple[str, ...]:
    """Return what outside the device may be to blame: the items of the pack, or all in one."""
    items = pack.functions[complaint].needs.externals
    return tuple(f"{complaint}/{item}" for item in items) or (complaint,)


def _single(pack: Pack, complaint: str, kind: FaultKind, place: str, cause: Cause) -> Candidate:
    fault = Fault(kind, place)
    return Candidate(fault, cause, _spread(pack, complaint, fault))


def seats(pack: Pack, function: Function) -> tuple[str, ...]:
    """Return the places where a module of the function plugs in: connectors where known."""
    known = connectors_of(pack, function)
    unnamed = tuple(m for m in function.needs.modules if pack.modules[m].connector is None)
    return known + unnamed


def _by_module(pack: Pack, slot: str) -> dict[str, float]:
    return {
        name: 1.0 if slot in function.needs.modules else 0.0
        for name, function in pack.functions.items()
    }


def _by_seat(pack: Pack, place: str) -> dict[str, float]:
    return {
        name: 0.9 if place in seats(pack, function) else 0.0
        for name, function in pack.functions.items()
    }


def _unlocated(pack: Pack, complaint: str) -> Iterator[Candidate]:
    kinds = {
        Cause.PASSIVE_SHORT: FaultKind.SHORT,
        Cause.PASSIVE_OPEN: FaultKind.OPEN,
        Cause.CONTROLLER: FaultKind.CHIP_DEAD,
        Cause.POWER_CHIP: FaultKind.CHIP_DEAD,
        Cause.PROCESSOR: FaultKind.CHIP_DEAD,
    }
    for cause, kind in kinds.items():
        place = f"{UNLOCATED}{cause.value}/{complaint}"
        yield from _vague(pack, complaint, kind, place, cause)


def _vague(
    pack: Pack, complaint: str, kind: FaultKind, place: str, cause: Cause | None
) -> Iterator[Candidate]:
    for fault in sizes(kind, place):
        yield Candidate(fault, cause, _spread(pack, complaint, fault))


def _on_the_board(pack: Pack, board: Board, complaint: str) -> Iterator[Candidate]:
    covers = {
        name: covered_nets(board, pack, function) for name, function in pack.functions.items()
    }
    yield from _dead_chips(pack, board, complaint)
    for fault in enumerate_faults(board):
        site = site_of(board, fault)
        if not touches(site, covers[complaint]):
            continue
        chance = strength(board, fault, site)
        if chance <= 0.0:
            continue
        stops = {
            name: chance
            if touches(site, nets) and not _spares(board, pack.functions[name], fault, site)
            else 0.0
            for name, nets in covers.items()
        }
        if stops[complaint]:
            yield Candidate(fault, cause_of(board, fault, site.part), stops)


def _spares(board: Board, function: Function, fault: Fault, site: Site) -> bool:
    """Tell whether a fault only cuts the supply of a chip that the function does not need."""
    chips, part = function.needs.chips, site.part
    if fault.kind is not FaultKind.JOINT_OPEN or part is None or part.implied or not chips:
        return False
    supply = all(board.role(net).is_supply for net in site.nets)
    return supply and part.kind is PartKind.CHIP and part.reference not in chips


def _dead_chips(pack: Pack, board: Board, complaint: str) -> Iterator[Candidate]:
    for reference in pack.functions[complaint].needs.chips:
        if reference not in board.by_reference:
            continue
        stops = {
            name: 0.95 if reference in function.needs.chips else 0.0
            for name, function in pack.functions.items()
        }
        part = board.part(reference)
        kind = FaultKind.NO_OUTPUT if "regulator" in part.note else FaultKind.CHIP_DEAD
        yield Candidate(Fault(kind, reference), chip_cause(part), stops)


def chip_cause(part: Part) -> Cause:
    """Tell processor, power chip and controller apart by the words noted with the part."""
    if "processor" in part.note:
        return Cause.PROCESSOR
    return Cause.POWER_CHIP if "power" in part.note else Cause.CONTROLLER


def cause_of(board: Board, fault: Fault, part: Part | None) -> Cause:
    """Return the share of complaints that a fault on the board belongs to."""
    assert fault.kind in ELECTRICAL
    if fault.kind is FaultKind.BROKEN_NET:
        return Cause.PROCESSOR
    if part is None:
        return _bridge_cause(board, fault)
    if part.kind is PartKind.CONNECTOR:
        return Cause.SEATING
    if part.kind is PartKind.CHIP and not part.implied:
        return chip_cause(part)
    return Cause.PASSIVE_OPEN if fault.kind in _OPENS else Cause.PASSIVE_SHORT


def _bridge_cause(board: Board, fault: Fault) -> Cause:
    reference = fault.place.partition(".")[0]
    part = board.part(reference)
    return Cause.SEATING if part.kind is PartKind.CONNECTOR else chip_cause(part)
