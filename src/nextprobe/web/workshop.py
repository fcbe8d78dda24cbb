"""The jobs that are open: each has one thread of its own, and everything about it is done there.

Use cases of a job are not made for several threads, and computing takes as long as it takes: the
server's own thread only waits, so that it goes on answering.
"""

from __future__ import annotations

import asyncio
import logging
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from typing import TypeVar

from nextprobe.diagnosis import FaultTables
from nextprobe.errors import MisuseError, NextprobeError
from nextprobe.job import Job
from nextprobe.store import GoodBoardStore, SqliteStore, open_store, open_tables
from nextprobe.trials.testability import Testability
from nextprobe.web.settings import Settings
from nextprobe.web.trouble import NotHereError, RefusedError

T = TypeVar("T")

_log = logging.getLogger("nextprobe.web")

MOST_OPEN = 24
"""So many jobs are kept in memory."""
_MOST_ANSWERS = 32


class OpenJob:
    """A job and the thread that it belongs to.

    Parameters
    ----------
    job_id : str
    store : SqliteStore
    tables : FaultTables
    """

    def __init__(self, job_id: str, store: SqliteStore, tables: FaultTables) -> None:
        self.job_id = job_id
        self._store = store
        self._tables = tables
        self._job: Job | None = None
        self._answers: dict[Hashable, bytes] = {}
        self._answers_of = ""
        self._thread = ThreadPoolExecutor(1, thread_name_prefix=f"job {job_id}")

    async def do(self, use: Callable[[Job], T]) -> T:
        """Do something with the job as it is stored now; what was asked before is done first.

        Raises
        ------
        NotHereError
            If there is no such job.
        RefusedError
            If nothing can be computed from what is recorded.
        """
        doing = asyncio.get_running_loop().run_in_executor(self._thread, self._do, use)
        return await asyncio.shield(doing)

    def _do(self, use: Callable[[Job], T]) -> T:
        if self._job is None:
            try:
                self._job = Job.open(self.job_id, self._store, self._tables)
            except MisuseError:
                raise NotHereError(f"there is no job {self.job_id}") from None
        else:
            self._job.reload()
        try:
            return use(self._job)
        except (ArithmeticError, ValueError, LookupError) as error:
            _log.error("job %s can not be computed", self.job_id, exc_info=error)
            raise _not_computed(error) from error

    async def answer(self, what: Hashable, use: Callable[[Job], bytes]) -> bytes:
        """Answer what follows from the job as it is stored now: computed once until it changes.

        Parameters
        ----------
        what : Hashable
            What is asked, with all that the answer depends on beside the job.
        use : callable
            Computes the answer.

        Raises
        ------
        NotHereError, RefusedError
            As `do` does.
        """
        return await self.do(lambda job: self._answered(job, what, use))

    def _answered(self, job: Job, what: Hashable, use: Callable[[Job], bytes]) -> bytes:
        head = job.events()[-1].hash
        if head != self._answers_of or len(self._answers) >= _MOST_ANSWERS:
            self._answers, self._answers_of = {}, head
        if what not in self._answers:
            self._answers[what] = use(job)
        return self._answers[what]

    def has_answered(self, what: Hashable) -> bool:
        """Whether an answer is at hand, unless another program has written to the job."""
        return what in self._answers

    def prepare(self) -> None:
        """Have it computed, without waiting."""
        self._thread.submit(self._prepare)

    def _prepare(self) -> None:
        with suppress(NextprobeError):
            self._do(lambda job: job.case)

    def let_go(self) -> None:
        """End the thread once everything that was asked for is done."""
        self._thread.shutdown(wait=False)


def _not_computed(error: Exception) -> RefusedError:
    says = f"nothing can be computed from this job as it stands: {error}"
    remedy = "look at its events; correct or withdraw the one that does not fit"
    return RefusedError(409, "not computed", says, remedy)


class Workshop:
    """The jobs of a folder, and where to compute other things.

    Parameters
    ----------
    settings : Settings
    """

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.store = open_store(settings.home)
        self.home: Path = self.store.path.parent
        self.tables = FaultTables(open_tables(self.home))
        self.measured: dict[tuple[str, str], tuple[Testability, dict[str, str]]] = {}
        self.good: GoodBoardStore | None = None
        self._open: OrderedDict[str, OpenJob] = OrderedDict()
        self._desk = ThreadPoolExecutor(1, thread_name_prefix="desk")
        self._study = ThreadPoolExecutor(1, thread_name_prefix="study")

    def job(self, job_id: str) -> OpenJob:
        """Return a job, which may turn out not to exist."""
        found = self._open.pop(job_id, None) or OpenJob(job_id, self.store, self.tables)
        self._open[job_id] = found
        while len(self._open) > MOST_OPEN:
            _, oldest = self._open.popitem(last=False)
            oldest.let_go()
        return found

    def has_answered(self, job_id: str, what: Hashable) -> bool:
        """Whether an answer about a job is at hand; the job is not read for it."""
        return job_id in self._open and self._open[job_id].has_answered(what)

    def prepare(self, job_id: str) -> None:
        """Have a job computed before somebody asks; what goes wrong is said when they do."""
        self.job(job_id).prepare()

    async def do(self, use: Callable[[], T]) -> T:
        """Do something that belongs to no job; one thing at a time."""
        return await asyncio.get_running_loop().run_in_executor(self._desk, use)

    async def study(self, use: Callable[[], T]) -> T:
        """Compute something that takes long; nothing but its like waits for it."""
        return await asyncio.get_running_loop().run_in_executor(self._study, use)

    def ahead(self, solve: Callable[[], object]) -> None:
        """Have something computed that will be asked for, without waiting."""
        self._study.submit(solve)

    def close(self) -> None:
        """Let go of threads and files."""
        for job in self._open.values():
            job.let_go()
        for thread in (self._desk, self._study):
            thread.shutdown(wait=True, cancel_futures=True)
        self.store.close()
