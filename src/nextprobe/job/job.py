"""The facade: a job from Python."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Self

from nextprobe.board import MeterMode
from nextprobe.diagnosis import FaultTables
from nextprobe.diagnosis.acts import PATIENT
from nextprobe.errors import Finding
from nextprobe.job.entry_text import touches_in
from nextprobe.job.good_boards import with_good_boards
from nextprobe.job.start import package_from, start_log, whole_intake
from nextprobe.packs import Pack
from nextprobe.readers import read_chains, read_pins
from nextprobe.store import MemoryStore, open_store
from nextprobe.workbench.advice import Adviser
from nextprobe.workbench.desk import Desk, Recorded
from nextprobe.workbench.entry_names import EntryName
from nextprobe.workbench.intake import Intake
from nextprobe.workbench.log import EventLog
from nextprobe.workbench.meter_entry import mode_of
from nextprobe.workbench.ports import EventStore
from nextprobe.workbench.texts import TextReaders

READERS = TextReaders(read_pins, read_chains)
Place = EventStore | Path | str | None


class Job(Desk, Adviser):
    """One device, from intake to handover.

    Make one with :meth:`start` or :meth:`open`. Everything that is recorded is on disk when the
    call returns, and everything that is shown is computed from what is recorded.

    Examples
    --------
    >>> from nextprobe import Job
    >>> job = Job.start(template="camera", device="Satchel 3")
    >>> job.next_steps(1)[0].recommended
    True
    """

    started_with: tuple[Finding, ...] = ()
    """What was wrong with the pack and the good boards kept here when the job was started."""

    @classmethod
    def start(
        cls,
        pack: Pack | Path | str | None = None,
        *,
        template: str | None = None,
        device: str = "",
        complaint: str = "",
        says: str = "",
        history: Sequence[str] = (),
        may_wipe: bool = False,
        may_unpair: bool = False,
        ceiling: float | None = None,
        store: Place = None,
        job_id: str | None = None,
        tables: FaultTables | None = None,
        name: EntryName | None = None,
    ) -> Self:
        """Start a job.

        It knows the readings of the pack, and those of the good boards that are kept beside it.

        Parameters
        ----------
        pack : Pack, Path, str or None
            A pack, its folder, or the name of a demo pack.
        template : str or None
            Class of function (camera, touch, …), where there is no pack.
        device : str
            What the device is called; the pack's own name if left out.
        complaint : str
            The function that fails; may be left out where the pack has only one.
        says : str
            What the customer says.
        history : sequence of str
            What happened to the device, in words of the pack.
        may_wipe, may_unpair : bool
            Whether data may be lost, and parts that are tied to their board.
        ceiling : float or None
            The most that may be charged [currency]; the pack's own if left out.
        store : EventStore, Path, str or None
            Where the job is kept: a store, or a folder of jobs; None keeps it in memory.
        job_id : str or None
            What the job is called; made from the device's name if left out.
        tables : FaultTables or None
            Fault tables to share with other jobs.
        name : EntryName or None
            What a client calls this entry; see `Desk.named`.

        Raises
        ------
        MisuseError
            If the pack can not serve the complaint or the history, or neither pack nor
            template is given.
        DataError
            If the pack can not be used at all.
        StoreError
            If the job can not be kept.
        """
        package, findings = package_from(pack, template, device)
        package, odd = with_good_boards(package, store)
        limits = {"may_wipe": may_wipe, "may_unpair": may_unpair}
        said = Intake(device, complaint, says, tuple(history), ceiling=ceiling, **limits)
        intake = whole_intake(said, package)
        job = cls(start_log(store_at(store), intake, package, job_id, name), READERS, tables)
        job.started_with = (*findings, *odd)
        return job

    @classmethod
    def open(cls, job_id: str, store: Place, tables: FaultTables | None = None) -> Self:
        """Open a job that was started before.

        Raises
        ------
        MisuseError
            If there is no such job.
        StoreError
            If the store can not be read.
        """
        return cls(EventLog(store_at(store), job_id), READERS, tables)

    def read_text(
        self,
        text: str,
        device: str = PATIENT,
        *,
        mode: str | MeterMode = MeterMode.DIODE,
        connector: str = "J1",
    ) -> Recorded:
        """Record readings from lines of text, as in ``J4.12 0.452``.

        Parameters
        ----------
        text : str
            One reading a line; in diode mode a pinout with readings will do.
        device : str
            ``patient`` or ``donor``.
        mode : str or MeterMode
        connector : str
            The connector of pins that are written without one.

        Raises
        ------
        DataError
            If there is no reading in it; nothing is recorded then.
        """
        touches, findings = touches_in(text, connector, mode_of(mode), "readings")
        recorded = self.read_many(touches, device, mode)
        return replace(recorded, findings=(*findings, *recorded.findings))


def store_at(place: Place) -> EventStore:
    """Return the store that is meant: one given, one in a folder, or one in memory."""
    if place is None:
        return MemoryStore()
    if isinstance(place, str | Path):
        return open_store(Path(place))
    return place
