"""Undoing by adding: a correction stands in the place of what it corrects."""

from __future__ import annotations

from fastapi import APIRouter

from nextprobe.web import bodies
from nextprobe.web.asking import BenchHere, errors
from nextprobe.web.entering import Entered
from nextprobe.web.routes.entries import result_of

router = APIRouter(tags=["amending"])
_ERRORS = errors(404, body=True)


@router.post("/jobs/{job}/corrections", response_model=Entered, responses=_ERRORS)
async def correct(bench: BenchHere, body: bodies.Correction) -> object:
    """Record what an event should have said; the record shows both."""
    result, changes = result_of(body.result), body.changes()
    return await bench.enter(
        body, "correction", lambda job: job.correct(body.event, result, **changes)
    )


@router.post("/jobs/{job}/withdrawals", response_model=Entered, responses=_ERRORS)
async def withdraw(bench: BenchHere, body: bodies.Withdrawal) -> object:
    """Take an event out of the account."""
    return await bench.enter(body, "withdrawal", lambda job: job.withdraw(body.event))
