"""Which nets a function needs, derived from the board so that nobody lists pins by hand."""

from __future__ import annotations

from collections.abc import Iterable
from fnmatch import fnmatchcase

from nextprobe.board import GROUND, Board, Part, PartKind
from nextprobe.packs.schema import Function, Pack

_CONDUCTS_ON = frozenset(
    {
        PartKind.RESISTOR,
        PartKind.FERRITE,
        PartKind.INDUCTOR,
        PartKind.CAPACITOR,
        PartKind.DIODE,
        PartKind.SWITCH,
    }
)


def connectors_of(pack: Pack, function: Function) -> tuple[str, ...]:
    """Return the connectors of a function: its own and those of its modules."""
    own = list(function.needs.connectors)
    for name in function.needs.modules:
        connector = pack.modules[name].connector
        if connector is not None and connector not in own:
            own.append(connector)
    return tuple(own)


def covered_nets(board: Board, pack: Pack, function: Function) -> frozenset[str]:
    """Return the nets whose state the function depends on, ground left out.

    Nets that the pack names (``CAM_*`` for all that start so) stand for those of the connectors,
    which may serve several functions.

    From there the path goes on through two-pin parts. A supply that is only reached through such
    a part, or that feeds a chip, belongs to the function, but what else hangs on it does not.
    """
    start = _named_nets(board, function)
    if not function.needs.nets:
        start |= _nets_of_parts(board, connectors_of(pack, function))
    covered: set[str] = set()
    waiting = sorted((start | _nets_of_small_chips(board, function)) - {GROUND})
    while waiting:
        net = waiting.pop()
        if net in covered:
            continue
        covered.add(net)
        if net in start or not board.role(net).is_supply:
            waiting.extend(_across(board, net) - covered)
    return frozenset(covered)


def _named_nets(board: Board, function: Function) -> set[str]:
    patterns = function.needs.nets + function.needs.rails
    return {net for net in board.nets if any(fnmatchcase(net, each) for each in patterns)}


def _nets_of_small_chips(board: Board, function: Function) -> set[str]:
    small = [name for name in function.needs.chips if not _is_shared(board, name)]
    return _nets_of_parts(board, small)


def _is_shared(board: Board, reference: str) -> bool:
    """Tell whether a chip serves so much else that its other nets are not the function's."""
    return reference in board.by_reference and len(board.part(reference).pins) > 16


def _nets_of_parts(board: Board, references: Iterable[str]) -> set[str]:
    return {
        pin.net
        for reference in references
        if reference in board.by_reference
        for pin in board.part(reference).pins
    }


def _across(board: Board, net: str) -> set[str]:
    far: set[str] = set()
    for part, pin in board.parts_on(net):
        if part.kind in _CONDUCTS_ON and len(part.pins) == 2:
            far.add(other_net(part, pin.net))
    return far - {GROUND}


def other_net(part: Part, net: str) -> str:
    """Return the net on the other side of a two-pin part."""
    first, second = part.pins
    return second.net if first.net == net else first.net
