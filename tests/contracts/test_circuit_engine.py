"""Kept fault tables are good for one version of the engine: `ENGINE` is raised when readings move.

`circuit_engine.json` holds, for one small board, the sum over its nets of what the meter shows
under each fault. After a change that is meant to move readings, raise `ENGINE` in
`nextprobe.circuit.key` and write the file anew: `python tests/contracts/test_circuit_engine.py`
with `PYTHONPATH=tests/support`.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from circuit_small import BOARD

from nextprobe.board import BenchSetup, Meter, MeterMode
from nextprobe.circuit import ENGINE, enumerate_faults, fault_table

RECORDED = Path(__file__).with_name("circuit_engine.json")
MODES = (MeterMode.DIODE, MeterMode.OHMS, MeterMode.CAPACITANCE)


def sums(mode: MeterMode) -> dict[str, float]:
    """Return the sum of readings by fault [V, ohm or F]; over-range counts as full scale."""
    faults = enumerate_faults(BOARD)
    table, _ = fault_table(
        BOARD, BenchSetup(mode), Meter().range_for(mode), tuple(BOARD.nets), faults
    )
    rows = [table.row(net)[0] for net in table.points]
    return {
        fault.key: float(f"{sum(row[i] for row in rows):.6g}") for i, fault in enumerate(faults)
    }


def test_the_record_is_of_this_engine() -> None:
    assert json.loads(RECORDED.read_text("utf-8"))["engine"] == ENGINE


@pytest.mark.parametrize("mode", MODES)
def test_readings_of_one_engine_do_not_move(mode: MeterMode) -> None:
    recorded = json.loads(RECORDED.read_text("utf-8"))[mode.value]
    moved = {
        fault: (recorded.get(fault), found)
        for fault, found in sums(mode).items()
        if found != pytest.approx(recorded.get(fault), rel=3e-5)
    }
    assert not moved, "raise ENGINE and write the record anew; see the top of this file"


if __name__ == "__main__":
    record = {"engine": ENGINE, **{mode.value: sums(mode) for mode in MODES}}
    RECORDED.write_text(json.dumps(record, indent=1) + "\n", "utf-8")
