"""How often each ready-made job of a demo pack ends in the right repair.

Goal: at least 95 % of 200 seeds for each job, reported with its exact binomial interval. Where the
evidence allows no more, ``bench_evidence_limit.py`` says so.

Usage: ``python benchmarks/bench_demo_jobs.py [--pack PACK] [SEEDS] [JOB ...]``
"""

from __future__ import annotations

import os
from concurrent.futures import ProcessPoolExecutor

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from jobs_asked import Asked, asked

from nextprobe.job.shelf import shelf_from
from nextprobe.trials.outcome import Outcome, outcome_of
from nextprobe.trials.play import play
from nextprobe.trials.ready import job_device, open_job
from nextprobe.trials.score import score
from nextprobe.trials.strategies import Advised

CHUNK = 10


def played(pack: str, name: str, seeds: range) -> list[Outcome]:
    shelf, _ = shelf_from(pack)
    case, advised = open_job(shelf, name), Advised()
    devices = (job_device(shelf, case, name, seed) for seed in seeds)
    return [outcome_of(play(case, device, advised)) for device in devices]


def main(wanted: Asked) -> None:
    shelf, _ = shelf_from(wanted.pack)
    seeds = wanted.seeds
    parts = [range(first, min(first + CHUNK, seeds)) for first in range(0, seeds, CHUNK)]
    with ProcessPoolExecutor() as pool:
        for name in wanted.names(shelf):
            every = [wanted.pack] * len(parts), [name] * len(parts), parts
            found = score([job for part in pool.map(played, *every) for job in part])
            right = found.right
            print(
                f"{name}: right repair in {right.count} of {right.total} "
                f"({100 * right.low:.1f} to {100 * right.high:.1f} %), "
                f"cost {found.cost.value:.1f} ± {found.cost.half_width:.1f}, "
                f"{found.minutes.value:.0f} min, {found.steps:.1f} steps, "
                f"wrong {found.wrong.count}, not closed {found.given_up.count}, "
                f"sold in vain {found.sold_in_vain}",
                flush=True,
            )


if __name__ == "__main__":
    main(asked(__doc__, seeds=200))
