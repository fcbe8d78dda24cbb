"""Protocols for readers of what people type: pinouts and chains."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from nextprobe.board import Board, PinTable
from nextprobe.errors import Finding


class PinoutReader(Protocol):
    """Reads a pinout; `connector` is that of pins written without one."""

    def __call__(
        self, text: str, connector: str = ..., source: str = ...
    ) -> tuple[PinTable, tuple[Finding, ...]]:
        """Return the pins that could be read, and what is wrong with the rest."""


class ChainReader(Protocol):
    """Reads chains, onto a board if there is one."""

    def __call__(
        self, text: str, source: str = ..., onto: Board | None = ...
    ) -> tuple[Board, tuple[Finding, ...]]:
        """Return the board with what could be read, and what is wrong with the rest."""


@dataclass(frozen=True)
class TextReaders:
    """The readers that a workbench is given.

    Parameters
    ----------
    pinout : PinoutReader
    chains : ChainReader
    """

    pinout: PinoutReader
    chains: ChainReader
