"""Which net is ground, on boards that call it something else.

Every prediction is made against the net `GROUND`. Names of ground follow no standard: what is
recognised here is common practice, no published source.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

from nextprobe.board.board import GROUND, Board, Part
from nextprobe.board.kinds import PartKind, Role
from nextprobe.board.net_names import RoleGuess, role_from_name, words_of

LEAST_PINS = 4
"""A net that nobody calls ground counts as it only with at least so many pins."""

_PIN_WORDS = re.compile(r"[ADPSE]?GND[A-Z]{0,4}\d*|[ADP]?VSS[A-Z]{0,4}\d*|EP|EPAD|PGND\d*")
_NET_TIE = re.compile(r"net[ _-]?tie", re.IGNORECASE)
_WELL_KNOWN = ("GND", "DGND", "GNDD", "VSS", "0", "0V", "GNDREF", "GROUND", "AGND", "GNDA", "EARTH")


def ground_guesses(board: Board) -> Mapping[str, RoleGuess]:
    """Return the nets that are ground, with what speaks for each.

    Names are asked first, then the names that chips' makers gave to their pins; where neither
    tells, the net with most capacitors and pins is ground. Net ties and ferrites join one ground
    to another.

    Parameters
    ----------
    board : Board
        With or without a net that is called `GROUND`.
    """
    found = _by_name(board) | _by_pins(board)
    if not found:
        found = _by_size(board)
    _cross_ties(board, found)
    return found


def main_ground(board: Board) -> str | None:
    """Return the net that all else is measured against; None where there is no telling."""
    if GROUND in board.nets:
        return GROUND
    found = ground_guesses(board)
    return max(found, key=lambda net: (len(board.nets[net].pins), -_rank(net)), default=None)


def with_named_ground(board: Board) -> Board:
    """Return the board with its main ground called `GROUND`; the same if it is already."""
    main = main_ground(board)
    return board if main is None or main == GROUND else _renamed(board, main)


def is_net_tie(part: Part) -> bool:
    """Whether a part is but copper that joins two nets."""
    return part.reference.startswith("NT") or bool(_NET_TIE.search(part.note))


def _renamed(board: Board, main: str) -> Board:
    parts = [
        replace(part, pins=tuple(replace(p, net=GROUND) if p.net == main else p for p in part.pins))
        for part in board.parts
    ]
    roles = {net: role for net, role in board.roles.items() if net != main}
    return replace(board, parts=tuple(parts), roles=roles)


def _rank(net: str) -> int:
    word = net.rsplit("/", 1)[-1].upper()
    return _WELL_KNOWN.index(word) if word in _WELL_KNOWN else len(_WELL_KNOWN)


def _by_name(board: Board) -> dict[str, RoleGuess]:
    found = {}
    for net in board.nets:
        guess = role_from_name(net)
        if net.rsplit("/", 1)[-1] == "0":
            found[net] = RoleGuess(Role.GROUND, "the net is called 0", 0.9)
        elif guess is not None and guess.role is Role.GROUND:
            found[net] = guess
    return found


def _by_pins(board: Board) -> dict[str, RoleGuess]:
    """Ask the pins: most of the chip pins on a net must be called ground."""
    called: Counter[str] = Counter()
    chips: Counter[str] = Counter()
    for part in board.fitted:
        if part.kind is PartKind.CHIP:
            chips.update({pin.net for pin in part.pins})
            called.update({p.net for p in part.pins if _called_ground(p.function or p.number)})
    return {
        net: RoleGuess(Role.GROUND, f"{count} chips call their pin on it ground", 0.9)
        for net, count in called.items()
        if 2 * count > chips[net] and len(board.nets[net].pins) >= LEAST_PINS
    }


def _called_ground(name: str) -> bool:
    return any(_PIN_WORDS.fullmatch(word) for word in words_of(name))


def _by_size(board: Board) -> dict[str, RoleGuess]:
    capacitors = Counter(
        pin.net for part in board.fitted if part.kind is PartKind.CAPACITOR for pin in part.pins
    )
    size = {net: (capacitors[net], len(board.nets[net].pins)) for net in board.nets}
    first, second = ([*sorted(size, key=size.__getitem__, reverse=True), "", ""])[:2]
    if not first or size[first][1] < LEAST_PINS or size[first] == size.get(second):
        return {}
    reason = f"no net is called ground, and it has most capacitors ({size[first][0]})"
    return {first: RoleGuess(Role.GROUND, reason, 0.6)}


def _cross_ties(board: Board, found: dict[str, RoleGuess]) -> None:
    waiting = list(found)
    while waiting:
        net = waiting.pop()
        for part, _ in board.parts_on(net):
            for far in _tied(part, net):
                if far not in found:
                    reason = f"{net} across {part.reference}"
                    found[far] = RoleGuess(Role.GROUND, reason, 0.9 * found[net].confidence)
                    waiting.append(far)


def _tied(part: Part, net: str) -> list[str]:
    """Return what a part joins to ground: copper does, and a ferrite between two grounds."""
    far = [pin.net for pin in part.pins if pin.net != net]
    if is_net_tie(part):
        return far
    bead = part.kind is PartKind.FERRITE and len(part.pins) == 2
    return [each for each in far if bead and not _supplied(each)]


def _supplied(net: str) -> bool:
    guess = role_from_name(net)
    return guess is not None and guess.role is not Role.GROUND
