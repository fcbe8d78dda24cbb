"""The unit that a field of a pack is written in, and what to say when somebody writes another."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from pydantic import GetJsonSchemaHandler
from pydantic_core import CoreSchema

_FACTORS: dict[str, dict[str, float]] = {
    "minutes": {
        "s": 1 / 60, "sec": 1 / 60, "second": 1 / 60, "seconds": 1 / 60,
        "m": 1, "min": 1, "mins": 1, "minute": 1, "minutes": 1,
        "h": 60, "hour": 60, "hours": 60, "d": 1440, "day": 1440, "days": 1440,
    },
    "a chance from 0 to 1": {"%": 0.01, "percent": 0.01, "pct": 0.01},
    "millimetres": {"mm": 1, "cm": 10, "m": 1000},
    "volts": {"v": 1, "volt": 1, "volts": 1, "mv": 1e-3},
    "a relative weight": {"%": 1, "x": 1, "×": 1, "times": 1, "percent": 1},
}  # fmt: skip
_MONEY = "money in the currency of the pack"
_QUANTITY = re.compile(r"\s*([^\d.,+-]*)\s*([-+]?\d+(?:[.,]\d+)?)\s*([^\d]*?)\s*")


@dataclass(frozen=True)
class Unit:
    """Marks a number with the unit that it is written in.

    Parameters
    ----------
    name : str
        The words for it, as in ``minutes``.
    """

    name: str

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Add the unit to the published schema."""
        return {**handler(schema), "x-unit": self.name}

    def converted(self, text: str) -> float | None:
        """Return what `text` means in this unit, None if it can not be told.

        Examples
        --------
        >>> MINUTES.converted("1.5 h")
        90.0
        """
        match = _QUANTITY.fullmatch(text)
        if match is None:
            return None
        before, number, after = match.groups()
        value = float(number.replace(",", "."))
        word = (before.strip() or after).lower()
        if not word or self.name == _MONEY:
            return value
        factor = _FACTORS[self.name].get(word)
        return None if factor is None else value * factor


MINUTES = Unit("minutes")
CHANCE = Unit("a chance from 0 to 1")
MONEY = Unit(_MONEY)
MILLIMETRES = Unit("millimetres")
VOLTS = Unit("volts")
FACTOR = Unit("a relative weight")
