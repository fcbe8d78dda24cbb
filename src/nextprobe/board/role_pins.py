"""What the names of a net's pins say about it.

A chip's maker gives names to its pins; a connector's pins may have names too. The rules are
common practice, no published source.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping

from nextprobe.board.board import Board, Part, Pin
from nextprobe.board.kinds import Role
from nextprobe.board.net_names import RoleGuess, partner_of, role_from_words, role_of_pair
from nextprobe.board.role_paths import ENDS

_BALL = re.compile(r"[A-Z]{1,2}\d{1,3}|\d+")
_SWITCHING = re.compile(r"SW\d*|LX\d*|PH|PHASE|VSW")
_ORDER = (
    Role.RAIL, Role.CORE_RAIL, Role.OPEN_DRAIN, Role.CLOCK, Role.RADIO, Role.ANALOGUE, Role.LOGIC
)  # fmt: skip
"""Where pins disagree the first of these counts: an input tied to a rail makes it no signal."""


def by_pins(board: Board, net: str) -> RoleGuess | None:
    """Return what the names of the pins of chips and connectors say; None for nothing."""
    said: Counter[Role] = Counter()
    first: dict[Role, str] = {}
    for part, pin in board.parts_on(net):
        guess = _of_pin(part, pin)
        if guess is not None:
            said[guess.role] += 1
            first.setdefault(guess.role, guess.reason)
    for role in _ORDER:
        if said[role]:
            return RoleGuess(role, first[role], 0.85 if said[role] > 1 else 0.7)
    return None


def _of_pin(part: Part, pin: Pin) -> RoleGuess | None:
    if part.kind not in ENDS:
        return None
    words = pin_words(pin)
    reason = f"pin {part.reference}.{pin.number}"
    if pin.function and pin.function != pin.number:
        reason += f" is called {pin.function}"
    if any(_SWITCHING.fullmatch(word) for word in words):
        return RoleGuess(Role.ANALOGUE, f"{reason}: a switching node", 0.7)
    guess = role_from_words(pin.function or pin.number, words)
    if guess is None or guess.role in (Role.GROUND, Role.NOT_CONNECTED):
        return None
    return RoleGuess(guess.role, reason, 0.7)


def pin_words(pin: Pin) -> tuple[str, ...]:
    """Return the words of a pin's name; none for the number of a ball."""
    name = (pin.function or pin.number).upper()
    if not pin.function and _BALL.fullmatch(name):
        return ()
    return tuple(word for word in re.split(r"[^A-Z0-9+.]+", name) if word)


def pairs_by_pins(board: Board) -> Mapping[str, RoleGuess]:
    """Return nets on pins that a part's maker named as the two sides of a pair."""
    found: dict[str, RoleGuess] = {}
    for part in board.fitted:
        if part.kind in ENDS:
            for net, guess in _pairs_of(part):
                found.setdefault(net, guess)
    return found


def _pairs_of(part: Part) -> Iterator[tuple[str, RoleGuess]]:
    nets: dict[str, set[str]] = {}
    for pin in part.pins:
        nets.setdefault(pin.function, set()).add(pin.net)
    for name, mine in nets.items():
        partner = partner_of(name) if name else None
        role = role_of_pair(name)
        if partner is None or role is None or not mine.isdisjoint(nets.get(partner, mine)):
            continue
        reason = f"{part.reference} calls its pins {name} and {partner}"
        yield from ((net, RoleGuess(role, reason, 0.85)) for net in mine)
