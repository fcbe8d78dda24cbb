"""What was understood of a board, and what was not."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

from nextprobe.board.board import Board, Part
from nextprobe.board.grounding import main_ground, with_named_ground
from nextprobe.board.kinds import PartKind, Role
from nextprobe.board.naming import class_letters, natural_order, unit_of_kind
from nextprobe.board.net_names import RoleGuess
from nextprobe.board.roles import infer_roles

_MOST_PINS = {
    PartKind.CAPACITOR: 4, PartKind.INDUCTOR: 4, PartKind.FERRITE: 4, PartKind.DIODE: 4,
    PartKind.TRANSISTOR: 10, PartKind.CRYSTAL: 6,
}  # fmt: skip
"""More pins than these make a kind doubtful; common practice, no published source."""


@dataclass(frozen=True)
class Understanding:
    """A board with what could be told of it.

    Parameters
    ----------
    board : Board
        With ground called ``GND`` and the roles that could be inferred.
    guesses : mapping of str to RoleGuess
        One for each net.
    ground : str or None
        What the board itself calls ground; None where there is no telling.
    """

    board: Board
    guesses: Mapping[str, RoleGuess]
    ground: str | None

    @cached_property
    def kinds(self) -> Counter[PartKind]:
        """How many fitted parts there are of each kind."""
        return Counter(part.kind for part in self.board.fitted)

    @cached_property
    def roles(self) -> Counter[Role]:
        """How many nets there are of each role."""
        return Counter(guess.role for guess in self.guesses.values())

    @cached_property
    def without_role(self) -> tuple[str, ...]:
        """Nets of which nothing tells what they are for."""
        unknown = (net for net, g in self.guesses.items() if g.role is Role.UNKNOWN)
        return tuple(sorted(unknown, key=natural_order))

    @cached_property
    def unread(self) -> tuple[str, ...]:
        """Fitted parts that should have a value and have none that could be read."""
        return self._named(lambda part: unit_of_kind(part.kind) is not None and part.value is None)

    @cached_property
    def not_fitted(self) -> tuple[str, ...]:
        """Parts that the board is built without."""
        return tuple(
            sorted((p.reference for p in self.board.parts if not p.fitted), key=natural_order)
        )

    @cached_property
    def doubtful(self) -> Mapping[str, str]:
        """Fitted parts whose kind is not sure, with the reason."""
        found = {part.reference: _doubt(part) for part in self.board.fitted}
        return {name: found[name] for name in sorted(found, key=natural_order) if found[name]}

    @cached_property
    def has_places(self) -> bool:
        """Whether it is known where the pins are."""
        return any(pin.pads for part in self.board.parts for pin in part.pins)

    def _named(self, wanted: Callable[[Part], bool]) -> tuple[str, ...]:
        names = (part.reference for part in self.board.fitted if wanted(part))
        return tuple(sorted(names, key=natural_order))


def understand(board: Board) -> Understanding:
    """Return what can be told of a board as it was read."""
    ground = main_ground(board)
    named = with_named_ground(board)
    guesses = infer_roles(named)
    known = {net: g.role for net, g in guesses.items() if g.role is not Role.UNKNOWN}
    return Understanding(named.with_roles(known), guesses, ground)


def _doubt(part: Part) -> str:
    letters = class_letters(part.reference)
    if letters is None:
        return f"its letters stand for no kind of part; taken as {part.kind.value}"
    most = _MOST_PINS.get(part.kind)
    if most is not None and len(part.pins) > most:
        return f"{len(part.pins)} pins are many for a {part.kind.value}"
    if part.kind is PartKind.OTHER and len({pin.net for pin in part.pins}) > 1:
        return "nothing is known of what conducts in it"
    if part.kind is PartKind.CHIP and len(part.pins) <= 2:
        return "two pins are few for a chip"
    return ""
