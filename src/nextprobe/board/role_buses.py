"""Lines of buses, and lines between chips that carry no other sign.

The rules are common practice, no published source.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from nextprobe.board.board import Board
from nextprobe.board.kinds import PartKind, Role
from nextprobe.board.naming import natural_order
from nextprobe.board.net_names import RoleGuess, is_made_up
from nextprobe.board.role_paths import ends_on

LEAST_LINES = 4
_NUMBERED = re.compile(r"(.*?)\d+([-+#]?)")
_PASSIVE = frozenset(
    {PartKind.CAPACITOR, PartKind.INDUCTOR, PartKind.CRYSTAL, PartKind.FERRITE, PartKind.DIODE}
)


def by_buses(board: Board) -> Mapping[str, RoleGuess]:
    """Return nets that are numbered lines of one bus on chips or connectors."""
    buses: dict[tuple[str, str], list[str]] = {}
    for net in board.nets:
        match = None if is_made_up(net) else _NUMBERED.fullmatch(net)
        if match is not None and ends_on(board, net):
            buses.setdefault((match[1], match[2]), []).append(net)
    found: dict[str, RoleGuess] = {}
    for lines in buses.values():
        if len(lines) >= LEAST_LINES:
            first, *_, last = sorted(lines, key=natural_order)
            reason = f"one of {len(lines)} lines {first} to {last}"
            found |= {
                net: RoleGuess(Role.LOGIC, reason, 0.75 if len(ends_on(board, net)) > 1 else 0.6)
                for net in lines
            }
    return found


def between_chips(board: Board, net: str) -> RoleGuess | None:
    """Return logic for a net that joins chips and nothing that would tell of anything else."""
    parts = [part for part, _ in board.parts_on(net)]
    chips = sorted({part.reference for part in parts if part.kind is PartKind.CHIP})
    if len(chips) < 2 or any(part.kind in _PASSIVE for part in parts):
        return None
    return RoleGuess(Role.LOGIC, f"joins {chips[0]} and {chips[1]}; most such nets are", 0.5)


def without_ends(board: Board, net: str) -> RoleGuess | None:
    """Return analogue for a net that no chip and no connector is on."""
    parts = [part for part, _ in board.parts_on(net)]
    active = (PartKind.CHIP, PartKind.CONNECTOR, PartKind.OTHER, PartKind.SWITCH)
    if len(parts) < 2 or any(part.kind in active for part in parts):
        return None
    return RoleGuess(Role.ANALOGUE, "on it are but transistors, diodes and passive parts", 0.5)
