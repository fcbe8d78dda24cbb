"""Deciding and handing over: what it costs, and what is to be checked first."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter

from nextprobe.errors import MisuseError
from nextprobe.job import Job
from nextprobe.web.asking import BenchHere, errors
from nextprobe.web.plainly import sent
from nextprobe.web.shapes import shape, shape_of
from nextprobe.workbench.quote import Quote, quote
from nextprobe.workbench.verification import Verification, verification

router = APIRouter(tags=["handover"])

QuoteAnswer = shape(
    "QuoteAnswer", "What a job may still cost.", job=str, version=int, quote=shape_of(Quote)
)
VerificationAnswer = shape(
    "VerificationAnswer",
    "What is to be checked before the device is handed over.",
    job=str,
    version=int,
    verification=shape_of(Verification),
)


@router.get("/jobs/{job}/quote", response_model=QuoteAnswer, responses=errors(404))
async def show_quote(bench: BenchHere) -> object:
    """Say what the job has come to, and what it may still cost, with its spread."""

    def shown(job: Job) -> dict[str, Any]:
        if job.so_far.closing is not None:
            raise MisuseError(f"job {job.job_id} has ended: there is nothing to quote")
        found = quote(job.case, job.recommend())
        return {"job": job.job_id, "version": len(job.events()), "quote": sent(found)}

    return await bench.ask(shown)


@router.get("/jobs/{job}/verification", response_model=VerificationAnswer, responses=errors(404))
async def show_verification(bench: BenchHere) -> object:
    """Say what is to be checked before the device is handed over."""

    def shown(job: Job) -> dict[str, Any]:
        found = verification(job.case)
        return {"job": job.job_id, "version": len(job.events()), "verification": sent(found)}

    return await bench.ask(shown)
