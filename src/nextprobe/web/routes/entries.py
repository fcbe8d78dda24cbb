"""What is done and seen at the bench. Each entry is on disk when the answer comes."""

from __future__ import annotations

from dataclasses import replace

from fastapi import APIRouter

from nextprobe.errors import MisuseError
from nextprobe.job.entry_text import touches_in
from nextprobe.web import bodies
from nextprobe.web.asking import BenchHere, errors
from nextprobe.web.entering import Entered, name_of
from nextprobe.workbench.outcomes import Result, Touch

router = APIRouter(tags=["entries"])
_ERRORS = errors(404, body=True)


@router.post("/jobs/{job}/results", response_model=Entered, responses=_ERRORS)
async def record(bench: BenchHere, body: bodies.StepResult) -> object:
    """Record what came of a step, recommended or not, by its id."""
    result = result_of(body.result)
    return await bench.enter(body, "result", lambda job: job.record(body.step, result))


@router.post("/jobs/{job}/readings", response_model=Entered, responses=_ERRORS)
async def read(bench: BenchHere, body: bodies.Readings) -> object:
    """Record readings of the patient, or of a donor: one, many, or a text of them."""
    touches, name = _touches(body), name_of(body, "readings")
    if body.text is not None:
        given, findings = touches_in(body.text, body.connector, body.mode, "readings")
        touches, name = given, replace(name, also=findings)
    if len(touches) == 1:
        [(point, value)] = touches
        return await bench.enter_named(
            name, lambda job: job.read(point, value, body.device, body.mode)
        )
    return await bench.enter_named(name, lambda job: job.read_many(touches, body.device, body.mode))


@router.post("/jobs/{job}/looks", response_model=Entered, responses=_ERRORS)
async def look(bench: BenchHere, body: bodies.Seen) -> object:
    """Record what was seen by eye, in a log or by a self-test."""
    return await bench.enter(body, "look", lambda job: job.look(body.look, body.result))


@router.post("/jobs/{job}/checks", response_model=Entered, responses=_ERRORS)
async def check(bench: BenchHere, body: bodies.Checked) -> object:
    """Record whether a function works."""
    return await bench.enter(body, "check", lambda job: job.check(body.function, body.result))


@router.post("/jobs/{job}/trials", response_model=Entered, responses=_ERRORS)
async def trial(bench: BenchHere, body: bodies.Trial) -> object:
    """Record a trial with a known-good module."""
    return await bench.enter(
        body, "trial", lambda job: job.trial(body.module, body.result, body.form)
    )


@router.post("/jobs/{job}/refreshes", response_model=Entered, responses=_ERRORS)
async def refresh(bench: BenchHere, body: bodies.Refreshed) -> object:
    """Record a firmware refresh with the originals fitted."""
    return await bench.enter(body, "refresh", lambda job: job.refresh(body.refresh, body.result))


@router.post("/jobs/{job}/work", response_model=Entered, responses=_ERRORS)
async def work(bench: BenchHere, body: bodies.WorkDone) -> object:
    """Record work that was done, and the check after it."""
    return await bench.enter(body, "work", lambda job: job.work(body.work, body.place, body.result))


@router.post("/jobs/{job}/notes", response_model=Entered, responses=_ERRORS)
async def note(bench: BenchHere, body: bodies.Note) -> object:
    """Keep a remark."""
    return await bench.enter(body, "note", lambda job: job.note(body.text))


@router.post("/jobs/{job}/closing", response_model=Entered, responses=_ERRORS)
async def close(bench: BenchHere, body: bodies.Closing) -> object:
    """End a job: closed and handed over, declined, or handed on."""
    return await bench.enter(body, "closing", lambda job: job.close(body.ending))


def _touches(body: bodies.Readings) -> list[Touch]:
    if (body.readings is None) == (body.text is None):
        raise MisuseError("give readings, or a text with one a line: one of the two")
    return [(point, bodies.typed(value)) for point, value in body.readings or []]


def result_of(result: object) -> Result:
    """Return a result as the use cases take it."""
    if isinstance(result, list):
        return [(pin, bodies.typed(value)) for pin, value in result]
    assert isinstance(result, str | float | int)
    return bodies.typed(result)
