"""One job as it stands, computed from its log."""

from __future__ import annotations

from collections.abc import Iterator

from nextprobe import __version__
from nextprobe.diagnosis import LOOK_AHEADS, Case, FaultTables
from nextprobe.errors import Finding, MisuseError, Severity, Where
from nextprobe.planning import Recommendation
from nextprobe.workbench.events import Event
from nextprobe.workbench.knowledge import Knowledge, brief_of, knowledge_of, weighed_moves
from nextprobe.workbench.log import EventLog
from nextprobe.workbench.record import JobRecord, read_record
from nextprobe.workbench.texts import TextReaders


class JobView:
    """What a job's log amounts to.

    Parameters
    ----------
    log : EventLog
    readers : TextReaders
        How pinouts and chains are read.
    tables : FaultTables or None
        Fault tables to share with other jobs.
    """

    def __init__(
        self, log: EventLog, readers: TextReaders, tables: FaultTables | None = None
    ) -> None:
        self._log = log
        self._readers = readers
        self._tables = tables if tables is not None else FaultTables()
        self._so_far: tuple[str, JobRecord] | None = None
        self._known: tuple[JobRecord, Knowledge] | None = None
        self._case: Case | None = None
        self._advice: tuple[Case, int, Recommendation] | None = None

    @property
    def job_id(self) -> str:
        """What the job is called."""
        return self._log.job_id

    def events(self) -> tuple[Event, ...]:
        """Return everything ever recorded, oldest first, corrections included."""
        return self._log.events()

    def reload(self) -> None:
        """Read again what is stored, so as to see what other benches have written."""
        self._log.refresh()

    @property
    def so_far(self) -> JobRecord:
        """What the log says, corrections applied."""
        head = self.events()[-1].hash
        if self._so_far is None or self._so_far[0] != head:
            self._so_far = (head, read_record(self._log.effective()))
        return self._so_far[1]

    @property
    def knowledge(self) -> Knowledge:
        """The device as it is known now."""
        record = self.so_far
        if self._known is None or not _same_ground(self._known[0], record):
            self._known = (record, knowledge_of(record, self._readers.chains))
        return self._known[1]

    @property
    def case(self) -> Case:
        """The diagnosis of everything recorded so far."""
        brief = brief_of(self.so_far.intake, self.knowledge)
        moves = weighed_moves(self.so_far.moves, self.knowledge.pack)
        case = self._case
        if case is None or case.brief != brief or case.moves != moves[: len(case.moves)]:
            case = Case(brief, moves, self._tables)
        elif len(moves) > len(case.moves):
            case = case.after(*moves[len(case.moves) :])
        self._case = case
        return case

    def case_before(self, number: int) -> Case:
        """Return the case as it stood before an event, as far as its log stands today.

        Raises
        ------
        MisuseError
            If the event no longer stands.
        """
        standing: list[Event] = []
        for event in self._log.effective():
            if event.number == number:
                record = read_record(standing)
                known = knowledge_of(record, self._readers.chains)
                moves = weighed_moves(record.moves, known.pack)
                return Case(brief_of(record.intake, known), moves, self._tables)
            standing.append(event)
        raise MisuseError(f"event {number} no longer stands: correct the one in its place")

    def recommend(self, budget: int = LOOK_AHEADS) -> Recommendation:
        """Return what to do next, and why; `budget` counts look-aheads."""
        case = self.case
        if self._advice is None or self._advice[0] is not case or self._advice[1] != budget:
            self._advice = (case, budget, case.recommend(budget))
        return self._advice[2]

    def findings(self) -> tuple[Finding, ...]:
        """Return what is worth knowing about the log: unused entries, another engine version."""
        return (*_other_engines(self.events()), *self.knowledge.findings)


def _same_ground(old: JobRecord, new: JobRecord) -> bool:
    return (old.intake, old.package, old.learnt) == (new.intake, new.package, new.learnt)


def _other_engines(events: tuple[Event, ...]) -> Iterator[Finding]:
    versions = dict.fromkeys(event.engine_version for event in events)
    for version in versions:
        if version != __version__:
            numbers = [event.number for event in events if event.engine_version == version]
            what = f"{len(numbers)} of {len(events)} events were recorded with version {version}"
            remedy = f"everything shown is computed afresh by version {__version__} and may differ"
            where = Where(name=f"event {numbers[0]}")
            yield Finding(what, where, remedy, Severity.NOTE)
