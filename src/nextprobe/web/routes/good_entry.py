"""Keeping known-good boards: typed, from a table, or the donor of a job."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fastapi import APIRouter

from nextprobe.errors import DataError, Finding, MisuseError, Where
from nextprobe.job import Job
from nextprobe.job.good_boards import corrected, donor_boards, keep_all, misfits_of
from nextprobe.job.good_data import record_row
from nextprobe.job.good_entry import bench_setup, day, typed_readings
from nextprobe.job.good_shelf import GoodShelf, shelf_of_job
from nextprobe.readers.good_boards import read_good_boards
from nextprobe.reference import GoodBoard
from nextprobe.web import bodies
from nextprobe.web.asking import BenchHere, PackName, WorkshopHere, errors
from nextprobe.web.entering import name_of
from nextprobe.web.good_shown import RecordShown
from nextprobe.web.good_store import good_shelf_named, good_store
from nextprobe.web.plainly import sent, sent_findings
from nextprobe.web.shapes import many, shape
from nextprobe.web.trouble import FindingShown
from nextprobe.web.workshop import Workshop
from nextprobe.workbench.entry_names import EntryName

router = APIRouter(tags=["known-good"])
_ERRORS = errors(404, body=True)

KeptAnswer = shape(
    "Kept",
    "Records of known-good boards that are on disk.",
    device=str,
    kept=many(RecordShown),
    repeated=(bool, "whether they were there already, under the same key"),
    findings=many(FindingShown),
)
WithdrawnAnswer = shape(
    "Withdrawn",
    "A record that no longer counts.",
    device=str,
    withdrawn=int,
    boards=(int, "how many are left"),
    repeated=bool,
)


@router.post("/known-good/{pack}/boards", response_model=KeptAnswer, responses=_ERRORS)
async def add(pack: PackName, workshop: WorkshopHere, body: bodies.GoodBoardTyped) -> object:
    """Keep the readings of one board."""

    def kept() -> Any:
        shelf, name = good_shelf_named(workshop, pack), name_of(body, "good board")
        if (known := _known(workshop, shelf, name)) is not None:
            return known
        setup = _setup(shelf, body, body.mode)
        values, findings = typed_readings(body.text, body.connector, setup.mode, shelf.board)
        source = body.source or "typed"
        board = GoodBoard(
            shelf.device, body.label, values, setup, body.meter, body.by, day(body.on), source
        )
        return _keep(workshop, shelf, [board], name, findings)

    return await workshop.do(kept)


@router.post("/known-good/{pack}/tables", response_model=KeptAnswer, responses=_ERRORS)
async def add_table(pack: PackName, workshop: WorkshopHere, body: bodies.GoodBoardTable) -> object:
    """Keep the boards of a table: points down, and a column for each board."""

    def kept() -> Any:
        shelf, name = good_shelf_named(workshop, pack), name_of(body, "good table")
        if (known := _known(workshop, shelf, name)) is not None:
            return known
        columns, findings = read_good_boards(body.text, "table", mode=body.mode, board=shelf.board)
        boards = []
        for column in columns:
            called = column.label or body.label
            if not called:
                raise MisuseError("the table does not say which board it is: give a label")
            source = f"{body.source or 'table'}, line {column.line}, column {column.column}"
            setup = _setup(shelf, body, column.mode)
            who = body.meter, body.by, day(body.on), source
            boards.append(GoodBoard(shelf.device, called, column.readings, setup, *who))
        if not boards:
            raise DataError(findings or [Finding("there is no reading in it", Where("table"))])
        return _keep(workshop, shelf, boards, name, findings)

    return await workshop.do(kept)


@router.post("/jobs/{job}/known-good", response_model=KeptAnswer, responses=_ERRORS)
async def keep_donor(bench: BenchHere, workshop: WorkshopHere, body: bodies.DonorToKeep) -> object:
    """Keep the donor that was measured in a job; later jobs count it."""
    store = await workshop.do(lambda: good_store(workshop))
    name = name_of(body, f"donor of {bench.job_id}")

    def kept(job: Job) -> Any:
        shelf = shelf_of_job(job, store)
        if (known := _known(workshop, shelf, name)) is not None:
            return known
        boards = donor_boards(job, body.label, body.device, shelf.boards)
        return _keep(workshop, shelf, boards, name)

    return await bench.ask(kept)


@router.post("/known-good/{pack}/corrections", response_model=KeptAnswer, responses=_ERRORS)
async def correct(
    pack: PackName, workshop: WorkshopHere, body: bodies.GoodBoardCorrection
) -> object:
    """Record what a board really read, or its label; the old record stays in the file."""

    def kept() -> Any:
        shelf, name = good_shelf_named(workshop, pack), name_of(body, "good correction")
        if (known := _known(workshop, shelf, name)) is not None:
            return known
        if not body.text and not body.label:
            raise MisuseError("give the readings that were wrong, or a label")
        store = good_store(workshop)
        old = store.record(shelf.device, body.number)
        values, findings = (
            typed_readings(body.text, "", old.setup.mode, shelf.board) if body.text else ((), ())
        )
        new = store.keep(corrected(old, values, body.label), body.number, name.part(1))
        return _said(shelf, [new], (*findings, *misfits_of(store, [new], shelf.priors)))

    return await workshop.do(kept)


@router.post("/known-good/{pack}/withdrawals", response_model=WithdrawnAnswer, responses=_ERRORS)
async def withdraw(
    pack: PackName, workshop: WorkshopHere, body: bodies.GoodBoardWithdrawal
) -> object:
    """Take a record out of the account; it stays in the file."""

    def withdrawn() -> Any:
        shelf, name = good_shelf_named(workshop, pack), name_of(body, "good withdrawal")
        store = good_store(workshop)
        repeated = store.entered(shelf.device, name) is not None
        if not repeated:
            store.withdraw(shelf.device, body.number, name)
        return {
            "device": shelf.device,
            "withdrawn": body.number,
            "boards": len(store.boards(shelf.device).labels),
            "repeated": repeated,
        }

    return await workshop.do(withdrawn)


def _setup(shelf: GoodShelf, body: bodies.BenchOfBoard, mode: Any) -> Any:
    return bench_setup(
        shelf.pack, shelf.board, mode, plugged=body.plugged, clamped=body.clamped,
        negative_clamped=body.negative_clamped, celsius=body.celsius,
    )  # fmt: skip


def _known(workshop: Workshop, shelf: GoodShelf, name: EntryName) -> Any:
    """Return the first answer to an entry that is there already."""
    store = good_store(workshop)
    numbers: list[int] = []
    while (number := store.entered(shelf.device, name.part(len(numbers) + 1))) is not None:
        numbers.append(number)
    if not numbers:
        return None
    records = [board for board in store.boards(shelf.device).records if board.number in numbers]
    return _said(shelf, records, (), repeated=True)


def _keep(
    workshop: Workshop,
    shelf: GoodShelf,
    boards: Sequence[GoodBoard],
    name: EntryName,
    findings: Sequence[Finding] = (),
) -> Any:
    kept, found = keep_all(good_store(workshop), boards, shelf.priors, name)
    return _said(shelf, kept, (*findings, *found))


def _said(
    shelf: GoodShelf,
    kept: Sequence[GoodBoard],
    findings: Sequence[Finding],
    *,
    repeated: bool = False,
) -> Any:
    return sent(
        {
            "device": shelf.device,
            "kept": [{**record_row(record), "farthest": None} for record in kept],
            "repeated": repeated,
            "findings": sent_findings(tuple(findings)),
        }
    )
