"""What to do next, why, and who is suspected."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query

from nextprobe.diagnosis import LOOK_AHEADS
from nextprobe.job import Job
from nextprobe.web.asking import BenchHere, Most, errors
from nextprobe.web.plainly import sent, sent_findings
from nextprobe.web.shapes import many, maybe, shape, shape_of
from nextprobe.web.trouble import FindingShown
from nextprobe.workbench.explain import Explanation
from nextprobe.workbench.reckoning import Reckoning
from nextprobe.workbench.remarks import Remark
from nextprobe.workbench.steps import StepRecord
from nextprobe.workbench.words import SuspectRecord

router = APIRouter(tags=["advice"])

Effort = Annotated[int, Query(ge=0, le=200, description="how far to look ahead")]

StepsAnswer = shape(
    "Steps",
    "What could be done next, the recommended step first; none once the job has ended.",
    job=str,
    version=int,
    ended=(str, "how the job ended; empty while it goes on"),
    currency=str,
    near_tie=(bool, "whether the runner-up is about as good"),
    lower_bound=(maybe(float), "what the job would cost if the cause were known [currency]"),
    steps=many(shape_of(StepRecord)),
    remarks=many(shape_of(Remark)),
    findings=many(FindingShown),
)
SuspectsAnswer = shape(
    "Suspects",
    "Who is suspected, likeliest first, with what raised and lowered each.",
    job=str,
    version=int,
    suspects=many(shape_of(SuspectRecord)),
    remarks=many(shape_of(Remark)),
)
ReckoningAnswer = shape(
    "ReckoningAnswer",
    "What the odds of one suspect are made of: the parts add up to where it stands.",
    job=str,
    version=int,
    reckoning=shape_of(Reckoning),
)
WhyAnswer = shape(
    "Why",
    "Why a step: its price, what each outcome would mean, what it can not tell apart.",
    job=str,
    version=int,
    currency=str,
    explanation=shape_of(Explanation),
)


@router.get("/jobs/{job}/steps", response_model=StepsAnswer, responses=errors(404))
async def next_steps(bench: BenchHere, most: Most = 5, effort: Effort = LOOK_AHEADS) -> object:
    """Say what to do next, with cost, time, cautions, reasons, and what may come of it."""

    def shown(job: Job) -> dict[str, Any]:
        closing = job.so_far.closing
        advice = None if closing else job.recommend(effort)
        return {
            "job": job.job_id,
            "version": len(job.events()),
            "ended": closing.ending if closing else "",
            "currency": job.knowledge.pack.costs.currency,
            "near_tie": advice.near_tie if advice else False,
            "lower_bound": sent(advice.lower_bound) if advice else None,
            "steps": sent(job.next_steps(most, effort)),
            "remarks": sent(job.remarks()),
            "findings": sent_findings(job.findings()),
        }

    return await bench.answer("steps", most, effort, use=shown)


@router.get("/jobs/{job}/why", response_model=WhyAnswer, responses=errors(404))
async def why(
    bench: BenchHere,
    step: Annotated[str, Query(max_length=200, description="the recommended one if empty")] = "",
) -> object:
    """Say why a step is, or is not, what to do next."""

    def shown(job: Job) -> dict[str, Any]:
        return {
            "job": job.job_id,
            "version": len(job.events()),
            "currency": job.knowledge.pack.costs.currency,
            "explanation": sent(job.why(step)),
        }

    return await bench.answer("why", step, use=shown)


@router.get("/jobs/{job}/suspects", response_model=SuspectsAnswer, responses=errors(404))
async def suspects(
    bench: BenchHere,
    most: Most = 5,
    reasons: Annotated[bool, Query(description="whether to say what moved each")] = True,
) -> object:
    """List the suspects, and what moved them."""

    def shown(job: Job) -> dict[str, Any]:
        return {
            "job": job.job_id,
            "version": len(job.events()),
            "suspects": sent(job.suspects(most, reasons)),
            "remarks": sent(job.remarks()),
        }

    return await bench.ask(shown)


@router.get("/jobs/{job}/reckoning", response_model=ReckoningAnswer, responses=errors(404))
async def reckoning(
    bench: BenchHere,
    suspect: Annotated[
        str, Query(min_length=1, max_length=200, description="its key or title, or a place")
    ],
    about: Annotated[
        str, Query(max_length=200, description="an event, or words of it, to split by rival")
    ] = "",
) -> object:
    """Say all that raised and lowered one suspect, and by how much."""

    def shown(job: Job) -> dict[str, Any]:
        found = sent(job.why_suspect(suspect, about))
        return {"job": job.job_id, "version": len(job.events()), "reckoning": found}

    return await bench.ask(shown)
