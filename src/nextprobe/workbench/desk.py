"""One job on the bench: everything that can be entered.

Each entry is written first and computed from afterwards: once a call returns, or fails in
computing, what was entered is on disk.
"""

from __future__ import annotations

import time as clocks
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from nextprobe.board import MeterMode, Role
from nextprobe.diagnosis import FaultTables
from nextprobe.diagnosis.acts import PATIENT, Probe
from nextprobe.diagnosis.ids import reading_id, slug
from nextprobe.diagnosis.options import TERMINAL
from nextprobe.diagnosis.repairs import work_id
from nextprobe.errors import DataError, Finding, MisuseError, NextprobeError, Where
from nextprobe.workbench.amending import amended, intake_draft
from nextprobe.workbench.corrections import WITHDRAWN
from nextprobe.workbench.draft import Draft, closing_draft, moves_draft, note_draft
from nextprobe.workbench.entry_names import (
    EntryName,
    event_named,
    first_answer,
    with_name,
    without_name,
)
from nextprobe.workbench.events import Event
from nextprobe.workbench.log import EventLog
from nextprobe.workbench.meter_entry import Entered, mode_of
from nextprobe.workbench.outcomes import Result, Touch, free_work, many_touches, outcome_of, touch
from nextprobe.workbench.record import PHOTO, STARTED
from nextprobe.workbench.step_ids import known_step, known_work
from nextprobe.workbench.teaching import chains_draft, pinout_draft, role_draft
from nextprobe.workbench.texts import TextReaders
from nextprobe.workbench.view import JobView

_TROUBLE = (NextprobeError, ArithmeticError, ValueError, LookupError)


@dataclass(frozen=True)
class Recorded:
    """What has been written.

    Parameters
    ----------
    event : int
        Number of its event in the log.
    kind : str
        Kind of the event.
    step : str
        Id of the step, where there is one.
    said : tuple of str
        What was recorded, in words.
    findings : tuple of Finding
        What was left out, or is worth saying.
    """

    event: int
    kind: str
    step: str = ""
    said: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


