"""Jobs: the list, a new one, where one stands, its log."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request

from nextprobe.job import Job
from nextprobe.web.asking import BenchHere, HubHere, WorkshopHere, errors
from nextprobe.web.board_layout import layout_of
from nextprobe.web.board_shown import BoardShown, board_json
from nextprobe.web.bodies import NewJob
from nextprobe.web.plainly import sent, sent_findings
from nextprobe.web.shapes import many, shape, shape_of
from nextprobe.web.starting import Starts, record_checks
from nextprobe.web.summaries import Summaries
from nextprobe.web.trouble import FindingShown, NotHereError
from nextprobe.workbench.overview import LogLine, Overview
from nextprobe.workbench.remarks import Remark

router = APIRouter(tags=["jobs"])

JobLine = shape(
    "JobLine",
    "A job in the list.",
    job=str,
    title=str,
    version=(int, "number of its events"),
    device=str,
    complaint=str,
    complaint_title=(str, "what fails, for people"),
    says=(str, "what the customer says"),
    started=(float, "[s since the epoch]"),
    changed=(float, "[s since the epoch]"),
    ending=(str, "close, decline or escalate; empty while it goes on"),
    readable=(bool, "false where what is stored is damaged"),
)
JobsAnswer = shape("Jobs", "All jobs, the one that changed last first.", jobs=many(JobLine))
Started = shape(
    "Started",
    "A job that is on disk.",
    job=str,
    version=int,
    repeated=(bool, "whether it was there already, under the same key"),
    findings=many(FindingShown),
)
JobAnswer = shape(
    "Job",
    "Where a job stands.",
    job=str,
    version=(int, "number of its events"),
    overview=shape_of(Overview),
    remarks=(many(shape_of(Remark)), "what is worth saying unasked"),
    findings=many(FindingShown),
)
LogAnswer = shape(
    "Log",
    "Events in words, corrections included.",
    job=str,
    version=int,
    events=many(shape_of(LogLine)),
)
SuspicionAnswer = shape(
    "Suspicion",
    "How likely it is that a fault sits at each pad; chances of suspects that share one add up.",
    job=str,
    version=int,
    key=(int, "of the order of pads, as in the board"),
    suspicion=many(float),
)


@router.get("/jobs", response_model=JobsAnswer, responses=errors())
async def list_jobs(
    request: Request,
    workshop: WorkshopHere,
    most: Annotated[int, Query(ge=1, le=100_000, description="how many at most")] = 1000,
) -> object:
    """List the jobs that changed last."""
    state = request.app.state
    if not hasattr(state, "summaries"):
        state.summaries = Summaries(workshop.store)
    lines = await workshop.do(state.summaries.all)
    return {"jobs": lines[:most]}


@router.post("/jobs", status_code=201, response_model=Started, responses=errors(404, body=True))
async def start_job(body: NewJob, request: Request, workshop: WorkshopHere, hub: HubHere) -> object:
    """Take a device in: what fails, what works, what happened, what may be risked."""
    state = request.app.state
    if not hasattr(state, "starts"):
        state.starts = Starts(workshop)
    job_id, repeated, findings = await workshop.do(lambda: state.starts.start(body))
    checked, version = await workshop.job(job_id).do(
        lambda job: (record_checks(job, body), len(job.events()))
    )
    hub.tell(job_id)
    workshop.prepare(job_id)
    return {
        "job": job_id,
        "version": version,
        "repeated": repeated,
        "findings": [*findings, *checked],
    }


@router.get("/jobs/{job}", response_model=JobAnswer, responses=errors(404))
async def show_job(bench: BenchHere) -> object:
    """Show where a job stands."""
    return await bench.ask(_shown)


@router.get("/jobs/{job}/events", response_model=LogAnswer, responses=errors(404))
async def show_log(
    bench: BenchHere,
    after: Annotated[
        int, Query(ge=0, le=10_000_000, description="events up to here are known")
    ] = 0,
) -> object:
    """Show the log, or what was added to it."""

    def shown(job: Job) -> dict[str, Any]:
        lines = job.history()
        return {"job": job.job_id, "version": len(lines), "events": sent(lines[after:])}

    return await bench.ask(shown)


@router.get("/jobs/{job}/board", response_model=BoardShown, responses=errors(404))
async def show_board(bench: BenchHere) -> object:
    """Show the board as it is known in this job: pinouts and chains included."""

    def shown(job: Job) -> dict[str, Any]:
        known = job.knowledge
        if known.board is None:
            raise NotHereError("no board is known in this job yet: add a pinout or a chain")
        return board_json(known.board, known.pack)

    return await bench.answer("board", use=shown)


@router.get("/jobs/{job}/suspicion", response_model=SuspicionAnswer, responses=errors(404))
async def show_suspicion(bench: BenchHere) -> object:
    """Show where on the board suspicion lies; the live channel sends the same as binary."""

    def shown(job: Job) -> dict[str, Any]:
        board = job.knowledge.board
        if board is None:
            raise NotHereError("no board is known in this job yet: add a pinout or a chain")
        layout = layout_of(board)
        return {
            "job": job.job_id,
            "version": len(job.events()),
            "key": layout.key,
            "suspicion": layout.suspicion(job.case).tolist(),
        }

    return await bench.ask(shown)


def _shown(job: Job) -> dict[str, Any]:
    return {
        "job": job.job_id,
        "version": len(job.events()),
        "overview": sent(job.overview()),
        "remarks": sent(job.remarks()),
        "findings": sent_findings(job.findings()),
    }
