"""How likely a fault is to stop a function, given that it sits on what the function needs.

The chances are common practice, no published source. They are wide on purpose: evidence moves
them, and a pack may override rates where a model has known habits.
"""

from __future__ import annotations

from dataclasses import dataclass

from nextprobe.board import GROUND, Board, Fault, FaultKind, Part, PartKind

_PASSIVE = frozenset(
    {
        PartKind.RESISTOR,
        PartKind.FERRITE,
        PartKind.INDUCTOR,
        PartKind.CAPACITOR,
        PartKind.DIODE,
        PartKind.PROTECTION,
        PartKind.SWITCH,
    }
)
# Parts that only matter to a function which depends on every net that they join.
_JOINING = _PASSIVE | {PartKind.TRANSISTOR}
_LEAKS = frozenset({FaultKind.LEAKY, FaultKind.LEAK_TO_GROUND, FaultKind.LEAK_TO_RAIL})


@dataclass(frozen=True)
class Site:
    """Where a fault sits.

    Parameters
    ----------
    nets : frozenset of str
        Nets that it touches, ground left out.
    part : Part or None
        The part, for a fault of a part or of one of its pins.
    grounded : bool
        Whether the place also touches ground.
    """

    nets: frozenset[str]
    part: Part | None
    grounded: bool


def site_of(board: Board, fault: Fault) -> Site:
    """Return where an electrical fault of `board` sits."""
    if fault.kind is FaultKind.BRIDGE:
        nets = {board.net_of(pin) for pin in fault.place.split("~")}
        return Site(frozenset(nets - {GROUND}), None, GROUND in nets)
    if fault.kind is FaultKind.BROKEN_NET:
        net = fault.place.rpartition("/")[0]
        return Site(frozenset({net}), None, False)
    reference, _, number = fault.place.partition(".")
    part = board.part(reference)
    nets = {part.pin(number).net} if number else {pin.net for pin in part.pins}
    return Site(frozenset(nets - {GROUND}), part, GROUND in nets)


def touches(site: Site, covered: frozenset[str]) -> bool:
    """Tell whether a fault at `site` can reach a function that needs `covered`."""
    if site.part is not None and site.part.kind in _JOINING:
        return bool(site.nets) and site.nets <= covered
    return bool(site.nets & covered)


def strength(board: Board, fault: Fault, site: Site) -> float:
    """Return the chance that the fault stops a function that needs all nets of its site."""
    supply = any(board.role(net).is_supply for net in site.nets)
    if fault.kind in _LEAKS:
        return _leak_strength(fault.magnitude or 0.0, supply)
    if fault.kind is FaultKind.BRIDGE:
        return 0.95 if site.nets else 0.0
    if fault.kind is FaultKind.JOINT_OPEN:
        return _open_joint_strength(board, fault, site, supply)
    if site.part is not None and site.part.kind in _PASSIVE:
        return _passive_strength(board, fault.kind, site)
    return {
        FaultKind.SHORT: 0.97,
        FaultKind.CLAMP_SHORT: 0.95,
        FaultKind.CLAMP_OPEN: 0.02,
        FaultKind.BROKEN_NET: 0.9,
        FaultKind.OPEN: 0.9,
    }.get(fault.kind, 0.5)


def _leak_strength(resistance: float, supply: bool) -> float:
    steps = (20.0, 200.0, 2000.0) if supply else (1000.0, 5000.0, 20000.0)
    for limit, chance in zip(steps, (0.9, 0.6, 0.25), strict=True):
        if resistance < limit:
            return chance
    return 0.08


def _open_joint_strength(board: Board, fault: Fault, site: Site, supply: bool) -> float:
    """Judge an open joint; pins that share their net with others of the same part are spares."""
    if not site.nets or site.part is None:
        return 0.05
    net = board.net_of(fault.place)
    twins = sum(pin.net == net for pin in site.part.pins)
    if twins > 1:
        return 0.1
    if site.part.kind is PartKind.CONNECTOR and not supply and len(board.nets[net].pins) == 1:
        return 0.0
    return 0.9


def _passive_strength(board: Board, kind: FaultKind, site: Site) -> float:
    part = site.part
    assert part is not None
    if site.grounded or len(site.nets) == 1:
        return _shunt_strength(part.kind, kind)
    if part.kind is PartKind.RESISTOR and any(board.role(n).is_supply for n in site.nets):
        pull_up = {FaultKind.OPEN: 0.7, FaultKind.SHORT: 0.9, FaultKind.DRIFTED: 0.2}
        return pull_up.get(kind, 0.3)
    if part.kind is PartKind.CAPACITOR:
        series = {FaultKind.OPEN: 0.9, FaultKind.SHORT: 0.15}
        return series.get(kind, 0.1)
    through = {
        FaultKind.OPEN: 0.95,
        FaultKind.HIGH_RESISTANCE: 0.6,
        FaultKind.DRIFTED: 0.2,
        FaultKind.SHORT: 0.05,
    }
    return through.get(kind, 0.3)


def _shunt_strength(part: PartKind, kind: FaultKind) -> float:
    if kind is FaultKind.SHORT:
        return 0.97
    if part is PartKind.RESISTOR:
        return {FaultKind.OPEN: 0.3, FaultKind.DRIFTED: 0.1}.get(kind, 0.2)
    if kind is FaultKind.OPEN:
        return 0.03 if part is PartKind.CAPACITOR else 0.005
    return 0.3
