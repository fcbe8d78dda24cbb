"""Fault tables that were built before: in memory, and wherever they are kept for longer."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from hashlib import sha256
from threading import Lock
from typing import Protocol

from nextprobe.board import BenchSetup, Board, Fault, MeterRange
from nextprobe.circuit import FaultTable, assumptions, fault_table, table_key
from nextprobe.circuit.live import live_key, live_table
from nextprobe.errors import Finding

Built = tuple[FaultTable, tuple[Finding, ...]]


class TableKeeper(Protocol):
    """Where fault tables outlive the program. It may forget, but never fails and never lies."""

    def load(self, key: str) -> FaultTable | None:
        """Return the table kept under `key`; None if there is none that is whole and current."""

    def save(self, key: str, table: FaultTable) -> None:
        """Keep a table under `key`, if possible."""


class FaultTables:
    """Fault tables by content, so that equal boards are solved only once, whoever asks first.

    Parameters
    ----------
    keeper : TableKeeper or None
        Where tables are looked for before they are built, and kept afterwards.
    """

    def __init__(self, keeper: TableKeeper | None = None) -> None:
        self._keeper = keeper
        self._keys: dict[tuple[object, ...], str] = {}
        self._known: dict[str, Built] = {}
        self._locks: defaultdict[str, Lock] = defaultdict(Lock)

    def get(
        self, board: Board, setup: BenchSetup, meter: MeterRange, faults: tuple[Fault, ...]
    ) -> Built:
        """Return the table of a board for all its points, computing it if need be."""
        key = self._key(board, setup, meter, faults)
        return self._kept_or_built(key, board, setup, meter, faults)

    def few(
        self,
        board: Board,
        setup: BenchSetup,
        meter: MeterRange,
        faults: tuple[Fault, ...],
        points: tuple[str, ...],
    ) -> Built:
        """Return the table of some points under some faults, computing it if need be."""
        key = sha256(f"{self._key(board, setup, meter, faults)} {points}".encode()).hexdigest()
        return self._kept_or_built(key, board, setup, meter, faults, points)

    def live(
        self,
        board: Board,
        meter: MeterRange,
        rails: Mapping[str, float],
        faults: tuple[Fault, ...],
    ) -> FaultTable:
        """Return the table of live rails, computing it if need be."""
        key = live_key(board, meter, rails, faults)
        if key not in self._known:
            kept = self._keeper.load(key) if self._keeper else None
            table = kept or live_table(board, meter, rails, faults)
            if self._keeper and kept is None:
                self._keeper.save(key, table)
            self._known[key] = table, ()
        return self._known[key][0]

    def _key(
        self, board: Board, setup: BenchSetup, meter: MeterRange, faults: tuple[Fault, ...]
    ) -> str:
        asked = board.content, setup, meter, faults
        if asked not in self._keys:
            self._keys[asked] = table_key(board, setup, meter, faults)
        return self._keys[asked]

    def _kept_or_built(  # noqa: PLR0917
        self,
        key: str,
        board: Board,
        setup: BenchSetup,
        meter: MeterRange,
        faults: tuple[Fault, ...],
        points: tuple[str, ...] | None = None,
    ) -> Built:
        with self._locks[key]:
            if key not in self._known:
                kept = self._keeper.load(key) if self._keeper else None
                taken = assumptions(board, setup)
                table, findings = (
                    (kept, taken)
                    if kept is not None
                    else fault_table(board, setup, meter, points, faults)
                )
                self._known[key] = table, findings
                # A table with points that could not be solved is built each time.
                if self._keeper and kept is None and findings == taken:
                    self._keeper.save(key, table)
        return self._known[key]
