"""Packs for simulated benches, and jobs that are played on one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from nextprobe.board import MeterMode, OverRange, Reading
from nextprobe.diagnosis import FaultTables, Move, Reference
from nextprobe.diagnosis.acts import FAILED
from nextprobe.diagnosis.options import DECLINE
from nextprobe.diagnosis.wording import say_fault
from nextprobe.errors import DataError, Finding
from nextprobe.job.job import Job
from nextprobe.job.start import named_folder
from nextprobe.planning import Option
from nextprobe.readers.pack_folder import PackFolder, read_pack_folder
from nextprobe.store import open_tables
from nextprobe.trials.device import SimulatedDevice
from nextprobe.trials.play import Played, Step, conduct, ended, step_cost
from nextprobe.trials.ready import Shelf, job_device, ready_job
from nextprobe.workbench.desk import Recorded
from nextprobe.workbench.steps import StepRecord


def shelf_from(
    pack: Path | str, tables: FaultTables | None = None
) -> tuple[Shelf, tuple[Finding, ...]]:
    """Read a pack for simulated benches.

    Parameters
    ----------
    pack : Path or str
        A pack's folder, or the name of a demo pack.
    tables : FaultTables or None
        Where fault tables are kept; in the usual folder of jobs if left out.

    Raises
    ------
    DataError
        If the pack can not be used at all.
    """
    contents, findings = read_pack_folder(named_folder(pack))
    if contents is None:
        raise DataError(findings)
    kept = tables if tables is not None else FaultTables(open_tables())
    return shelf_of(contents, kept), findings


def shelf_of(contents: PackFolder, tables: FaultTables) -> Shelf:
    """Return a pack that was read, for simulated benches."""
    references = {
        (row.point, row.mode): Reference(row.value, row.boards, row.source, row.spread)
        for row in contents.known_good
    }
    return Shelf(contents.pack, contents.board, references, tables)


@dataclass(frozen=True)
class PlayedJob:
    """A ready-made job and the simulated device that it is about.

    Parameters
    ----------
    job : Job
    device : SimulatedDevice
    steps : list of Step
        What has been done so far.
    """

    job: Job
    device: SimulatedDevice
    steps: list[Step] = field(default_factory=list)

    def take(self, step: StepRecord) -> Recorded:
        """Do a step on the simulated bench and record what came of it."""
        if step.kind == "end":
            return self.job.close(step.id)
        before = self.job.case
        moves = conduct(before, self.device, step.id)
        self.steps.append(Step(step.id, moves, step_cost(before, step.id, moves)))
        *touches, last = entries(step, moves)
        for touch in touches:
            self.job.record(step.id, touch)
        return self.job.record(step.id, last)

    def account(self) -> Played:
        """Return how the job ended; as declined where it has not."""
        closing = self.job.so_far.closing
        ending = DECLINE if closing is None else closing.ending
        return ended(self.job.case, self.device, self.steps, ending)

    def truth(self) -> str:
        """Say what is really wrong with the device."""
        brief = self.job.case.brief
        said = [say_fault(fault, brief.pack, brief.board) for fault in self.device.truths]
        return " together with ".join(said)


def entries(step: StepRecord | Option, moves: Sequence[Move]) -> list[str | list[tuple[str, str]]]:
    """Return what a technician would enter, one after another: each touch, then the result."""
    touches = moves[:-1] if step.kind == "reading" else ()
    return [
        *(entered(step, (touch,)) for touch in touches if touch.reading is not None),
        entered(step, moves),
    ]


def entered(step: StepRecord | Option, moves: Sequence[Move]) -> str | list[tuple[str, str]]:
    """Return what a technician would type for the result of a step."""
    if step.kind == "run":
        return [
            (move.reading.point, typed(move.reading)) for move in moves if move.reading is not None
        ]
    last = moves[-1]
    if last.reading is not None:
        return typed(last.reading)
    return "refresh failed" if last.result == FAILED else last.result


def typed(reading: Reading) -> str:
    """Return what a technician would type for a reading, with all digits of the meter."""
    if isinstance(reading.value, OverRange):
        return "OL"
    match reading.setup.mode:
        case MeterMode.DIODE | MeterMode.DC_VOLTS:
            return f"{reading.value:.3f} V"
        case MeterMode.CAPACITANCE:
            return f"{reading.value * 1e9:.5g}n"
    return f"{reading.value:.5g} ohm"


def start_played(shelf: Shelf, name: str, seed: int, pack: Path | str) -> PlayedJob:
    """Start a ready-made job on the simulated bench, kept in memory."""
    ready = ready_job(shelf.pack, name)
    job = Job.start(
        pack,
        complaint=ready.complaint,
        says=ready.says,
        history=ready.history,
        may_wipe=ready.may_wipe,
        tables=shelf.tables,
    )
    return PlayedJob(job, job_device(shelf, job.case, name, seed))
