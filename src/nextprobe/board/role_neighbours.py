"""What the parts on a net say about it.

The rules are common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Mapping

from nextprobe.board.board import Board, Part
from nextprobe.board.kinds import PartKind, Role
from nextprobe.board.net_names import RoleGuess
from nextprobe.board.role_paths import across, ends_on, pull_ups

DECOUPLERS = 3
BYPASS_FARADS = 1e-6
"""From this size on a capacitor to ground bears a supply [F]."""

Guesses = Mapping[str, RoleGuess]


def by_neighbours(board: Board, net: str, guesses: Guesses) -> RoleGuess | None:
    """Return what hangs on a net says about it; None for nothing.

    Parameters
    ----------
    board : Board
    net : str
    guesses : mapping of str to RoleGuess
        What is known of all nets so far.
    """
    parts = list(across(board, net))
    crystals = [part.reference for part, _ in board.parts_on(net) if _is_crystal(part)]
    if crystals:
        return RoleGuess(Role.CLOCK, f"crystal {crystals[0]}", 0.9)
    return (
        _supply(board, net, parts, guesses)
        or _divider(board, net, guesses)
        or _pulled(board, net, guesses)
        or _current(parts)
        or _switch(board, net)
        or _bypassed(board, net, parts, guesses)
    )


def _is_crystal(part: Part) -> bool:
    return part.kind is PartKind.CRYSTAL


def _supply(
    board: Board, net: str, parts: list[tuple[Part, str]], guesses: Guesses
) -> RoleGuess | None:
    decouplers = [
        part for part, far in parts
        if part.kind is PartKind.CAPACITOR and guesses[far].role is Role.GROUND
    ]  # fmt: skip
    if len(decouplers) >= DECOUPLERS:
        return RoleGuess(Role.RAIL, f"{len(decouplers)} capacitors to ground", 0.7)
    coils = [(part, far) for part, far in parts if part.kind is PartKind.INDUCTOR]
    if coils and decouplers:
        return RoleGuess(Role.RAIL, f"coil {coils[0][0].reference} and capacitors to ground", 0.7)
    for part, far in coils:
        if guesses[far].role.is_supply and ends_on(board, net):
            reason = f"coil {part.reference} joins it to {far}: a switching node"
            return RoleGuess(Role.ANALOGUE, reason, 0.7)
    return None


def _divider(board: Board, net: str, guesses: Guesses) -> RoleGuess | None:
    """Recognise the middle of two resistors between a rail and ground."""
    far = {
        guesses[other].role for part, other in across(board, net)
        if part.kind is PartKind.RESISTOR
    }  # fmt: skip
    if Role.GROUND in far and any(role.is_supply for role in far):
        return RoleGuess(Role.ANALOGUE, "a divider between a rail and ground", 0.7)
    return None


def _pulled(board: Board, net: str, guesses: Guesses) -> RoleGuess | None:
    far = [guesses[other].role for other in pull_ups(board, net)]
    if not ends_on(board, net):
        return None
    if any(role.is_supply for role in far):
        if _has(board, net, PartKind.SWITCH):
            return RoleGuess(Role.LOGIC, "a switch and a pull-up to a rail", 0.7)
        if len([name for name in ends_on(board, net) if not name.startswith("JP")]) > 1:
            return RoleGuess(Role.OPEN_DRAIN, "a pull-up to a rail", 0.5)
        return RoleGuess(Role.LOGIC, "an input that a resistor holds at a rail", 0.6)
    transistor = _has(board, net, PartKind.TRANSISTOR)
    if Role.GROUND in far and transistor:
        return RoleGuess(Role.LOGIC, "drives a transistor, with a pull-down", 0.6)
    return None


def _current(parts: list[tuple[Part, str]]) -> RoleGuess | None:
    """Recognise a light-emitting or other diode with its resistor."""
    diodes = [part.reference for part, _ in parts if part.kind is PartKind.DIODE]
    resistors = [part.reference for part, _ in parts if part.kind is PartKind.RESISTOR]
    if diodes and resistors:
        return RoleGuess(Role.ANALOGUE, f"current of {diodes[0]} through {resistors[0]}", 0.6)
    return None


def _bypassed(
    board: Board, net: str, parts: list[tuple[Part, str]], guesses: Guesses
) -> RoleGuess | None:
    """Recognise a chip's pin that a capacitor to ground keeps quiet."""
    grounded = [
        part for part, far in parts
        if part.kind is PartKind.CAPACITOR and guesses[far].role is Role.GROUND
    ]  # fmt: skip
    if not grounded or not ends_on(board, net):
        return None
    largest = max((part.value or 0.0 for part in grounded), default=0.0)
    names = ", ".join(part.reference for part in grounded)
    if largest >= BYPASS_FARADS:
        return RoleGuess(Role.RAIL, f"{names} to ground, large enough for a supply", 0.5)
    return RoleGuess(Role.ANALOGUE, f"{names} to ground: filtered", 0.5)


def _switch(board: Board, net: str) -> RoleGuess | None:
    if _has(board, net, PartKind.SWITCH) and ends_on(board, net):
        return RoleGuess(Role.LOGIC, "a switch", 0.6)
    return None


def _has(board: Board, net: str, kind: PartKind) -> bool:
    return any(part.kind is kind for part, _ in board.parts_on(net))
