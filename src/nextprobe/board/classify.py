"""What a part is, from all that a file says of it: designator, value, pins, footprint, symbol.

Class letters of IEEE Std 315-1975 come first (`nextprobe.board.naming`). Where they are silent or
stand for several things, names of footprints and symbols decide (words of common libraries and of
IPC-7351B, table 3-15), then names of pins, then the unit of the value. Families of part numbers
are common practice, no published source.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from nextprobe.board.kinds import PartKind
from nextprobe.board.naming import kind_from_designator, unit_of_kind
from nextprobe.errors import Finding
from nextprobe.quantities import parse_value


@dataclass(frozen=True)
class KindGuess:
    """A kind with what speaks for it.

    Parameters
    ----------
    kind : PartKind
        `PartKind.OTHER` where nothing speaks for any.
    reason : str
        For the technician.
    confidence : float
        Rough probability that the kind is right [1].
    """

    kind: PartKind
    reason: str
    confidence: float


@dataclass(frozen=True)
class Classified:
    """What a part is, and its value.

    Parameters
    ----------
    guess : KindGuess
        What it is.
    value : float or None
        Main value [ohm, farad or henry]; None where there is none or it can not be read.
    not_fitted : bool
        Whether the text of the value says that the part is left out.
    finding : Finding or None
        Why there is no value where there should be one.
    """

    guess: KindGuess
    value: float | None
    not_fitted: bool
    finding: Finding | None


_MORE_LETTERS: Mapping[str, PartKind] = MappingProxyType(
    {
        "AE": PartKind.OTHER, "CONN": PartKind.CONNECTOR, "CP": PartKind.CAPACITOR,
        "FTG": PartKind.OTHER, "FUSE": PartKind.FERRITE, "HOLE": PartKind.OTHER,
        "LD": PartKind.DIODE, "MT": PartKind.OTHER, "MTG": PartKind.OTHER, "NT": PartKind.OTHER,
        "OSC": PartKind.CHIP, "PB": PartKind.SWITCH, "PCB": PartKind.OTHER,
        "POT": PartKind.RESISTOR, "RA": PartKind.RESISTOR, "RP": PartKind.RESISTOR,
        "RR": PartKind.RESISTOR, "SJ": PartKind.CONNECTOR, "TR": PartKind.OTHER,
        "XTAL": PartKind.CRYSTAL, "XT": PartKind.CRYSTAL,
    }
)  # fmt: skip
"""Letters that chains do not take for parts, and files use all the same (common practice)."""

_NO_PART = re.compile(
    r"mounting[ _-]?hole(?!s)|fiducial|logo|net[ _-]?tie|stitching|antenna|test[ _-]?coupon",
    re.IGNORECASE,
)
_PROTECTING = re.compile(
    r"(?<![A-Z])(?:TVS|P?ESD[A-Z0-9]|USBLC|PRTR|TPD\d|R?CLAMP\d|SM712|SRV05|SM[ABCF]J?\d+C?A|P6KE)"
    r"|\d{4}ESD|varistor|\bMOV\b",
    re.IGNORECASE,
)
_BEAD = re.compile(r"bead|ferrite|(?<![A-Z])(?:BLM\d|MPZ\d|BKP?\d{4}|FBM)", re.IGNORECASE)
_SHAPES: tuple[tuple[PartKind, re.Pattern[str]], ...] = tuple(
    (kind, re.compile(words))
    for kind, words in (
        (PartKind.TEST_POINT, r"(?i:test[ _-]?p(?:oint|ad))"),
        (PartKind.RESISTOR, r"(?i:potentiometer|trimmer)"),
        (PartKind.CHIP, r"(?i:oscillator)"),
        (PartKind.CRYSTAL, r"(?i:crystal|xtal|resonator)|^XTAL"),
        (
            PartKind.CONNECTOR,
            r"(?i:pin_?header|pin_?socket|conn(?:ector|_|-)|terminal_?block|jumper|d-?sub-?\d|"
            r"usb_(?:micro|mini|[abc])|\bjst_|screw_?terminal|barrel_?jack|jack_|edge_?conn)",
        ),
        (PartKind.SWITCH, r"(?i:button|push_?switch|switch)|^SW_"),
        (PartKind.FERRITE, r"(?i:ferrite|bead|fuse)|^FB_|^FUS"),
        (PartKind.DIODE, r"(?i:led|diode)(?![a-z])|^D_|^LED|^DIO|^SOD"),
        (PartKind.RESISTOR, r"^R_|^RES[CM]|^Resistor|^R$"),
        (PartKind.CAPACITOR, r"^CP?_|^CAP[CMP]|^Capacitor|^CP?$"),
        (PartKind.INDUCTOR, r"^L_|^IND[CMP]?|^Inductor|^L$"),
    )
)
_SMALL = re.compile(r"SOT|TO-?92|TO-?2\d\d|SC-?70|DPAK", re.IGNORECASE)
_PACKAGE = re.compile(r"QFN|QFP|SOIC|SOP|DIP|BGA|DFN|SON|PLCC|LGA|SOJ|PGA|CSP", re.IGNORECASE)
_HERTZ = re.compile(r"\d\s*[kM]?Hz", re.IGNORECASE)
_LETTERS = re.compile(r"[A-Za-z]+")
_PIN_NAMES = (
    (frozenset({"A", "K"}), PartKind.DIODE),
    (frozenset({"G", "D", "S"}), PartKind.TRANSISTOR),
    (frozenset({"B", "C", "E"}), PartKind.TRANSISTOR),
)
_VAGUE = frozenset({"T", "TR", "X", "K", "B", "A", "G", "M", "W", "E", "VR", "RV", "Z", "H", "MP"})
"""Letters that stand for several kinds of parts."""


def classify(
    reference: str,
    value: str = "",
    pins: Collection[str] = (),
    footprint: str = "",
    symbol: str = "",
) -> Classified:
    """Tell what a part is and what its value is.

    Parameters
    ----------
    reference, value : str
        As in ``L3`` and ``600R@100MHz``.
    pins : collection of str
        One for each pin: what its maker calls it, or its number.
    footprint, symbol : str
        As in ``Resistor_SMD:R_0402_1005Metric`` and ``Device:R``.
    """
    guess = _kind(reference, value, pins, (_leaf(footprint), _leaf(symbol)))
    unit = unit_of_kind(guess.kind)
    if unit is None:
        return Classified(guess, None, parse_value(value).not_fitted, None)
    parsed = parse_value(value, unit)
    return Classified(guess, parsed.value, parsed.not_fitted, parsed.finding)


def _leaf(name: str) -> str:
    return name.rpartition(":")[2]


def _kind(reference: str, value: str, pins: Collection[str], names: tuple[str, str]) -> KindGuess:
    words = " ".join((value, *names))
    if match := _NO_PART.search(words):
        return KindGuess(PartKind.OTHER, f"{match[0]} in its name", 0.95)
    letters = _letters(reference)
    stated = kind_from_designator(reference.upper(), value) or _MORE_LETTERS.get(letters)
    shape = _by_shape((*names, value))
    if stated is None or stated is PartKind.OTHER or letters in _VAGUE:
        return (
            shape
            or _by_package(letters, words, pins)
            or _by_pins(pins)
            or _by_unit(value, words)
            or _by_letters(letters, stated)
        )
    return _narrowed(letters, stated, words, value) or _weighed(letters, stated, shape)


def _letters(reference: str) -> str:
    match = _LETTERS.match(reference)
    return "" if match is None else match[0].upper()


def _by_letters(letters: str, stated: PartKind | None) -> KindGuess:
    if stated is None:
        return KindGuess(PartKind.OTHER, "nothing tells", 0.2)
    return KindGuess(stated, f"letters {letters}", 0.6)


def _by_shape(names: tuple[str, ...]) -> KindGuess | None:
    for kind, pattern in _SHAPES:
        for name in names:
            if match := pattern.search(name):
                return KindGuess(kind, f"{match[0]} in {name}", 0.85)
    return None


def _by_package(letters: str, words: str, pins: Collection[str]) -> KindGuess | None:
    small = _SMALL.search(words)
    if small and letters in ("T", "TR") and len(pins) in (3, 4):
        return KindGuess(PartKind.TRANSISTOR, f"letters {letters} in {small[0]}", 0.8)
    package = small if small and len(pins) >= 3 else _PACKAGE.search(words)
    if package and len(pins) >= 3:
        return KindGuess(PartKind.CHIP, f"package {package[0]}", 0.7)
    return None


def _by_pins(pins: Collection[str]) -> KindGuess | None:
    named = {pin.upper() for pin in pins}
    for names, kind in _PIN_NAMES:
        if names <= named:
            return KindGuess(kind, f"pins {', '.join(sorted(names))}", 0.8)
    return None


def _by_unit(value: str, words: str) -> KindGuess | None:
    if match := _HERTZ.search(words):
        return KindGuess(PartKind.CRYSTAL, f"{match[0]} in its value", 0.7)
    kinds = {
        "ohm": PartKind.RESISTOR, "farad": PartKind.CAPACITOR, "henry": PartKind.INDUCTOR,
    }  # fmt: skip
    kind = kinds.get(parse_value(value).unit or "")
    return KindGuess(kind, "the unit of its value", 0.6) if kind is not None else None


def _narrowed(letters: str, stated: PartKind, words: str, value: str) -> KindGuess | None:
    """Tell special parts by their words, among parts with letters that are less special."""
    if stated is PartKind.FERRITE and letters == "L":
        return KindGuess(stated, f"letters L with {value}", 0.9)
    if stated in (PartKind.INDUCTOR, PartKind.RESISTOR) and (match := _BEAD.search(words)):
        return KindGuess(PartKind.FERRITE, f"letters {letters} with {match[0]}", 0.9)
    if stated in (PartKind.DIODE, PartKind.CHIP) and (match := _PROTECTING.search(words)):
        return KindGuess(PartKind.PROTECTION, f"letters {letters} with {match[0]}", 0.85)
    if stated is PartKind.CRYSTAL and (match := re.search("oscillator", words, re.IGNORECASE)):
        return KindGuess(PartKind.CHIP, f"letters {letters} with {match[0]}", 0.9)
    return None


def _weighed(letters: str, stated: PartKind, shape: KindGuess | None) -> KindGuess:
    reason = f"letters {letters}"
    if shape is None:
        return KindGuess(stated, reason, 0.93)
    if shape.kind is stated:
        return KindGuess(stated, f"{reason} and {shape.reason}", 0.98)
    return KindGuess(stated, f"{reason}, although {shape.reason} suggests {shape.kind.value}", 0.8)
