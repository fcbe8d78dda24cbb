"""SPICE decks of a board with a fault under a meter, many run by one ngspice process.

The netlist is that of `nextprobe.trials.independent.netlist`, with parts as everybody assumes them:
it shares the numbers of `nextprobe.circuit.defaults` with the code under test, and nothing else.
Faults are worked into the netlist there a second time, and ngspice has its own diode equations.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from math import exp
from pathlib import Path

import pytest

from nextprobe.board import (
    OVER_RANGE,
    ZERO_CELSIUS,
    BenchSetup,
    Board,
    Fault,
    MeterMode,
    MeterRange,
    OverRange,
)
from nextprobe.circuit.meter import LIMIT_SERIES, LIMIT_WIDTH
from nextprobe.trials.independent.deck import meter_cards
from nextprobe.trials.independent.netlist import Netlist
from nextprobe.trials.independent.parts import UsualParts


@dataclass
class Deck:
    """A board with one thing wrong under a meter.

    Parameters
    ----------
    board : Board
        What is exported.
    fault : Fault or None
        The one thing that is wrong.
    setup, meter_range
        The meter.
    """

    board: Board
    fault: Fault | None
    setup: BenchSetup
    meter_range: MeterRange

    def text(self, point: str) -> str:
        """Return the deck with the free lead on `point`, whose node is called ``probe``."""
        faults = () if self.fault is None else (self.fault,)
        net = Netlist(self.board, faults, UsualParts())
        net.write(self.setup.clamped, self.setup.removed)
        lead = f"Vlead probe {net.node(net.under(point))} 0"
        celsius = self.setup.temperature - ZERO_CELSIUS
        options = f".options tnom=25 temp={celsius:.6g} rshunt=1e12"
        meter = meter_cards(self.setup, self.meter_range)
        return "\n".join(["* deck", *net.lines, lead, *meter, *net.models, options, ".end", ""])


def require_ngspice() -> str:
    """Return the path of ngspice; skips the test without it, fails it on continuous integration."""
    path = shutil.which("ngspice")
    if path is None:
        if os.environ.get("CI"):
            pytest.fail("ngspice is not installed")
        pytest.skip("ngspice is not installed")
    return path


def run_decks(decks: Sequence[str], folder: Path) -> list[float]:
    """Return the voltage of ``probe`` in each deck [V], from one ngspice process."""
    script = ["* all decks", "R1 1 0 1", ".control", "set numdgt=12"]
    for number, deck in enumerate(decks):
        (folder / f"deck{number}.cir").write_text(deck)
        script += [f"source deck{number}.cir", "op", f"echo DECK {number}", "print v(probe)"]
        script += ["destroy all", "remcirc"]
    (folder / "all.cir").write_text("\n".join([*script, "quit", ".endc", ".end", ""]))
    command = [require_ngspice(), "-b", "all.cir"]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    found = dict(re.findall(r"DECK (\d+)\s+v\(probe\) = (\S+)", done.stdout))
    missing = [number for number in range(len(decks)) if str(number) not in found]
    assert not missing, f"no answer for decks {missing[:9]}: {done.stderr[-2000:]}"
    return [float(found[str(number)]) for number in range(len(decks))]


def shown(volts: float, meter_range: MeterRange) -> float | OverRange:
    """Return what the meter shows at a voltage of the probe, from the same rules once more."""
    size = abs(volts)
    if meter_range.mode is not MeterMode.DIODE:
        current = meter_range.test_current
        limit = current * exp(-meter_range.compliance / LIMIT_WIDTH)
        lost = limit * (exp(size / LIMIT_WIDTH) - 1)
        lost = limit * (exp((size - lost * LIMIT_SERIES) / LIMIT_WIDTH) - 1)
        outside = current - lost - size / meter_range.load
        size = size / outside if outside > 0 else float("inf")
    return OVER_RANGE if size > meter_range.full_scale else size