class Desk(JobView):
    """A job that can be added to.

    Parameters
    ----------
    log : EventLog
    readers : TextReaders
        How pinouts and chains are read.
    tables : FaultTables or None
        Fault tables to share with other jobs.
    clock : callable
        Gives the time of readings [s since the epoch].
    """

    def __init__(
        self,
        log: EventLog,
        readers: TextReaders,
        tables: FaultTables | None = None,
        *,
        clock: Callable[[], float] = clocks.time,
    ) -> None:
        super().__init__(log, readers, tables)
        self._clock = clock
        self._name: EntryName | None = None

    @contextmanager
    def named(self, name: EntryName) -> Iterator[None]:
        """Write under a client's name what is entered meanwhile: once, however often it is sent.

        Give each entry a name of its own, and ask `entered` first: what was possible then may
        be refused by now.
        """
        self._name = name
        try:
            yield
        finally:
            self._name = None

    def entered(self, name: EntryName) -> Recorded | None:
        """Return the first answer to an entry that is there already; None if it is not.

        Raises
        ------
        RepeatedKeyError
            If the key stands for another entry.
        """
        event = event_named(self.events(), name)
        if event is None:
            return None
        said, findings = first_answer(event)
        step = str(event.payload.get("step", event.payload.get("ending", "")))
        return Recorded(event.number, event.kind, step, said, findings)

    def record(self, step: str, result: Result = "") -> Recorded:
        """Record what came of a step, whether it was recommended or not.

        Parameters
        ----------
        step : str
            Its id.
        result : str, float, OverRange, mapping or sequence
            ``works``, ``fails`` or ``refresh failed CODE`` after a check, a trial, work or a
            refresh; what was seen in a look; a value for a reading; values by pin, or pairs of
            pin and value in order, for a run; nothing for an ending.

        Raises
        ------
        UnknownStepError
            If there is no such step; ids that are like it are named.
        DataError
            If the result is none of this step, or no reading. Nothing is recorded then.
        """
        self._check_open()
        name = known_step(self.case, step)
        if name in TERMINAL:
            return self.close(name)
        return self._write(moves_draft(name, outcome_of(self.case, name, result, self._clock())))

    def read(
        self,
        point: str,
        value: Entered,
        device: str = PATIENT,
        mode: str | MeterMode = MeterMode.DIODE,
    ) -> Recorded:
        """Record a reading; one at a point that no board knows is kept, with a warning.

        Raises
        ------
        DataError
            If it is no reading in this mode; nothing is recorded then.
        """
        self._check_open()
        moment = self._clock()
        outcome = touch(self.case, point, value, device=device, mode=mode_of(mode), time=moment)
        probe = outcome.moves[0].act
        assert isinstance(probe, Probe)
        step = reading_id(probe.point, probe.mode, probe.clamped)
        return self._write(moves_draft(step, outcome))

    def read_many(
        self,
        touches: Iterable[Touch],
        device: str = PATIENT,
        mode: str | MeterMode = MeterMode.DIODE,
    ) -> Recorded:
        """Record readings in order; those that are none are left out, with a finding.

        Raises
        ------
        DataError
            If none of them is a reading; nothing is recorded then.
        """
        self._check_open()
        moment = self._clock()
        outcome = many_touches(self.case, touches, device=device, mode=mode_of(mode), time=moment)
        return self._write(moves_draft(f"readings:{device}", outcome))

    def look(self, name: str, result: str) -> Recorded:
        """Record what a look, a log or a self-test showed."""
        return self.record(f"look:{slug(name)}", result)

    def check(self, function: str, result: str) -> Recorded:
        """Record whether a function works."""
        return self.record(f"check:{slug(function)}", result)

    def trial(self, module: str, result: str, form: str = "fit") -> Recorded:
        """Record a trial with a known-good module.

        Parameters
        ----------
        module : str
        result : str
            Of the check at its end, or ``refresh failed CODE``.
        form : str
            ``fit``, ``fit-refresh``, ``refresh`` (with what is fitted), ``second`` (another
            known-good one, in case the first was bad) or ``refit``
            (the original).
        """
        return self.record(f"trial:{slug(module)}:{form}", result)

    def refresh(self, name: str, result: str) -> Recorded:
        """Record a firmware refresh with the originals fitted."""
        return self.record(f"refresh:{slug(name)}", result)

    def work(self, name: str, place: str, result: str = "") -> Recorded:
        """Record work at a place, and the check after it where `result` is given.

        Raises
        ------
        UnknownStepError
            If the pack has no such work.
        """
        self._check_open()
        step = work_id(known_work(self.case, name), place)
        if result and step in self.case.model.work_by_id:
            return self.record(step, result)
        return self._write(moves_draft(step, free_work(self.case, name, place, result)))

    def add_photo(self, name: str, caption: str = "") -> Recorded:
        """Note that a photo was kept under a name; it never changes a probability."""
        said = f"photo: {caption}" if caption else "photo"
        return self._write(Draft(PHOTO, {"name": name, "caption": caption}, said=(said,)))

    def note(self, text: str) -> Recorded:
        """Keep a remark; it never changes a probability."""
        return self._write(note_draft(text))

    def close(self, ending: str = "close") -> Recorded:
        """End the job: ``close`` (handed over), ``decline`` or ``escalate``.

        Raises
        ------
        MisuseError
            If there is no such ending.
        """
        self._check_open()
        return self._write(closing_draft(self.case, ending))

    def add_pinout(self, text: str, connector: str = "J1") -> Recorded:
        """Add a pinout as people type it; good readings in it become references.

        Parameters
        ----------
        text : str
            Lines such as ``12 CAM_SDA .452``.
        connector : str
            The connector of pins that are written without one.

        Raises
        ------
        DataError
            If no pin can be read; nothing is recorded then.
        """
        self._check_open()
        return self._write(pinout_draft(text, connector, self._readers.pinout))

    def add_chains(self, text: str) -> Recorded:
        """Add chains, as in ``J4.12 > C87 100n > U3.AB4``.

        Raises
        ------
        DataError
            If the text adds nothing; nothing is recorded then.
        """
        self._check_open()
        return self._write(chains_draft(text, self.knowledge.board, self._readers.chains))

    def set_role(self, point: str, role: str | Role) -> Recorded:
        """Say what the net under a point is for.

        Raises
        ------
        MisuseError
            If there is no such role or no such point.
        """
        self._check_open()
        return self._write(role_draft(point, role, self.knowledge.board))

    def correct(self, number: int, result: Result = "", **changes: Any) -> Recorded:
        """Record what event `number` should have said; the record keeps both.

        Parameters
        ----------
        number : int
        result
            The right result, value or text; it counts at the moment of the event that it
            corrects. Left out where `number` is a withdrawal: what was withdrawn stands again.
        **changes
            Fields of the intake, where the event is the start of the job.

        Raises
        ------
        MisuseError
            If there is no such event, or it is of a kind that is not corrected but withdrawn.
        """
        event = self._event(number)
        if event.kind == STARTED:
            return self._write(intake_draft(self.so_far, changes), number)
        if event.kind == WITHDRAWN and event.supersedes is not None:
            old = self._event(event.supersedes)
            said = (f"event {old.number} stands again",)
            again = Draft(old.kind, without_name(old.payload), said=said)
            return self._write(again, number)
        return self._write(amended(self, self._readers, event, result), number)

    def withdraw(self, number: int) -> Recorded:
        """Take an event out of the account; the record keeps it."""
        self._event(number)
        return self._write(Draft(WITHDRAWN, {}, said=(f"event {number} is withdrawn",)), number)

    def _event(self, number: int) -> Event:
        events = self.events()
        if not 1 <= number <= len(events):
            raise MisuseError(f"there is no event {number}; the last is {len(events)}")
        return events[number - 1]

    def _check_open(self) -> None:
        closing = self.so_far.closing
        if closing is not None:
            raise MisuseError(
                f"job {self.job_id} has ended ({closing.ending}); withdraw event "
                f"{closing.number} to go on with it"
            )

    def _write(self, draft: Draft, supersedes: int | None = None) -> Recorded:
        """Write an event, then see whether it can be computed from."""
        payload = draft.payload
        if self._name is not None:
            payload = with_name(payload, self._name, draft.said, draft.findings)
        event = self._log.append(draft.kind, payload, supersedes)
        try:
            _ = self.case.situation
        except _TROUBLE as error:
            raise DataError([_not_computed(event.number, error)]) from error
        return Recorded(event.number, draft.kind, draft.step, draft.said, draft.findings)


def _not_computed(number: int, error: Exception) -> Finding:
    what = f"event {number} is recorded, but nothing can be computed with it: {error}"
    return Finding(what, Where(name=f"event {number}"), f"correct it or withdraw {number}")
