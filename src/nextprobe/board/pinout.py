"""A connector's pins as somebody wrote them down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from nextprobe.board.kinds import Role
from nextprobe.board.reading import OverRange
from nextprobe.errors import MisuseError


@dataclass(frozen=True)
class PinRow:
    """One pin of a connector.

    Parameters
    ----------
    connector, pin : str
        As in ``J4`` and ``12``.
    name : str
        What the pin is called; empty where nobody has said.
    good : float or OverRange or None
        Reading of a board known to work, in diode mode [V].
    role : Role or None
        Where the text states it (``gnd``, ``nc`` or a column of roles).
    line : int or None
        Line that it came from, counted from 1.
    """

    connector: str
    pin: str
    name: str = ""
    good: float | OverRange | None = None
    role: Role | None = None
    line: int | None = None

    @property
    def point(self) -> str:
        """Name of the pin on the board, as in ``J4.12``."""
        return f"{self.connector}.{self.pin}"


@dataclass(frozen=True)
class PinTable:
    """Pins of one or more connectors, each once."""

    rows: tuple[PinRow, ...] = ()

    def __post_init__(self) -> None:
        if len(self.by_point) != len(self.rows):
            raise MisuseError("a pin table names each pin once")

    @cached_property
    def by_point(self) -> Mapping[str, PinRow]:
        """Rows by their point, as in ``J4.12``."""
        return {row.point: row for row in self.rows}

    @property
    def connectors(self) -> tuple[str, ...]:
        """Connectors in the order of their first pin."""
        return tuple(dict.fromkeys(row.connector for row in self.rows))

    def of(self, connector: str) -> tuple[PinRow, ...]:
        """Return the pins of one connector."""
        return tuple(row for row in self.rows if row.connector == connector)
