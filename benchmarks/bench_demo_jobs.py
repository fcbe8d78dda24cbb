"""How often each ready-made job of a demo pack ends in the right repair.

Goal: at least 95 % of 200 seeds for each job, reported with its exact binomial interval. Where the
evidence allows no more, ``bench_evidence_limit.py`` says so.

Usage: ``python benchmarks/bench_demo_jobs.py [--pack PACK] [SEEDS] [JOB ...]``
"""

from __future__ import annotations

import argparse
import os
from concurrent.futures import ProcessPoolExecutor

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from nextprobe.job.shelf import shelf_from
from nextprobe.trials.play import Played, play
from nextprobe.trials.ready import job_device, open_job
from nextprobe.trials.score import score
from nextprobe.trials.strategies import Advised

CHUNK = 10


def played(pack: str, name: str, seeds: range) -> list[Played]:
    shelf, _ = shelf_from(pack)
    case, advised = open_job(shelf, name), Advised()
    return [play(case, job_device(shelf, case, name, seed), advised) for seed in seeds]


def main(pack: str, seeds: int, names: list[str]) -> None:
    shelf, _ = shelf_from(pack)
    with ProcessPoolExecutor() as pool:
        for name in names or list(shelf.pack.jobs):
            parts = [range(first, min(first + CHUNK, seeds)) for first in range(0, seeds, CHUNK)]
            every = [pack] * len(parts), [name] * len(parts), parts
            jobs = [job for part in pool.map(played, *every) for job in part]
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
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pack", default="courier-handheld")
    parser.add_argument("seeds", nargs="?", type=int, default=200)
    parser.add_argument("jobs", nargs="*")
    asked = parser.parse_args()
    main(asked.pack, asked.seeds, asked.jobs)
