"""Enter Nextprobe itself: its belief of the devices, and its everyday planner.

Usage: ``python benchmarks/frozen/enter_nextprobe.py [--entry FILE] [--worst N]``. It renews
``scores.json`` and the tables in docs/benchmark.md; the entry itself is written only if asked for.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

from frozen_bench.enter import EVERYDAY_BUDGET, NextprobeBelief
from frozen_bench.entries import devices_by, entry_of, planning_by, scored
from frozen_bench.files import compact
from frozen_bench.published import OURS, publish
from frozen_bench.solver import everyday_planner
from frozen_bench.tables import all_tables


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(description="Enter Nextprobe itself.")
    parser.add_argument("--entry", type=Path, help="where to write the entry")
    parser.add_argument("--worst", type=int, default=8, help="how many bad devices to name")
    asked = parser.parse_args(arguments)
    begun = time.monotonic()
    devices = devices_by(NextprobeBelief(say=_progress))
    _progress("planning")
    planning = planning_by(lambda problem: everyday_planner(problem, EVERYDAY_BUDGET))
    entry = entry_of(OURS, devices=devices, planning=planning)
    if asked.entry is not None:
        asked.entry.write_text(compact(entry), "utf-8")
    found = scored(entry, asked.worst)
    publish(OURS, found)
    print(all_tables({OURS: found}))
    print(f"\nentered in {(time.monotonic() - begun) / 60.0:.1f} min")
    return 0


def _progress(name: str) -> None:
    print(name, file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
