"""How well a reading is predicted once its siblings on the same chip have been read.

Devices with a fault drawn from the pack's rates, no reading of a good board. On each, the signal
nets of one chip that have one role are read in an order of chance, and each reading is predicted
from those before it. Goal, in the world whose clamps are as published: of the 95 % intervals of
readings with three siblings or more before them 93 to 97 % hold, half as wide as 40 mV or less in
the median. The spread of predictions without siblings stands beside it.

Usage: ``python benchmarks/bench_siblings.py [DEVICES] [WORLD ...]``
"""

from __future__ import annotations

import os
import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from nextprobe.board import Board, PartKind, Role
from nextprobe.diagnosis import Case, Move
from nextprobe.diagnosis.measuring import Measurement
from nextprobe.job.shelf import shelf_from
from nextprobe.readers.ngspice import run_ngspice
from nextprobe.trials.checkpoints import bounds, interval
from nextprobe.trials.coverage import Interval, coverage
from nextprobe.trials.independent.worlds import world_named
from nextprobe.trials.pit import uniformity
from nextprobe.trials.ready import Shelf, drawn_candidate

PACKS = ("courier-handheld", "ferry-terminal")
SIGNALS = (Role.LANE, Role.OPEN_DRAIN, Role.LOGIC, Role.CLOCK, Role.ANALOGUE)
SIBLINGS, MOST_READ = 3, 8
Found = dict[bool, list[tuple[Interval, float]]]


def classes_of(board: Board) -> dict[tuple[str, str], list[str]]:
    """Return the signal nets by chip and role."""
    found: dict[tuple[str, str], list[str]] = defaultdict(list)
    for part in board.parts:
        if part.kind is PartKind.CHIP:
            for net in dict.fromkeys(pin.net for pin in part.pins):
                if board.role(net) in SIGNALS:
                    found[part.reference, board.role(net).value].append(net)
    return {key: nets for key, nets in found.items() if len(nets) > SIBLINGS}


def predicted(shelf: Shelf, complaint: str, seed: int) -> Iterator[tuple[int, Interval, float]]:
    """Yield siblings read before, whether the interval held, and the place of the reading."""
    rng = np.random.default_rng([seed, 1])
    case: Case = shelf.case(complaint)
    device = shelf.device(case, drawn_candidate(case, rng), seed)
    assert shelf.board is not None
    groups = classes_of(shelf.board)
    nets = groups[sorted(groups)[int(rng.integers(len(groups)))]]
    for count, net in enumerate(rng.permutation(nets)[:MOST_READ]):
        item = Measurement(str(net))
        reading = device.answer(item.act()).reading
        if reading is None:
            continue
        held = interval(case, item, reading.value)
        low, high = bounds(case, item, reading.value)
        if held is not None:
            yield count, held, low + float(rng.random()) * (high - low)
        case = case.after(Move(item.act(), reading=reading))


def measured(world: str, devices: int) -> Found:
    found: Found = {False: [], True: []}
    for number, pack in enumerate(PACKS):
        shelf, _ = shelf_from(pack)
        shelf = replace(shelf, world=world_named(world), simulator=run_ngspice, references={})
        complaints = sorted(shelf.pack.functions)
        for seed in range(number, devices, len(PACKS)):
            made = replace(shelf.of_a_type(seed), references={})
            for count, held, place in predicted(made, complaints[seed % len(complaints)], seed):
                if count == 0 or count >= SIBLINGS:
                    found[count >= SIBLINGS].append((held, place))
    return found


def main(devices: int, worlds: list[str]) -> None:
    for world in worlds:
        print(f"{world}: {devices} devices")
        for siblings, rows in measured(world, devices).items():
            if not rows:
                continue
            told = coverage([held for held, _ in rows])["diode"]
            even = uniformity([place for _, place in rows])
            name = f"after {SIBLINGS} siblings or more" if siblings else "before any reading"
            held, n = told.covered, len(rows)
            print(
                f"  {name:28} {held.value:6.1%} ({held.low:.1%} to {held.high:.1%}) of {n}, "
                f"half-width {1e3 * told.half_width:5.1f} mV, PIT {even.histogram}",
                flush=True,
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200, sys.argv[2:] or ["matched", "clamps"])
