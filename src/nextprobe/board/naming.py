"""What the names of parts and nets say.

Class letters follow IEEE Std 315-1975, clause 22.4. Letters that the standard does not have and
the trade uses all the same (``D`` for every diode, ``FB``, ``IC``, ``JP``, ``CN``, ``SW``, ``TP``,
``ZD``, ``TVS``) are common practice. A fuse has no kind of its own: to a meter it is a ferrite.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

from nextprobe.board.kinds import PartKind
from nextprobe.quantities import parse_value

_LETTERS: Mapping[str, PartKind] = MappingProxyType(
    {
        "A": PartKind.OTHER,
        "ANT": PartKind.OTHER,
        "AT": PartKind.OTHER,
        "B": PartKind.OTHER,
        "BT": PartKind.OTHER,
        "C": PartKind.CAPACITOR,
        "CN": PartKind.CONNECTOR,
        "CON": PartKind.CONNECTOR,
        "CR": PartKind.DIODE,
        "D": PartKind.DIODE,
        "DS": PartKind.OTHER,
        "E": PartKind.OTHER,
        "F": PartKind.FERRITE,
        "FB": PartKind.FERRITE,
        "FD": PartKind.OTHER,
        "FID": PartKind.OTHER,
        "FL": PartKind.OTHER,
        "G": PartKind.OTHER,
        "H": PartKind.OTHER,
        "IC": PartKind.CHIP,
        "J": PartKind.CONNECTOR,
        "JP": PartKind.CONNECTOR,
        "K": PartKind.OTHER,
        "L": PartKind.INDUCTOR,
        "LED": PartKind.DIODE,
        "LS": PartKind.OTHER,
        "M": PartKind.OTHER,
        "MH": PartKind.OTHER,
        "MK": PartKind.OTHER,
        "MP": PartKind.OTHER,
        "P": PartKind.CONNECTOR,
        "Q": PartKind.TRANSISTOR,
        "R": PartKind.RESISTOR,
        "RN": PartKind.RESISTOR,
        "RT": PartKind.RESISTOR,
        "RV": PartKind.PROTECTION,
        "S": PartKind.SWITCH,
        "SW": PartKind.SWITCH,
        "T": PartKind.OTHER,
        "TP": PartKind.TEST_POINT,
        "TVS": PartKind.PROTECTION,
        "U": PartKind.CHIP,
        "VR": PartKind.OTHER,
        "X": PartKind.OTHER,
        "Y": PartKind.CRYSTAL,
        "Z": PartKind.OTHER,
        "ZD": PartKind.DIODE,
    }
)

_WORDS: tuple[tuple[re.Pattern[str], frozenset[str], PartKind], ...] = (
    (
        re.compile(r"\b(?:esd|tvs|varistor|protection|transil)\b", re.IGNORECASE),
        frozenset({"D", "CR", "Z", "ZD", "VR", "RV", "E"}),
        PartKind.PROTECTION,
    ),
    (
        re.compile(r"\b(?:zener|schottky|diode|led|rectifier)\b", re.IGNORECASE),
        frozenset({"DS", "VR", "Z"}),
        PartKind.DIODE,
    ),
    (
        re.compile(r"\b(?:ferrite|bead)\b", re.IGNORECASE),
        frozenset({"L", "FL", "E", "Z", "R"}),
        PartKind.FERRITE,
    ),
    (
        re.compile(r"\bchokes?\b", re.IGNORECASE),
        frozenset({"FL", "T", "E"}),
        PartKind.INDUCTOR,
    ),
    (
        re.compile(r"\b(?:regulator|ldo|buck|boost)\b", re.IGNORECASE),
        frozenset({"VR"}),
        PartKind.CHIP,
    ),
    (
        re.compile(r"\b(?:crystal|xtal|resonator)\b", re.IGNORECASE),
        frozenset({"X"}),
        PartKind.CRYSTAL,
    ),
    (re.compile(r"\b(?:connector|socket)\b", re.IGNORECASE), frozenset({"X"}), PartKind.CONNECTOR),
)

_UNITS: Mapping[PartKind, Literal["ohm", "farad", "henry"]] = MappingProxyType(
    {
        PartKind.RESISTOR: "ohm",
        PartKind.FERRITE: "ohm",
        PartKind.CAPACITOR: "farad",
        PartKind.INDUCTOR: "henry",
    }
)

_DESIGNATOR = re.compile(r"([A-Z]+)[\d?][A-Z0-9?_]*", re.ASCII)


def class_letters(reference: str) -> str | None:
    """Return the letters of a designator, as in ``FB`` of ``FB2``; None if it is none."""
    match = _DESIGNATOR.fullmatch(reference)
    return match[1] if match and match[1] in _LETTERS else None


def kind_from_designator(reference: str, note: str = "") -> PartKind | None:
    """Return the kind of part that a designator and the words beside it stand for.

    Parameters
    ----------
    reference : str
        As in ``C87``.
    note : str
        Words that narrow it down: ``D5`` with ``esd`` is a protection part, ``L3`` with
        ``600R@100MHz`` a ferrite.

    Returns
    -------
    PartKind or None
        None if the letters are not known; `PartKind.OTHER` where they are known and stand for
        nothing that the other kinds describe.
    """
    letters = class_letters(reference)
    if letters is None:
        return None
    for words, narrowed, kind in _WORDS:
        if letters in narrowed and words.search(note):
            return kind
    if letters == "L" and parse_value(note, "henry").unit == "ohm":
        return PartKind.FERRITE
    return _LETTERS[letters]


def unit_of_kind(kind: PartKind) -> Literal["ohm", "farad", "henry"] | None:
    """Return the unit of a part's main value; None for kinds that have none."""
    return _UNITS.get(kind)


def natural_order(text: str) -> list[tuple[int, int | str]]:
    """Return a key that sorts ``C9`` before ``C10``."""
    pieces = re.findall(r"[0-9]{1,9}|[^0-9]+|[0-9]+", text)
    return [(0, int(piece)) if piece[0] in "0123456789" else (1, piece) for piece in pieces]


def automatic_net_name(reference: str, pin: str) -> str:
    """Return the name of a net that nobody has named, after one of its pins: ``N_J4_12``."""
    return f"N_{reference}_{pin}"
