"""From a board to chains that read back as the same board."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from nextprobe.board import GROUND, Board, Part, PartKind, Role
from nextprobe.board.naming import (
    automatic_net_name,
    class_letters,
    kind_from_designator,
    natural_order,
    unit_of_kind,
)
from nextprobe.quantities import exact_text, parse_value
from nextprobe.readers.chains.lexer import is_plain, quote


def write_chains(board: Board) -> str:
    """Write a board as chains.

    Reading the text back gives a board of the same name with the same parts, nets, roles, values
    and positions. Exceptions: a stand-in does not keep a net that a real chip is on, and parts
    that are not fitted, pads, sides and outlines are left out.

    Parameters
    ----------
    board : Board
        References must not contain a dot.
    """
    writer = _Writer(board)
    blocks = [
        [f"board {_words(board.name)}"],
        list(writer.parts()),
        list(writer.nets()),
        list(writer.joints()),
        list(writer.passages()),
        list(writer.supplies()),
        list(writer.positions()),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _words(text: str) -> str:
    """Write words that a reader joins with single blanks."""
    words = text.split(" ")
    return " ".join(word if is_plain_word(word) else quote(word) for word in words)


def is_plain_word(word: str) -> bool:
    """Whether a describing word needs no quotes; unlike a name it may hold dots."""
    return is_plain(word.replace(".", "_"))


def _name(text: str) -> str:
    """Write the reference of a part or a declared net."""
    return text if is_plain(text) else quote(text)


def _sorted(board: Board) -> Board:
    """Return the board in an order that does not depend on how it came about."""
    parts = sorted(board.fitted, key=lambda part: natural_order(part.reference))
    roles = {net: board.roles[net] for net in sorted(board.roles, key=natural_order)}
    return replace(board, parts=tuple(parts), roles=roles)


class _Writer:
    def __init__(self, board: Board) -> None:
        self.board = _sorted(board)
        self.taken = {*board.nets, *board.roles, *self._rails_apart()}
        self.passing = {part.reference for part in board.parts if self._passes(part)}

    def _rails_apart(self) -> list[str]:
        """Return supplies of pins that are no nets of the board."""
        rails = dict.fromkeys(pin.supply for part in self.board.parts for pin in part.pins)
        return [rail for rail in rails if rail is not None and rail not in self.board.nets]

    def _passes(self, part: Part) -> bool:
        """Whether a part can stand in a chain by itself."""
        if tuple(pin.number for pin in part.pins) != ("1", "2") or part.implied:
            return False
        if part.reference in self.taken:
            return False
        if not class_letters(part.reference) or any(pin.supply for pin in part.pins):
            return False
        if kind_from_designator(part.reference, part.note) is not part.kind:
            return False
        if part.kind in (PartKind.CHIP, PartKind.CONNECTOR, PartKind.TRANSISTOR):
            return False
        return part.kind is not PartKind.TEST_POINT and self._says_its_value(part)

    def _says_its_value(self, part: Part) -> bool:
        unit = unit_of_kind(part.kind)
        if unit is None:
            return part.value is None
        parsed = parse_value(part.note, unit)
        return parsed.value == part.value and not parsed.not_fitted

    def parts(self) -> Iterator[str]:
        for part in self.board.parts:
            if part.reference in self.passing:
                continue
            kind = kind_from_designator(part.reference, "")
            if kind is not part.kind or part.note or not part.pins:
                note = f" {_words(part.note)}" if part.note else ""
                yield f"part {_name(part.reference)} {part.kind.value}{note}"
        for part in self.board.parts:
            unit = unit_of_kind(part.kind)
            said = None if unit is None else parse_value(part.note, unit).value
            if part.reference not in self.passing and said != part.value:
                text = "none" if part.value is None else exact_text(part.value, unit or "ohm")
                yield f"value {_name(part.reference)} {text}"
            numbers = [pin.number for pin in part.pins]
            if numbers != sorted(numbers, key=natural_order):
                yield f"pins {_name(part.reference)} {' '.join(map(_number, numbers))}"
            if part.implied:
                yield f"implied {_name(part.reference)}"

    def nets(self) -> Iterator[str]:
        named = dict(self.board.roles)
        for rail in self._rails_apart():
            named.setdefault(rail, Role.UNKNOWN)
        for net, role in named.items():
            yield f"net {_name(net)} {role.value}".removesuffix(" unknown")

    def joints(self) -> Iterator[str]:
        """Write the pins of each net that no passing part shows."""
        for name, net in self.board.nets.items():
            pins = [tuple(pin.split(".", 1)) for pin in net.pins]
            shown = [_pin(*pin) for pin in pins if pin[0] not in self.passing]
            if self._is_named(name):
                shown.append(self._net(name))
            if len(shown) > 1 or not any(pin[0] in self.passing for pin in pins):
                yield " > ".join(shown)

    def _is_named(self, name: str) -> bool:
        return name in self.board.roles or self._point(name) == self._net(name)

    def _point(self, name: str) -> str:
        """Return the shortest point that stands for a net."""
        pins = [pin.split(".", 1) for pin in self.board.nets[name].pins]
        lasting = [pin for pin in pins if pin[0] not in self.passing]
        for kind in (PartKind.CONNECTOR, PartKind.CHIP, None):
            for reference, number in lasting:
                if kind in (None, self.board.part(reference).kind):
                    if automatic_net_name(reference, number) == name:
                        return _pin(reference, number)
                    return self._net(name)
        return self._net(name)

    def _net(self, name: str) -> str:
        plain = is_plain(name) and name.upper() != GROUND
        known = name in self.board.by_reference or class_letters(name.upper())
        return name if name == GROUND or (plain and not known) else quote(name)

    def passages(self) -> Iterator[str]:
        for part in self.board.parts:
            if part.reference not in self.passing:
                continue
            first, second = (self._point(pin.net) for pin in part.pins)
            words = _words(f"{part.reference} {part.note}") if part.note else part.reference
            if part.pins[1].net == GROUND:
                yield f"{first} | {words}"
            else:
                sign = "|" if self._hangs(part) else ">"
                yield f"{first} {sign} {words} > {second}"

    def _hangs(self, part: Part) -> bool:
        """Whether a part leads nowhere: to a rail, or past a stand-in that is to stay."""
        nets = [pin.net for pin in part.pins]
        if any(on.implied for net in nets for on, _ in self.board.parts_on(net)):
            return True
        to_rail = self.board.role(nets[1]).is_supply
        return to_rail and part.kind not in (PartKind.FERRITE, PartKind.INDUCTOR)

    def supplies(self) -> Iterator[str]:
        for part in self.board.parts:
            rails = dict.fromkeys(pin.supply for pin in part.pins if pin.supply is not None)
            for rail in rails:
                pins = [_pin(part.reference, p.number) for p in part.pins if p.supply == rail]
                yield f"supply {' '.join(pins)} {_name(rail)}"

    def positions(self) -> Iterator[str]:
        for part in self.board.parts:
            if part.position is not None:
                x, y = (f"{Decimal(repr(metres)).scaleb(3):f}" for metres in part.position)
                yield f"at {_name(part.reference)} {x} {y}"


def _pin(reference: str, number: str) -> str:
    return f"{_name(reference)}.{_number(number)}"


def _number(number: str) -> str:
    return number if is_plain_word(number) else quote(number)
