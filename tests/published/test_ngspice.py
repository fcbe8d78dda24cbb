"""The fault table against ngspice, fault by fault.

ngspice, the open-source circuit simulator that descends from Berkeley SPICE 3f5 (Debian package
`ngspice`; https://ngspice.sourceforge.io), run with its default tolerances on decks that
`nextprobe.trials.independent` writes from the board on its own. Every fault kind is covered.
Agreement is asked to 1 mV in diode mode, 0.5 % in resistance modes, with over-range the same.

ngspice raises saturation currents below 1e-28 A to that value, so that its soft limit starts a
tenth of a volt early; that is far above the display's full scale and changes no reading.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from circuit_board import generated_board
from circuit_spice import Deck, require_ngspice, run_decks, shown

import nextprobe
from nextprobe.board import (
    ELECTRICAL,
    BenchSetup,
    Board,
    Fault,
    Meter,
    MeterMode,
    OverRange,
)
from nextprobe.circuit import FaultTable, enumerate_faults, fault_table
from nextprobe.readers.pack_folder import read_pack_folder

DEMO = Path(nextprobe.__file__).parent / "packs" / "demo" / "courier-handheld"


def demo_board() -> Board:
    folder, _ = read_pack_folder(DEMO)
    assert folder is not None
    assert folder.board is not None
    return folder.board


BOARDS: dict[str, Callable[[], Board]] = {"generated": generated_board, "demo": demo_board}


@dataclass(frozen=True)
class Case:
    setup: BenchSetup
    per_kind: int
    at_random: int


CASES = {
    "diode": Case(BenchSetup(), 24, 120),
    "diode, hot": Case(BenchSetup(temperature=330.0), 3, 20),
    "diode, other polarity": Case(BenchSetup(clamped_is_positive=False), 6, 20),
    "low ohms": Case(BenchSetup(MeterMode.LOW_OHMS), 6, 20),
    "ohms": Case(BenchSetup(MeterMode.OHMS), 6, 20),
}


def chosen_pairs(table: FaultTable, board: Board, case: Case) -> list[tuple[str, Fault | None]]:
    """Choose pairs of each fault kind that shift a reading, any pairs, and healthy points."""
    rng = np.random.default_rng(20240229)
    clamped = board.net_of(case.setup.clamped)
    moving: dict[str, list[tuple[str, Fault | None]]] = {}
    shifts = table.shifts.tocoo()
    for row, column in zip(shifts.row, shifts.col, strict=True):
        fault, point = table.faults[column], table.points[row]
        if board.net_of(point) != clamped:
            moving.setdefault(fault.kind.value, []).append((point, fault))
    free = [point for point in table.points if board.net_of(point) != clamped]
    pairs: list[tuple[str, Fault | None]] = []
    for _, found in sorted(moving.items()):
        take = rng.choice(len(found), min(case.per_kind, len(found)), replace=False)
        pairs += [found[index] for index in take]
    for _ in range(case.at_random):
        fault = table.faults[rng.integers(len(table.faults))]
        pairs += [(free[rng.integers(len(free))], fault), (free[rng.integers(len(free))], None)]
    return pairs


def sample(board: Board) -> list[Fault]:
    """Return up to 40 faults of each kind, evenly over the board."""
    kinds: dict[str, list[Fault]] = {}
    for fault in enumerate_faults(board):
        kinds.setdefault(fault.kind.value, []).append(fault)
    return [fault for each in kinds.values() for fault in each[:: -(-len(each) // 40)]]


def differs(ours: float | OverRange, theirs: float | OverRange, mode: MeterMode) -> bool:
    if isinstance(ours, OverRange) or isinstance(theirs, OverRange):
        return ours is not theirs
    allowed = 1e-3 if mode is MeterMode.DIODE else max(0.005 * abs(theirs), 1e-3)
    return abs(ours - theirs) > allowed


@pytest.mark.parametrize("name", BOARDS)
def test_both_boards_have_every_electrical_fault(name: str) -> None:
    assert {fault.kind for fault in enumerate_faults(BOARDS[name]())} == ELECTRICAL


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("name", ["demo", pytest.param("generated", marks=pytest.mark.slow)])
def test_table_agrees_with_ngspice(name: str, case: str, tmp_path: Path) -> None:
    require_ngspice()
    board, setup = BOARDS[name](), CASES[case].setup
    meter_range = Meter().range_for(setup.mode)
    table, findings = fault_table(board, setup, meter_range, faults=sample(board))
    assert not findings
    pairs = chosen_pairs(table, board, CASES[case])
    if case == "diode":
        assert len(pairs) >= 300
        possible = {fault.kind for fault in enumerate_faults(board)}
        assert {fault.kind for _, fault in pairs if fault} == possible
    decks = [Deck(board, fault, setup, meter_range).text(point) for point, fault in pairs]
    wrong = []
    for (point, fault), volts in zip(pairs, run_decks(decks, tmp_path), strict=True):
        ours = table.healthy(point) if fault is None else table.value(point, fault)
        theirs = shown(volts, meter_range)
        if differs(ours, theirs, setup.mode):
            wrong.append((point, fault.key if fault else "healthy", ours, theirs))
    assert not wrong
