"""All packs, prices and worlds in turn: how good the advice is, beside its goals.

Each rehearsal is one call of ``nextprobe rehearse``; it goes on where it was stopped, since what
has been played is kept in FOLDER. ``--show`` only reads what is there. Goals: of the gap between
the best static order and perfect knowledge 70 % closed; wrong repairs at most a quarter of those of
the trade's order, with no more jobs given up; debiased calibration error 0.01 in the world that
the packs describe and 0.05 in every other one, over 20,000 forecasts at least.

Usage: ``python benchmarks/yardstick.py [--devices N] [--pack PACK ...] [--show] FOLDER``
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

PACKS = ("courier-handheld", "ferry-terminal", "field-recorder")
PRICES = (1.0, 0.5, 2.0)
WORLDS = (
    "clamps",
    "heavy tails",
    "other meter",
    "rates times three",
    "slips",
    "temperature",
    "biased",
    "everything",
)
COMPARED = "nextprobe,fixed_order,best_static,informed_order,informed_static,perfect_knowledge"
GAP, FORECASTS, MATCHED_ERROR, OTHER_ERROR = 0.70, 20_000, 0.01, 0.05


@dataclass(frozen=True)
class Run:
    """One rehearsal: `prices` counts in the world that the pack describes."""

    pack: str
    world: str = "matched"
    prices: float = 1.0

    @property
    def name(self) -> str:
        """What its files are called."""
        return f"{self.pack} {self.world} {self.prices:g}".replace(" ", "-")

    def command(self, devices: int, folder: Path, processes: int) -> list[str]:
        """Return the call; other worlds are asked only how well chances come true."""
        compared = self.world == "matched"
        call = [str(Path(sys.executable).with_name("nextprobe")), "rehearse", self.pack, "--json"]
        call += ["--devices", str(devices), "--world", self.world, "--prices", f"{self.prices:g}"]
        call += ["--strategies", COMPARED if compared else "nextprobe,fixed_order"]
        call += ["--training", "8", "--tries", "24", "--processes", str(processes)]
        return [*call, "--resume", str(folder / f"{self.name}.jsonl")]


def runs(packs: tuple[str, ...]) -> Iterator[Run]:
    """Yield all rehearsals, those at plain prices first."""
    for prices in PRICES:
        yield from (Run(pack, prices=prices) for pack in packs)
    for world in WORLDS:
        yield from (Run(pack, world) for pack in packs)


def played(run: Run, devices: int, folder: Path, processes: int) -> None:
    found = subprocess.run(
        run.command(devices, folder, processes),
        check=False,
        stdout=subprocess.PIPE,
        env=os.environ | {"OPENBLAS_NUM_THREADS": "1"},
    )
    if found.returncode:
        sys.exit(f"{run.name} stopped with {found.returncode}")
    (folder / f"{run.name}.json").write_bytes(found.stdout)


def shown(run: Run, data: dict[str, Any]) -> tuple[str, bool]:
    """Return the line of a table, and whether all goals were reached."""
    by_name, error = data["strategies"], data["calibration"]
    ours, trade = by_name["nextprobe"], by_name["fixed_order"]
    given_up = [each["declined"] + each["escalated"] for each in (ours, trade)]
    limit = MATCHED_ERROR if run.world == "matched" else OTHER_ERROR
    good = [
        ours["wrong_repairs"] <= trade["wrong_repairs"] / 4,
        given_up[0] <= given_up[1],
        error["ece_debiased"] <= limit,
        error["n"] >= FORECASTS,
    ]
    gap = informed = "–"
    if run.world == "matched":
        good.append(data["gap_closed"] >= GAP)
        gap, informed = (closed(data, name) for name in ("gap", "informed_gap"))
    band = " to ".join(f"{each:.4f}" for each in error["ece_band"])
    parts = [
        run.pack,
        run.world,
        f"× {run.prices:g}",
        str(data["devices"]),
        f"{ours['mean_cost']:.0f} / {trade['mean_cost']:.0f}",
        gap,
        informed,
        f"{ours['wrong_repairs']} / {trade['wrong_repairs']}",
        " / ".join(map(str, given_up)),
        f"{error['ece_debiased']:.4f} ({band})",
        f"{error['n']:,}",
        "reached" if all(good) else "missed",
    ]
    return f"| {' | '.join(parts)} |", all(good)


def closed(data: dict[str, Any], name: str) -> str:
    """Return a gap that is closed, with its interval."""
    low, high = data[f"{name}_ci95"] or (float("nan"),) * 2
    return f"{data[f'{name}_closed']:.0%} ({low:.0%} to {high:.0%})"


HEAD = (
    "pack",
    "world",
    "prices",
    "devices",
    "cost, ours / trade",
    "gap closed",
    "of informed orders",
    "wrong, ours / trade",
    "given up, ours / trade",
    "calibration error",
    "forecasts",
    "goals",
)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--devices", type=int, default=120)
    parser.add_argument("--pack", action="append", default=[])
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--show", action="store_true")
    asked = parser.parse_args()
    asked.folder.mkdir(parents=True, exist_ok=True)
    wanted = tuple(asked.pack) or PACKS
    reached = True
    print(f"| {' | '.join(HEAD)} |\n|{'---|' * len(HEAD)}")
    for run in runs(wanted):
        kept = asked.folder / f"{run.name}.json"
        if not asked.show and not kept.exists():
            played(run, asked.devices, asked.folder, asked.processes)
        if kept.exists():
            line, good = shown(run, json.loads(kept.read_text()))
            reached &= good
            print(line, flush=True)
    sys.exit(0 if reached else 1)


if __name__ == "__main__":
    main()
