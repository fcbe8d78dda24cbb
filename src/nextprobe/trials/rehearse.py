"""Rehearsal: the same simulated devices under several strategies."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from nextprobe.errors import MisuseError
from nextprobe.trials.play import Played, play
from nextprobe.trials.ready import Shelf, drawn_candidate
from nextprobe.trials.strategies import Advised, FixedOrder, PerfectKnowledge, Strategy

NAMES = ("nextprobe", "fixed_order", "perfect_knowledge")
_CHUNK = 5


@dataclass(frozen=True)
class Plan:
    """What is to be rehearsed.

    Parameters
    ----------
    complaints : tuple of str
        Functions that fail, taken in turn.
    devices : int
    seed : int
    budget : int
        Look-aheads a step.
    """

    complaints: tuple[str, ...]
    devices: int
    seed: int = 0
    budget: int = 30


def rehearse(
    shelf: Shelf,
    plan: Plan,
    *,
    processes: int = 1,
    progress: Callable[[int], bool] | None = None,
) -> dict[str, list[Played]]:
    """Play the same devices under every strategy.

    Parameters
    ----------
    shelf : Shelf
    plan : Plan
    processes : int
        How many to share the work among.
    progress : callable or None
        Called with the number of devices done; False stops, and what is done is returned.

    Returns
    -------
    dict of str to list of Played
        By strategy, device by device in the same order.

    Raises
    ------
    MisuseError
        If there is nothing to play.
    """
    if plan.devices < 1 or not plan.complaints:
        raise MisuseError("a rehearsal needs at least one device and one complaint")
    done: dict[int, dict[str, Played]] = {}
    for part in _parts(shelf, plan, processes):
        done.update(part)
        if progress is not None and not progress(len(done)):
            break
    return {name: [done[number][name] for number in sorted(done)] for name in NAMES}


def _parts(shelf: Shelf, plan: Plan, processes: int) -> Iterator[dict[int, dict[str, Played]]]:
    numbers = range(plan.devices)
    chunks = [numbers[start : start + _CHUNK] for start in range(0, plan.devices, _CHUNK)]
    if processes <= 1:
        for chunk in chunks:
            yield _play_chunk(shelf, plan, chunk)
        return
    with ProcessPoolExecutor(processes, initializer=_take_shelf, initargs=(shelf,)) as pool:
        waiting = [pool.submit(_play_on_shelf, plan, chunk) for chunk in chunks]
        try:
            for finished in as_completed(waiting):
                yield finished.result()
        finally:
            for each in waiting:
                each.cancel()


_SHELVES: list[Shelf] = []


def _take_shelf(shelf: Shelf) -> None:
    _SHELVES[:] = [shelf]


def _play_on_shelf(plan: Plan, numbers: Sequence[int]) -> dict[int, dict[str, Played]]:
    return _play_chunk(_SHELVES[0], plan, numbers)


def _play_chunk(shelf: Shelf, plan: Plan, numbers: Sequence[int]) -> dict[int, dict[str, Played]]:
    return {number: _play_device(shelf, plan, number) for number in numbers}


def _play_device(shelf: Shelf, plan: Plan, number: int) -> dict[str, Played]:
    complaint = plan.complaints[number % len(plan.complaints)]
    case = shelf.case(complaint)
    seed = plan.seed * 1_000_003 + number
    candidate = drawn_candidate(case, np.random.default_rng([plan.seed, number]))
    strategies: dict[str, Strategy] = {
        "nextprobe": _advised(plan.budget),
        "fixed_order": FixedOrder(),
        "perfect_knowledge": PerfectKnowledge(candidate.fault.family),
    }
    return {
        name: play(case, shelf.device(case, candidate, seed), strategy)
        for name, strategy in strategies.items()
    }


@lru_cache(maxsize=1)
def _advised(budget: int) -> Advised:
    """Keep one adviser per process: jobs that begin alike are thought over once."""
    return Advised(budget)
