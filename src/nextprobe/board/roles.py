"""What each net of a board is for, as far as names, pins and neighbours tell.

Four sources are asked in turn, and the first that answers wins: what somebody stated, the net's
own name, what hangs on the net, and the names of its pins. At last, roles cross parts that a
signal or a supply passes through. The rules are common practice, no published source; a net that
none of them knows stays `Role.UNKNOWN`, so that it can be listed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from nextprobe.board.board import GROUND, Board, Part
from nextprobe.board.kinds import PartKind, Role
from nextprobe.board.naming import automatic_net_name
from nextprobe.board.net_names import RoleGuess, partner_of, role_from_name

PULL_UP_OHMS = (500.0, 200e3)
SERIES_OHMS = 220.0
DECOUPLERS = 3

_BALL = re.compile(r"[A-Z]{1,2}\d{1,3}|\d+")
_UNKNOWN = RoleGuess(Role.UNKNOWN, "nothing tells", 0.0)


def infer_roles(board: Board) -> Mapping[str, RoleGuess]:
    """Return a guess for every net of a board, `Role.UNKNOWN` where nothing tells.

    Parameters
    ----------
    board : Board
        Roles that it states already are taken as certain.
    """
    guesses = {net: _first_guess(board, net) for net in board.nets}
    for net in board.nets:
        if guesses[net].role is Role.UNKNOWN:
            guesses[net] = _by_neighbours(board, net, guesses) or _by_pins(board, net) or _UNKNOWN
    _cross_parts(board, guesses)
    return guesses


def with_inferred_roles(board: Board) -> Board:
    """Return the board with the roles that could be inferred and were not stated."""
    guesses = infer_roles(board)
    known = {net: guess.role for net, guess in guesses.items() if guess.role is not Role.UNKNOWN}
    return board.with_roles({net: role for net, role in known.items() if net != GROUND})


def _first_guess(board: Board, net: str) -> RoleGuess:
    stated = board.role(net)
    if stated is not Role.UNKNOWN:
        return RoleGuess(stated, "stated", 1.0)
    if _is_made_up(board, net):
        return _UNKNOWN
    partner = partner_of(net)
    if partner is not None and partner in board.nets:
        return RoleGuess(Role.LANE, f"{net} and {partner} are a pair", 0.9)
    return _open_drain(board, net) or role_from_name(net) or _UNKNOWN


def _is_made_up(board: Board, net: str) -> bool:
    pins = (pin.partition(".") for pin in board.nets[net].pins)
    return any(net == automatic_net_name(reference, number) for reference, _, number in pins)


def _open_drain(board: Board, net: str) -> RoleGuess | None:
    """Weigh a name that speaks of an open drain by whether there is a pull-up."""
    guess = role_from_name(net)
    if guess is None or guess.role is not Role.OPEN_DRAIN:
        return None
    if any(_pull_ups(board, net)):
        return RoleGuess(Role.OPEN_DRAIN, f"{guess.reason}, with a pull-up", 0.95)
    return RoleGuess(Role.OPEN_DRAIN, f"{guess.reason}; no pull-up is known", 0.8)


def _pull_ups(board: Board, net: str) -> Iterable[str]:
    """Yield resistors of the size of a pull-up, with their far net."""
    low, high = PULL_UP_OHMS
    for part, far in _across(board, net):
        if part.kind is PartKind.RESISTOR and part.value is not None and low <= part.value <= high:
            yield far


def _across(board: Board, net: str) -> Iterable[tuple[Part, str]]:
    """Yield each part of two pins on a net, with the net on its far side."""
    for part, pin in board.parts_on(net):
        if len(part.pins) == 2:
            far = next((other.net for other in part.pins if other is not pin), net)
            if far != net:
                yield part, far


def _by_neighbours(board: Board, net: str, guesses: Mapping[str, RoleGuess]) -> RoleGuess | None:
    across = list(_across(board, net))
    crystals = [part.reference for part, _ in across if part.kind is PartKind.CRYSTAL]
    if crystals:
        return RoleGuess(Role.CLOCK, f"crystal {crystals[0]}", 0.9)
    grounded = [part for part, far in across if guesses[far].role is Role.GROUND]
    decouplers = [part for part in grounded if part.kind is PartKind.CAPACITOR]
    if len(decouplers) >= DECOUPLERS:
        return RoleGuess(Role.RAIL, f"{len(decouplers)} capacitors to ground", 0.7)
    if any(guesses[far].role.is_supply for far in _pull_ups(board, net)):
        return RoleGuess(Role.OPEN_DRAIN, "a pull-up to a rail", 0.5)
    return _coupled(board, across)


def _coupled(board: Board, across: list[tuple[Part, str]]) -> RoleGuess | None:
    """Recognise the series capacitor of a lane: nothing else bridges the two nets."""
    for part, far in across:
        if part.kind is PartKind.CAPACITOR and _leads_on(board, far) and len(across) == 1:
            return RoleGuess(Role.LANE, f"series capacitor {part.reference}", 0.6)
    return None


def _leads_on(board: Board, net: str) -> bool:
    ends = (PartKind.CHIP, PartKind.CONNECTOR)
    return 2 <= len(board.nets[net].pins) <= 3 and any(
        p.kind in ends for p, _ in board.parts_on(net)
    )


def _by_pins(board: Board, net: str) -> RoleGuess | None:
    """Ask the names of the pins, if they are names and no numbers of balls."""
    for part, pin in board.parts_on(net):
        if part.kind not in (PartKind.CHIP, PartKind.CONNECTOR):
            continue
        guess = None if _BALL.fullmatch(pin.number.upper()) else role_from_name(pin.number)
        if guess is not None and guess.role not in (Role.GROUND, Role.NOT_CONNECTED):
            return RoleGuess(guess.role, f"pin {part.reference}.{pin.number}", 0.7)
    return None


def _cross_parts(board: Board, guesses: dict[str, RoleGuess]) -> None:
    """Carry roles across series parts until nothing changes."""
    waiting = [net for net, guess in guesses.items() if guess.role is not Role.UNKNOWN]
    while waiting:
        net = waiting.pop()
        for part, far in _across(board, net):
            if guesses[far].role is Role.UNKNOWN and _carries(part, guesses[net].role):
                reason = f"{net} across {part.reference}"
                confidence = guesses[net].confidence * 0.9
                guesses[far] = RoleGuess(guesses[net].role, reason, confidence)
                waiting.append(far)


def _carries(part: Part, role: Role) -> bool:
    if role in (Role.GROUND, Role.NOT_CONNECTED):
        return False
    if part.kind is PartKind.FERRITE:
        return True
    if part.kind is PartKind.INDUCTOR:
        return role in (Role.RADIO, Role.LANE)
    if part.kind is PartKind.RESISTOR:
        return part.value is not None and part.value <= SERIES_OHMS
    return part.kind is PartKind.CAPACITOR and role in (Role.LANE, Role.RADIO)
