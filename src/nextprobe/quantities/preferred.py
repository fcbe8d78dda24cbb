"""Preferred values of resistors and capacitors, IEC 60063 (2015)."""

from __future__ import annotations

from math import floor, isclose, log10

E24 = (
    10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91,
)  # fmt: skip


E96 = frozenset(int(100 * 10 ** (step / 96) + 0.5) for step in range(96))


def is_preferred(value: float) -> bool:
    """Whether a value, in any decade, belongs to E24 or E96 of IEC 60063."""
    if value <= 0:
        return value == 0
    hundreds = value / 10.0 ** (floor(log10(value)) - 2)
    nearest = round(hundreds)
    exact = isclose(hundreds, nearest, rel_tol=1e-9)
    return exact and (nearest in E96 or (nearest % 10 == 0 and nearest // 10 in E24))
