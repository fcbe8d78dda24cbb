"""What a device may do, guessed from the connectors of its board.

The words that tell are common practice, no published source.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from nextprobe.board import Board, Part, PartKind, Role, natural_order
from nextprobe.packs.schema import FunctionClass

_WORDS: dict[FunctionClass, re.Pattern[str]] = {
    FunctionClass.CAMERA: re.compile(r"CAM[A-Z]*\d*|CSI\d*|IMG|SENSOR|MIPI"),
    FunctionClass.DISPLAY: re.compile(
        r"LCD\w*|DSI\d*|DISP[A-Z]*\d*|HDMI\w*|TMDS\w*|E?DP\d*|LVDS\w*|VGA|SCREEN|OLED|EPD|BACKLIGHT|"
        r"[HV]SYNC|RED|GREEN|BLUE"
    ),
    FunctionClass.TOUCH: re.compile(
        r"TOUCH\w*|CTP|TPINT|KEY\w*|KBD?|ROW\d+|COL\d+|BTN\w*|BUTTON\w*"
    ),
    FunctionClass.CHARGING: re.compile(r"VBUS\w*|USB\w*|DCIN|CHG\w*|CC[12]|BARREL\w*"),
    FunctionClass.POWER: re.compile(r"V?BATT?\w*|BT\d*|PWR|POWER|DC|SUPPLY|VIN"),
    FunctionClass.SOUND: re.compile(r"SPKR?\w*|SPEAKER|MIC\w*|HP[LR]?|EAR\w*|AUDIO|LINE\w*|JACK"),
    FunctionClass.RADIO: re.compile(r"ANT\d*|ANTENNA|RF\w*|WIFI|WLAN|GPS|COAX|SMA|UFL"),
}
_MODULES = {
    FunctionClass.CAMERA: "camera",
    FunctionClass.DISPLAY: "screen",
    FunctionClass.TOUCH: "touch panel",
    FunctionClass.CHARGING: "charging port",
    FunctionClass.POWER: "battery",
    FunctionClass.SOUND: "speaker",
    FunctionClass.RADIO: "antenna",
}
_NAMED_WEIGHT = 3
"""A word in what a connector is called counts as much as so many of its nets."""


@dataclass(frozen=True)
class Proposal:
    """A function as it may be, with what speaks for each part of it.

    Parameters
    ----------
    name : str
    kind : FunctionClass
    module : str
        What is plugged in.
    connector : str or None
    chips, rails : tuple of str
        What it needs of the board.
    reasons : mapping of str to str
        By field: ``class``, ``connector``, ``chips``, ``rails``.
    """

    name: str
    kind: FunctionClass
    module: str
    connector: str | None
    chips: tuple[str, ...]
    rails: tuple[str, ...]
    reasons: dict[str, str]


def propose_functions(board: Board) -> tuple[Proposal, ...]:
    """Return a function for each connector whose words tell what it is for.

    Where none does, the connector with most supplies is taken for that of the power.

    Parameters
    ----------
    board : Board
        With roles, as far as they can be told.
    """
    told = [(part, *_kind_of(board, part)) for part in _connectors(board)]
    known = [(part, kind, count, reason) for part, kind, count, reason in told if kind is not None]
    if not known:
        return (_power(board),)
    known.sort(key=lambda item: -item[2])
    used: set[str] = set()
    found = []
    for part, kind, _, reason in known:
        name = kind.value if kind.value not in used else f"{kind.value} {part.reference}"
        used.add(name)
        found.append(propose(board, name, kind, part.reference, reason))
    return tuple(sorted(found, key=lambda item: natural_order(item.name)))


def propose(
    board: Board, name: str, kind: FunctionClass, connector: str | None, reason: str = ""
) -> Proposal:
    """Return what a function needs of the board if it hangs on `connector`.

    Parameters
    ----------
    board : Board
    name : str
    kind : FunctionClass
    connector : str or None
        Designator; None where nobody knows.
    reason : str
        Why the class is a guess; empty where somebody stated it.
    """
    plural = f" {connector}" if connector and name != kind.value else ""
    reasons = {"class": reason} if reason else {}
    if connector is None:
        return Proposal(name, kind, _MODULES[kind], None, (), (), reasons)
    if reason:
        reasons["connector"] = reason
    chips, why = _chips(board, board.part(connector), kind)
    rails = _rails(board, (connector, *chips))
    if chips:
        reasons["chips"] = why
    if rails:
        reasons["rails"] = f"supplies of {', '.join((connector, *chips))}"
    return Proposal(name, kind, _MODULES[kind] + plural, connector, chips, rails, reasons)


def _connectors(board: Board) -> Iterator[Part]:
    for part in board.fitted:
        nets = {pin.net for pin in part.pins}
        if part.kind is PartKind.CONNECTOR and len(nets) > 1 and part.reference[:2] != "JP":
            yield part


def _kind_of(board: Board, part: Part) -> tuple[FunctionClass | None, int, str]:
    """Return the class that most words of a connector speak of, how many, and the words."""
    called = set(_split([part.reference, part.note]))
    nets = [pin.net for pin in part.pins if board.role(pin.net) is not Role.GROUND]
    around = Counter(word for net in dict.fromkeys(nets) for word in set(_split([net])))
    around.update(word for pin in part.pins for word in set(_split([pin.function])))
    best: tuple[FunctionClass | None, int, str] = (None, 0, "")
    for kind, pattern in _WORDS.items():
        own = sorted(word for word in called if pattern.fullmatch(word))
        far = sorted(word for word in around if pattern.fullmatch(word))
        count = _NAMED_WEIGHT * len(own) + sum(around[word] for word in far)
        if count > best[1]:
            words = ", ".join(dict.fromkeys([*own, *far][:4]))
            best = kind, count, f"{words} at {part.reference}"
    return best


def _split(names: Iterable[str]) -> list[str]:
    words = (re.split(r"[^A-Z0-9+]+", name.upper()) for name in names)
    return [word for each in words for word in each if word]


def _power(board: Board) -> Proposal:
    def supplies(part: Part) -> int:
        return sum(board.role(pin.net).is_supply for pin in part.pins)

    best = max(_connectors(board), key=supplies, default=None)
    if best is None or not supplies(best):
        reason = "every device needs power, and no connector tells more"
        return propose(board, "power", FunctionClass.POWER, None, reason)
    reason = f"{best.reference} has most supply pins, and no connector tells more"
    return propose(board, "power", FunctionClass.POWER, best.reference, reason)


def _chips(board: Board, connector: Part, kind: FunctionClass) -> tuple[tuple[str, ...], str]:
    """Return the chip that most lines of a connector lead to; of a supply, the smallest on it."""
    lines: Counter[str] = Counter()
    for net in dict.fromkeys(pin.net for pin in connector.pins):
        lines.update(_reached(board, net))
    if lines:
        best = max(lines, key=lambda name: (lines[name], -len(board.part(name).pins)))
        count = "1 line leads" if lines[best] == 1 else f"{lines[best]} lines lead"
        return (best,), f"{count} from {connector.reference} to it"
    if kind not in (FunctionClass.CHARGING, FunctionClass.POWER):
        return (), ""
    fed = {
        part.reference: len(part.pins)
        for pin in connector.pins if board.role(pin.net).is_supply
        for part, _ in board.parts_on(pin.net) if part.kind is PartKind.CHIP
    }  # fmt: skip
    if not fed:
        return (), ""
    small = min(fed, key=lambda name: (fed[name], natural_order(name)))
    return (small,), f"the smallest chip on a supply of {connector.reference}"


def _reached(board: Board, net: str) -> set[str]:
    """Return the chips on a line, directly or behind one series part."""
    if board.role(net) is Role.GROUND or board.role(net).is_supply:
        return set()
    nets = {net}
    for part, _ in board.parts_on(net):
        if len(part.pins) == 2 and part.kind is not PartKind.CONNECTOR:
            nets |= {pin.net for pin in part.pins}
    lines = [each for each in nets if not _is_power(board, each)]
    return {
        part.reference
        for each in lines for part, _ in board.parts_on(each) if part.kind is PartKind.CHIP
    }  # fmt: skip


def _is_power(board: Board, net: str) -> bool:
    return board.role(net) is Role.GROUND or board.role(net).is_supply


def _rails(board: Board, references: Iterable[str]) -> tuple[str, ...]:
    nets = (pin.net for name in references for pin in board.part(name).pins)
    return tuple(dict.fromkeys(net for net in nets if board.role(net).is_supply))
