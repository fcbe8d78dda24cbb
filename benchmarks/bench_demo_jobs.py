"""How often each ready-made job of the demo pack ends in the right repair.

Goal: at least 95 % of 200 seeds for each job, reported with its exact binomial interval.

Usage: ``python benchmarks/bench_demo_jobs.py [SEEDS] [JOB ...]``
"""

from __future__ import annotations

import os
import sys
from concurrent.futures import ProcessPoolExecutor

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from nextprobe.job.shelf import shelf_from
from nextprobe.trials.play import Played, play
from nextprobe.trials.ready import job_device, open_job
from nextprobe.trials.score import score
from nextprobe.trials.strategies import Advised

PACK = "courier-handheld"
CHUNK = 10


def played(name: str, seeds: range) -> list[Played]:
    shelf, _ = shelf_from(PACK)
    case, advised = open_job(shelf, name), Advised()
    return [play(case, job_device(shelf, case, name, seed), advised) for seed in seeds]


def main(seeds: int, names: list[str]) -> None:
    shelf, _ = shelf_from(PACK)
    with ProcessPoolExecutor() as pool:
        for name in names or list(shelf.pack.jobs):
            parts = [range(first, min(first + CHUNK, seeds)) for first in range(0, seeds, CHUNK)]
            jobs = [job for part in pool.map(played, [name] * len(parts), parts) for job in part]
            found = score(jobs)
            right = found.right
            print(
                f"{name}: right repair in {right.count} of {right.total} "
                f"({100 * right.low:.1f} to {100 * right.high:.1f} %), "
                f"cost {found.mean_cost:.1f} ± {found.half_width:.1f}, "
                f"{found.mean_minutes:.0f} min, {found.mean_steps:.1f} steps, "
                f"wrong {found.wrong.count}, not closed {found.declined.count}, "
                f"sold in vain {found.sold_in_vain}",
                flush=True,
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200, sys.argv[2:])
