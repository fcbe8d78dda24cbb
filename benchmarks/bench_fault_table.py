"""Time of a fault table, and of ngspice on the same solves, side by side in one run.

Prints CPU seconds of the whole table of the generated board and of the demo pack's board; then,
for a sample of the pairs that the table stores, CPU seconds per solve of ngspice (small decks
sourced one after the other in one process, its run only), of the plain solver, and of the table
per stored pair; and the largest difference between table and ngspice.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent / "tests" / "support"))

from circuit_board import generated_board
from circuit_spice import Deck, run_decks, shown

import nextprobe
from nextprobe.board import BenchSetup, Board, Fault, Meter, MeterMode, OverRange
from nextprobe.circuit import Circuit, FaultTable, fault_table
from nextprobe.readers.pack_folder import read_pack_folder

SETUP = BenchSetup()
RANGE = Meter().range_for(MeterMode.DIODE)
PAIRS = 400


def demo_board() -> Board:
    packs = Path(nextprobe.__file__).parent / "packs" / "demo"
    folder, _ = read_pack_folder(packs / "courier-handheld")
    if folder is None or folder.board is None:
        raise SystemExit("the demo pack has no board")
    return folder.board


def stored_pairs(table: FaultTable, board: Board) -> list[tuple[str, Fault]]:
    """Return a sample of pairs that move a reading, each node once."""
    shifts = table.shifts.tocoo()
    nodes = [table.points.index(board.net_of(point)) for point in table.points]
    keep = [i for i, row in enumerate(shifts.row) if nodes[row] == row]
    chosen = np.random.default_rng(0).choice(keep, min(PAIRS, len(keep)), replace=False)
    return [(table.points[shifts.row[i]], table.faults[shifts.col[i]]) for i in chosen]


def children_seconds() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def compare(name: str, board: Board) -> None:
    start = time.process_time()
    table, _ = fault_table(board, SETUP, RANGE)
    spent = time.process_time() - start
    size = f"{len(board.parts)} parts, {len(board.nets)} nets"
    print(f"{name}: {size}, {len(table.points)} points, {len(table.faults)} faults")
    print(f"  whole table          {spent:8.3f} s, {table.shifts.nnz} stored entries")
    pairs = stored_pairs(table, board)
    decks = [Deck(board, fault, SETUP, RANGE).text(point) for point, fault in pairs]
    with tempfile.TemporaryDirectory() as folder:
        before = children_seconds()
        volts = run_decks(decks, Path(folder))
        spice = (children_seconds() - before) / len(pairs)
    start = time.process_time()
    for point, fault in pairs:
        Circuit(board, SETUP, RANGE, (fault,)).readings([point])
    plain = (time.process_time() - start) / len(pairs)
    per_entry = spent / table.shifts.nnz
    print(f"  ngspice              {spice * 1e3:8.3f} ms a solve ({len(pairs)} solves)")
    print(f"  plain prediction     {plain * 1e3:8.3f} ms, {spice / plain:.1f} times as fast")
    print(
        f"  table, per entry     {per_entry * 1e3:8.3f} ms, {spice / per_entry:.0f} times as fast"
    )
    differences = []
    for (point, fault), volt in zip(pairs, volts, strict=True):
        ours, theirs = table.value(point, fault), shown(volt, RANGE)
        if isinstance(ours, OverRange) or isinstance(theirs, OverRange):
            differences.append(0.0 if ours is theirs else float("inf"))
        else:
            differences.append(abs(ours - theirs))
    print(f"  largest difference   {max(differences) * 1e3:8.4f} mV")


if __name__ == "__main__":
    compare("generated board", generated_board())
    compare("demo board", demo_board())
