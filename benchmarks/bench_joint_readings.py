"""Time of the joint density of readings that share deviations, its forms side by side in one run.

For 2,000 groups, 40 shared quantities and 60 readings, once with a history of its own for every
group and once as on a board where each fault touches a few readings: CPU seconds of

- taking the readings one at a time, which gives the density after each of them;
- the batch by Woodbury's identity, once;
- the batch by the Cholesky factor of the covariance, once;
- either batch after every reading, from the sum over a sample of the lengths;
- straying: sets of up to two, and branches (the latter for the board alone).

Usage: ``python benchmarks/bench_joint_readings.py [GROUPS]``
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from nextprobe.belief import (
    JointModel,
    JointState,
    SharedDeviation,
    Stray,
    enumerate_strays,
    filter_strays,
    joint_log_densities,
)

READINGS, RANK, SAMPLE = 60, 40, (10, 30, 50)


def seconds(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def models(groups: int) -> dict[str, JointModel]:
    """Return predictions of groups with histories all their own, and of a board."""
    rng = np.random.default_rng(0)
    shared = SharedDeviation(
        np.zeros(READINGS), 0.005 * rng.normal(size=(READINGS, RANK)), np.full(READINGS, 1e-6)
    )
    own = rng.uniform(0.3, 1.0, (groups, READINGS))
    means, few = np.full((groups, READINGS), 0.5), np.ones((groups, READINGS))
    for row in range(groups):
        touched = rng.choice(READINGS, rng.integers(1, 4), replace=False)
        means[row, touched] = rng.uniform(0.0, 1.0, touched.size)
        few[row, touched] = rng.choice([0.0, 0.5, 0.9], touched.size)
    return {
        "every group its own": JointModel(shared, means, own, 0.003, limit=2.0),
        "a few readings each": JointModel(shared, means, few, 0.003, limit=2.0),
    }


def dense(model: JointModel) -> JointModel:
    """Return the same with as many shared quantities as readings, which takes the dense way."""
    factor = np.zeros((READINGS, READINGS))
    factor[:, :RANK] = model.shared.factor
    shared = SharedDeviation(model.shared.offset, factor, model.shared.own)
    return JointModel(shared, model.mean, model.inherit, model.deviation, limit=model.limit)


def one_by_one(model: JointModel, values: list[float]) -> JointState:
    state = JointState.before(model.groups, model.shared)
    for column, value in enumerate(values):
        state = state.after(model, column, value)
    return state


def after_each(model: JointModel, values: list[float]) -> float:
    """Return the time of a batch after every reading, from a sample of the lengths."""
    spent = [
        seconds(lambda n=n: joint_log_densities(model.take(np.arange(n)), values[:n]))
        for n in SAMPLE
    ]
    return float(np.mean(spent)) * READINGS


def compare(name: str, model: JointModel) -> None:
    rng = np.random.default_rng(1)
    values = list(0.5 + model.shared.factor @ rng.normal(size=RANK))
    full = dense(model)
    step = seconds(lambda: one_by_one(model, values))
    apart = np.abs(one_by_one(model, values).log_density - joint_log_densities(full, values)).max()
    print(f"{name}: largest difference of the log densities {apart:.1e}")
    print(f"  one at a time, all {READINGS}   {step:7.2f} s  1")
    for form, batch in (("Woodbury", model), ("Cholesky", full)):
        once, each = (
            seconds(lambda b=batch: joint_log_densities(b, values)),
            after_each(batch, values),
        )
        print(f"  {form} batch, once     {once:7.2f} s  {once / step:.2f}")
        print(f"  {form} after each      {each:7.2f} s  {each / step:.1f}")
    stray = Stray.slips(model.groups, np.full(READINGS, 0.01), np.log(0.3))
    pairs = seconds(lambda: enumerate_strays(model, values, stray))
    print(f"  up to two stray         {pairs:7.2f} s  {pairs / step:.2f}", flush=True)


def main(groups: int) -> None:
    boards = models(groups)
    for name, model in boards.items():
        compare(name, model)
    model = boards["a few readings each"]
    values = [0.5] * READINGS
    stray = Stray.slips(groups, np.full(READINGS, 0.01), np.log(0.3))
    spent = seconds(lambda: filter_strays(model, values, stray))
    step = seconds(lambda: one_by_one(model, values))
    print(f"  branches                {spent:7.2f} s  {spent / step:.1f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
