"""Make the data of the frozen diagnosis benchmark, or more like them to train on.

Usage: ``python benchmarks/frozen/make.py --out FOLDER [--seed N] [--devices N] [--only PART]``.
The frozen data are never made again: with the seed of v1 the same program gives the same files, but
simulator and packs go on changing. Needs the circuit simulator ngspice.
"""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

from frozen_bench.acts import act_data, acts_offered
from frozen_bench.candidates import candidates_data, prior_data
from frozen_bench.draw_devices import WORLD_COUNTS, drawn_devices
from frozen_bench.draw_problems import drawn_problems
from frozen_bench.files import (
    DEVICES,
    MANIFEST,
    OPTIMA,
    PACKS,
    PROBLEMS,
    TRUTH,
    VERSION,
    digest,
    write,
)
from frozen_bench.optima import known_optimum
from frozen_bench.packs import board_data, known_good_data, pack_data

from nextprobe.job.shelf import shelf_from
from nextprobe.readers.ngspice import run_ngspice
from nextprobe.trials.ready import Shelf

NAMES = ("courier-handheld", "ferry-terminal")
SEED = 20261126


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(description="Make data like those of the benchmark.")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--devices", type=int, default=sum(WORLD_COUNTS.values()),
                        help="of each pack")  # fmt: skip
    parser.add_argument("--only", choices=("planning", "devices"))
    asked = parser.parse_args(arguments)
    if asked.only != "devices":
        make_problems(asked.out, asked.seed)
    if asked.only != "planning":
        make_devices(asked.out, asked.seed, asked.devices)
    names = [name for name in (PROBLEMS, OPTIMA, PACKS, DEVICES, TRUTH)
             if (asked.out / name).exists()]  # fmt: skip
    about = {"version": VERSION, "seed": asked.seed}
    hashes = {name: digest(asked.out / name) for name in names}
    write(MANIFEST, {**about, "sha256": hashes}, asked.out)
    return 0


def make_problems(folder: Path, seed: int) -> None:
    """Draw the planning problems, and find their optima."""
    problems = list(drawn_problems(seed))
    write(PROBLEMS, problems, folder)
    optima = {}
    for data in problems:
        optima[data["id"]] = known_optimum(data)
        print(data["id"], data["family"], optima[data["id"]], flush=True)
    write(OPTIMA, optima, folder)


def make_devices(folder: Path, seed: int, count: int) -> None:
    """Draw the devices of both packs."""
    packs: dict[str, Any] = {}
    devices, truth = [], {}
    for place, name in enumerate(NAMES):
        shelf, _ = shelf_from(name)
        packs[name] = _pack(shelf)
        for drawn in drawn_devices(shelf, name, count, seed + place, run_ngspice):
            devices.append(drawn.public)
            truth[drawn.public["id"]] = drawn.truth
            print(drawn.public["id"], drawn.truth, flush=True)
    write(PACKS, packs, folder)
    write(DEVICES, devices, folder)
    write(TRUTH, truth, folder)


def _pack(shelf: Shelf) -> dict[str, Any]:
    assert shelf.board is not None
    return {
        "pack": pack_data(shelf.pack),
        "board": board_data(shelf.board),
        "known_good": known_good_data(shelf.references),
        "complaints": {name: _complaint(shelf, name) for name in shelf.pack.functions},
    }


def _complaint(shelf: Shelf, complaint: str) -> dict[str, Any]:
    case = shelf.case(complaint)
    histories = [(), *((name,) for name in sorted(shelf.pack.history))]
    return {
        "acts": [act_data(act) for act in acts_offered(case)],
        "candidates": candidates_data(case),
        "prior": {
            "+".join(history): prior_data(shelf.case(complaint, history)) for history in histories
        },
    }


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
