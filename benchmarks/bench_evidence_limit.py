"""How often the best repair decision could be right, with all evidence in hand and free of charge.

For each seed of a ready-made job everything is done that tells something and leaves the board as
it is: every look, every check, every reading that is ever proposed, outside causes, contacts,
settings, refresh, and a trial of every module. What then still fails can only be cured by work on
the board.
The posterior says which work pays: in the order of chance of cure per price, as long as the chance
times what is saved exceeds the price. Whoever sees no more than this and works at a profit takes
that work in that order, so the share of devices that it reaches is the most that a strategy can
aim at, whatever its order of questions.
Beside it stands what the posterior itself expects of that work, over all faults that look the same:
a job with one fault may lie above or below it, devices drawn from the rates come to it.

Usage: ``python benchmarks/bench_evidence_limit.py [--pack PACK] [SEEDS] [JOB ...]``
"""

from __future__ import annotations

import os
from dataclasses import dataclass, replace

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from jobs_asked import Asked, asked

from nextprobe.diagnosis import Case
from nextprobe.diagnosis.candidates import Candidate
from nextprobe.job.shelf import shelf_from
from nextprobe.planning import Option
from nextprobe.trials.device import SimulatedDevice
from nextprobe.trials.play import conduct
from nextprobe.trials.ready import Shelf, job_device, open_job
from nextprobe.trials.score import share

GENTLE = ("try external", "restart", "reseat", "clean", "ultrasonic")


@dataclass(frozen=True)
class Limit:
    """What can come of one device: the chance that it is cured, and the chance believed."""

    reached: float
    believed: float
    suspects: int


def told(case: Case, device: SimulatedDevice, option: str) -> Case:
    """Do an option and take in what came of it."""
    return case.after(*conduct(case, device, option))


def gathered(case: Case, device: SimulatedDevice) -> Case:
    """Do all that tells something and leaves the board as it is, until it works for good."""
    offered = [option.id for option in case.problem.options(case.situation)]
    looking = [name for name in offered if name.startswith(("check:", "look:"))]
    for name in (*looking, *case.problem.probing.touches):
        case = told(case, device, name)
    slots = case.model.slots
    trials = [f"trial:{slot}:{form}" for slot in slots for form in ("fit-refresh", "refit")]
    gentle = [repair.id for repair in case.model.work if repair.work in GENTLE]
    for name in (*gentle, "refresh:update", *trials):
        case = told(case, device, name)
        if case.situation.working and device.cured:
            break
    return case


def limit_of(case: Case, device: SimulatedDevice, truth: Candidate) -> Limit:
    """Return how far the work that pays reaches, once everything is known that can be."""
    case = gathered(case, device)
    if device.cured:
        return Limit(1.0, 1.0, 0)
    model, costs = case.model, case.brief.pack.costs
    left = {suspect.key: suspect.remaining for suspect in case.suspects()}
    chances = np.array([left.get(item.fault.family, 0.0) for item in model.listed])
    families = [item.fault.family for item in model.listed]
    chances /= np.array([families.count(family) for family in families])
    index = families.index(truth.fault.family)
    gains = model.cure_chances @ chances
    prices = np.array([price_of(case, repair.id) for repair in model.work])
    believed = reached = 0.0
    for row in np.argsort(-gains / prices):
        if gains[row] / max(1.0 - believed, 1e-9) * costs.lost_job < prices[row]:
            break
        believed += gains[row]
        reached += (1.0 - reached) * model.cure_chances[row, index]
    return Limit(reached, min(believed, 1.0), sum(chance > 0.01 for chance in left.values()))


def price_of(case: Case, work: str) -> float:
    """Return what work costs by itself once the device is open as far as it goes."""
    return case.model.tariff.price(case.problem.cost(case.situation, Option(work, work)))


def limits(shelf: Shelf, name: str, seeds: int) -> list[Limit]:
    """Return the limit of each seed of a ready-made job, for whoever knows that it is one fault."""
    brief = replace(open_job(shelf, name).brief, largest_set=1)
    case = Case(brief, tables=shelf.tables)
    found = []
    for seed in range(seeds):
        device = job_device(shelf, case, name, seed)
        truth = next(c for c in case.model.listed if c.fault.family == device.truth.family)
        found.append(limit_of(case, device, truth))
    return found


def main(wanted: Asked) -> None:
    shelf, _ = shelf_from(wanted.pack)
    seeds = wanted.seeds
    for name in wanted.names(shelf):
        found = limits(shelf, name, seeds)
        reached = sum(limit.reached for limit in found)
        low, high = share(int(reached), seeds).low, share(round(reached), seeds).high
        believed = sum(limit.believed for limit in found) / seeds
        suspects = np.median([limit.suspects for limit in found])
        print(
            f"{name}: at most {reached:.1f} of {seeds} ({100 * low:.1f} to {100 * high:.1f} %) "
            f"by work that pays; believed {100 * believed:.1f} %, "
            f"{suspects:.0f} suspects above 1 % left",
            flush=True,
        )


if __name__ == "__main__":
    main(asked(__doc__, seeds=100))
