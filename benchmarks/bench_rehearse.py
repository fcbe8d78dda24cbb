"""How long each strategy takes for a job, as a multiple of the p/c order on the same devices.

Usage: ``python benchmarks/bench_rehearse.py [--pack PACK] [DEVICES] [COMPLAINT ...]``
"""

from __future__ import annotations

import os
from time import perf_counter

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from jobs_asked import Asked, asked

from nextprobe.job.shelf import shelf_from
from nextprobe.trials.play import play
from nextprobe.trials.rehearsal import Drawn, Plan, Roots, drawn
from nextprobe.trials.strategies import (
    Advised,
    FixedOrder,
    InformationGain,
    POverC,
    ProbeAll,
    Strategy,
)


def seconds(each: Drawn, strategy: Strategy) -> float:
    began = perf_counter()
    play(each.case, each.device(), strategy)
    return perf_counter() - began


def main(wanted: Asked) -> None:
    shelf, _ = shelf_from(wanted.pack)
    plan = Plan(wanted.jobs or tuple(shelf.pack.functions), wanted.seeds)
    roots = Roots(shelf)
    strategies: list[Strategy] = [
        POverC(), FixedOrder(), ProbeAll(), InformationGain(), Advised()
    ]  # fmt: skip
    spent = dict.fromkeys((strategy.name for strategy in strategies), 0.0)
    for number in range(plan.devices):
        each = drawn(roots, plan, number)
        each.case.problem.options(each.case.situation)
        for strategy in strategies:
            spent[strategy.name] += seconds(each, strategy)
    for name, total in spent.items():
        print(f"{name}: {total / spent['p/c order']:.1f} times, {total / plan.devices:.2f} s a job")


if __name__ == "__main__":
    main(asked(__doc__, seeds=12))
