"""What each net of a board is for, as far as names, pins and neighbours tell.

Sources are asked in turn, and the first that answers wins: what somebody stated, what is ground,
the net's own name, the names of its pins, series capacitors, and what hangs on it. At last, roles
cross parts that a signal or a supply passes through. The rules are common practice, no published
source; a net that none of them knows stays `Role.UNKNOWN`, so that it can be listed.
"""

from __future__ import annotations

from collections.abc import Mapping

from nextprobe.board.board import GROUND, Board, Part
from nextprobe.board.grounding import ground_guesses
from nextprobe.board.kinds import PartKind, Role
from nextprobe.board.naming import automatic_net_name
from nextprobe.board.net_names import RoleGuess, partner_of, role_from_name, role_of_pair
from nextprobe.board.role_buses import between_chips, by_buses, without_ends
from nextprobe.board.role_lanes import coupled_nets
from nextprobe.board.role_neighbours import by_neighbours
from nextprobe.board.role_paths import across, ends_on, pull_ups
from nextprobe.board.role_pins import by_pins, pairs_by_pins

SERIES_OHMS = 220.0
FILTER_OHMS = 10.0

_UNKNOWN = RoleGuess(Role.UNKNOWN, "nothing tells", 0.0)


def infer_roles(board: Board) -> Mapping[str, RoleGuess]:
    """Return a guess for every net of a board, `Role.UNKNOWN` where nothing tells.

    Parameters
    ----------
    board : Board
        Roles that it states already are taken as certain.
    """
    grounds, whole = ground_guesses(board), _is_whole(board)
    guesses = {
        net: _stated(board, net) or grounds.get(net) or _first_guess(board, net, whole)
        for net in board.nets
    }
    _fill(guesses, pairs_by_pins(board))
    _fill(guesses, {net: by_pins(board, net) for net in _open(guesses)})
    _fill(guesses, coupled_nets(board))
    _cross_parts(board, guesses)
    for _ in range(2):  # a divider is told by its rail, which may be told by its capacitors
        _fill(guesses, {net: by_neighbours(board, net, guesses) for net in _open(guesses)})
        _cross_parts(board, guesses)
    _fill(guesses, by_buses(board))
    for last in (between_chips, without_ends):
        _fill(guesses, {net: last(board, net) for net in _open(guesses)})
    _cross_parts(board, guesses)
    return guesses


def with_inferred_roles(board: Board) -> Board:
    """Return the board with the roles that could be inferred and were not stated."""
    guesses = infer_roles(board)
    known = {net: guess.role for net, guess in guesses.items() if guess.role is not Role.UNKNOWN}
    return board.with_roles({net: role for net, role in known.items() if net != GROUND})


def _is_whole(board: Board) -> bool:
    """Whether the board came with places: then all that is on it is known."""
    return any(pin.pads for part in board.parts for pin in part.pins)


def _open(guesses: Mapping[str, RoleGuess]) -> list[str]:
    return [net for net, guess in guesses.items() if guess.role is Role.UNKNOWN]


def _fill(guesses: dict[str, RoleGuess], found: Mapping[str, RoleGuess | None]) -> None:
    for net, guess in found.items():
        if guess is not None and guesses[net].role is Role.UNKNOWN:
            guesses[net] = guess


def _stated(board: Board, net: str) -> RoleGuess | None:
    stated = board.role(net)
    return None if stated is Role.UNKNOWN else RoleGuess(stated, "stated", 1.0)


def _first_guess(board: Board, net: str, whole: bool) -> RoleGuess:
    if whole and len({pin.partition(".")[0] for pin in board.nets[net].pins}) == 1:
        return RoleGuess(Role.NOT_CONNECTED, f"only {board.nets[net].pins[0]} is on it", 0.9)
    if _is_made_up(board, net):
        return _UNKNOWN
    partner = partner_of(net)
    if partner is not None and partner in board.nets:
        role = role_of_pair(net)
        if role is not None:
            return RoleGuess(role, f"{net} and {partner} are a pair", 0.9)
        if net.endswith(("-", "n", "N")):
            return _UNKNOWN
    return _open_drain(board, net) or role_from_name(net) or _UNKNOWN


def _is_made_up(board: Board, net: str) -> bool:
    pins = (pin.partition(".") for pin in board.nets[net].pins)
    return any(net == automatic_net_name(reference, number) for reference, _, number in pins)


def _open_drain(board: Board, net: str) -> RoleGuess | None:
    """Weigh a name that speaks of an open drain by whether there is a pull-up."""
    guess = role_from_name(net)
    if guess is None or guess.role is not Role.OPEN_DRAIN:
        return None
    if any(pull_ups(board, net)):
        return RoleGuess(Role.OPEN_DRAIN, f"{guess.reason}, with a pull-up", 0.95)
    return RoleGuess(Role.OPEN_DRAIN, f"{guess.reason}; no pull-up is known", 0.8)


def _cross_parts(board: Board, guesses: dict[str, RoleGuess]) -> None:
    """Carry roles across series parts until nothing changes."""
    waiting = [net for net, guess in guesses.items() if guess.role is not Role.UNKNOWN]
    while waiting:
        net = waiting.pop()
        for part, far in across(board, net):
            if guesses[far].role is Role.UNKNOWN and _carries(board, part, guesses[net].role, far):
                reason = f"{net} across {part.reference}"
                confidence = guesses[net].confidence * 0.9
                guesses[far] = RoleGuess(guesses[net].role, reason, confidence)
                waiting.append(far)


def _carries(board: Board, part: Part, role: Role, far: str) -> bool:
    if role in (Role.GROUND, Role.NOT_CONNECTED):
        return False
    if part.kind is PartKind.FERRITE:
        return True
    if part.kind is PartKind.INDUCTOR:
        return role in (Role.RADIO, Role.LANE)
    if part.kind is PartKind.RESISTOR and part.value is not None:
        if role.is_supply:
            return part.value <= FILTER_OHMS and bool(ends_on(board, far))
        return part.value <= SERIES_OHMS
    return part.kind is PartKind.CAPACITOR and role in (Role.LANE, Role.RADIO)
