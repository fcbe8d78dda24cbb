"""Units, SI prefixes and numbers written for people.

Prefixes are those of the SI (BIPM, The International System of Units, 9th edition, table 7) that
occur on circuit boards.
"""

from __future__ import annotations

from decimal import Decimal
from math import isfinite
from typing import Literal

from nextprobe.errors import MisuseError

Unit = Literal["ohm", "farad", "henry", "volt"]

SYMBOLS: dict[Unit, str] = {"ohm": "Ω", "farad": "F", "henry": "H", "volt": "V"}
PREFIXES = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G", 12: "T"}


def format_value(value: float, unit: Unit, digits: int = 3) -> str:
    """Write a value for people, as in ``4.7 kΩ``, ``100 nF`` or ``0.452 V``.

    Parameters
    ----------
    value : float
        In SI units.
    unit : Unit
        Volts are written as a meter shows them, with three decimals and no prefix.
    digits : int
        Significant digits of everything but volts.

    Raises
    ------
    MisuseError
        If the value is not finite.
    """
    if not isfinite(value):
        raise MisuseError(f"{value} is not a value that can be written")
    if unit == "volt":
        return f"{value:z.3f} V"
    rounded = Decimal(f"{value:.{digits - 1}e}")
    mantissa, exponent = _engineering(rounded)
    return f"{mantissa} {PREFIXES[exponent]}{SYMBOLS[unit]}"


def exact_text(value: float, unit: Unit) -> str:
    """Write a value so that reading it back gives the same float, as in ``4.7kΩ``.

    Raises
    ------
    MisuseError
        If the value is not finite.
    """
    if not isfinite(value):
        raise MisuseError(f"{value} is not a value that can be written")
    mantissa, exponent = _engineering(Decimal(repr(value)))
    return f"{mantissa}{PREFIXES[exponent]}{SYMBOLS[unit]}"


def _engineering(number: Decimal) -> tuple[str, int]:
    if not number:
        return "0", 0
    exponent = min(max(3 * (number.adjusted() // 3), min(PREFIXES)), max(PREFIXES))
    text = f"{number.scaleb(-exponent):f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text), exponent
