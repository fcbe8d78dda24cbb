"""Work on simulated devices, shared among processes."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass, field
from functools import partial
from itertools import islice
from multiprocessing import SimpleQueue, active_children
from typing import Any, TypeVar

from nextprobe.diagnosis import Case
from nextprobe.trials.held_interrupts import held_interrupts
from nextprobe.trials.ready import Shelf
from nextprobe.trials.strategies import Advised

Opening = Callable[[], Shelf]
Hearing = Callable[[Any], None]
_T = TypeVar("_T")

# Jobs of one complaint share what they compute, some megabytes each; it is begun anew after so many
# jobs, so that memory stays bounded.
_SHARED_BY = 40
_AHEAD = 3
"""Tasks in the pool for each process, what is being done included."""
_HEARD_EVERY = 0.5
"""How often it is looked whether other processes have told something [s]."""


def unheard(_news: Any) -> None:
    """Do nothing with what a task tells."""


@dataclass
class Roots:
    """Cases at intake, shared by jobs of one complaint.

    Parameters
    ----------
    shelf : Shelf
    """

    shelf: Shelf
    _cases: dict[str, Case] = field(default_factory=dict)
    _used: int = 0

    def case(self, complaint: str, jobs: int = 1) -> Case:
        """Return the case of a complaint at intake, to be played so many times."""
        self._used += jobs
        if self._used > _SHARED_BY * max(1, len(self._cases)):
            self._cases.clear()
            self._used = jobs
        if complaint not in self._cases:
            self._cases[complaint] = self.shelf.case(complaint)
        return self._cases[complaint]


@dataclass
class Bench:
    """What a process keeps from task to task, and whom it tells how far a task is."""

    roots: Roots
    advised: dict[int, Advised] = field(default_factory=dict)
    tell: Hearing = unheard


@dataclass(frozen=True)
class Crew:
    """One process or several that do the same kind of task.

    Parameters
    ----------
    shelf : Shelf
    processes : int
    opening : callable or None
        Opens the shelf anew in another process; without it processes have to be forked, since a
        shelf itself can not be sent.
    hear : callable
        Is called with whatever a task tells before it is done, always in this process.
    """

    shelf: Shelf
    processes: int = 1
    opening: Opening | None = None
    hear: Hearing = unheard

    def each(self, work: Callable[..., _T], tasks: Sequence[tuple[object, ...]]) -> Iterator[_T]:
        """Do tasks, each a call of `work` with a bench and the task; what is done first is first.

        Whoever stops listening stops the crew, and what is being done is lost.
        """
        if self.processes <= 1 or len(tasks) < 2:
            bench = Bench(Roots(self.shelf), tell=self.hear)
            for task in tasks:
                yield work(bench, *task)
            return
        opening = self.opening or partial(_same, self.shelf)
        others = set(active_children())
        news: SimpleQueue[Any] = SimpleQueue()
        pool = ProcessPoolExecutor(self.processes, initializer=_open, initargs=(opening, news))
        try:
            with held_interrupts() as heed:
                for finished in self._finished(pool, partial(_on_bench, work), tasks, news):
                    yield from finished
                    heed()
        except BaseException:
            # Else the program would wait at its end for devices that nobody wants any more.
            pool.shutdown(wait=False, cancel_futures=True)
            for child in set(active_children()) - others:
                child.terminate()
            raise
        pool.shutdown()

    def _finished(
        self,
        pool: ProcessPoolExecutor,
        work: Callable[..., _T],
        tasks: Sequence[tuple[object, ...]],
        news: SimpleQueue[Any],
    ) -> Iterator[list[_T]]:
        """Yield what was done since the last time, every so often; few tasks wait in the pool."""
        rest, left = iter(tasks), set[Future[_T]]()
        while True:
            left |= {
                pool.submit(work, task)
                for task in islice(rest, _AHEAD * self.processes - len(left))
            }
            if not left:
                return
            done, left = wait(left, _HEARD_EVERY, FIRST_COMPLETED)
            while not news.empty():
                self.hear(news.get())
            yield [each.result() for each in done]


def _same(shelf: Shelf) -> Shelf:
    return shelf


_BENCHES: list[Bench] = []


def _open(opening: Opening, news: SimpleQueue[Any]) -> None:
    # A Ctrl-C is for the process that collects; it stops the others.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _BENCHES[:] = [Bench(Roots(opening()), tell=news.put)]


def _on_bench(work: Callable[..., _T], task: tuple[object, ...]) -> _T:
    return work(_BENCHES[0], *task)
