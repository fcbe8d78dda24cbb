"""Demo jobs on the simulated bench: a device with a hidden fault answers."""

from __future__ import annotations

from functools import partial
from typing import Any

from fastapi import APIRouter, Request
from pydantic import Field

from nextprobe.errors import DataError, MisuseError
from nextprobe.job import Job
from nextprobe.job.shelf import shelf_of
from nextprobe.web.asking import BenchHere, HubHere, WorkshopHere, errors
from nextprobe.web.bodies import Body, NewJob, Word
from nextprobe.web.entering import Entered, name_of
from nextprobe.web.pack_shelf import pack_folder, pack_folders, read_pack
from nextprobe.web.play_table import PlayTable, Recipe
from nextprobe.web.routes.jobs import Started
from nextprobe.web.shapes import many, shape
from nextprobe.web.starting import Starts
from nextprobe.web.workshop import Workshop
from nextprobe.workbench.desk import Recorded
from nextprobe.workbench.record import CLOSED

router = APIRouter(tags=["play"])

DemoLine = shape(
    "DemoJob",
    "A job to learn from; what is wrong is told at its end.",
    pack=str,
    name=str,
    device=str,
    complaint=(str, "title of the function that fails"),
    says=(str, "what the customer says"),
    history=many(str),
)
DemosAnswer = shape("DemoJobs", "Jobs to learn from.", jobs=many(DemoLine))
Told = shape(
    "PlayTold",
    "How a demo job stands; what was wrong is empty until it has ended.",
    job=str,
    simulated=(bool, "whether a simulated device answers in this job"),
    truth=str,
    lesson=str,
    cured=bool,
    sold_in_vain=(many(str), "modules that were replaced though they were good"),
)


class NewPlay(Body):
    """A demo job that is to be played."""

    pack: Word
    name: Word
    seed: int = Field(1, ge=0, le=1_000_000, description="which device of its kind")


class Taken(Body):
    """A step for the simulated bench to do."""

    step: Word


@router.get("/play", response_model=DemosAnswer, responses=errors())
async def list_demos(workshop: WorkshopHere) -> object:
    """List the jobs to learn from, without what is wrong in them."""
    return {"jobs": await workshop.do(partial(_listed, workshop))}


@router.post("/play", status_code=201, response_model=Started, responses=errors(404, body=True))
async def start_demo(
    body: NewPlay, request: Request, workshop: WorkshopHere, hub: HubHere
) -> object:
    """Take in a demo device: the job is on disk like any other."""
    state = request.app.state
    if not hasattr(state, "starts"):
        state.starts = Starts(workshop)
    table = _table(request, workshop)

    def started() -> tuple[str, bool]:
        pack = read_pack(pack_folder(workshop.settings, workshop.home, body.pack))[0].pack
        ready = pack.jobs.get(body.name)
        if ready is None:
            raise MisuseError(f"{body.pack} has no job {body.name}; it has: {', '.join(pack.jobs)}")
        new = NewJob(
            key=body.key,
            pack=body.pack,
            complaint=ready.complaint,
            says=ready.says,
            history=list(ready.history),
            may_wipe=ready.may_wipe,
        )
        job_id, repeated, _ = state.starts.start(new)
        table.keep(job_id, Recipe(body.pack, body.name, body.seed))
        return job_id, repeated

    job_id, repeated = await workshop.do(started)
    version = await workshop.job(job_id).do(lambda job: len(job.events()))
    hub.tell(job_id)
    return {"job": job_id, "version": version, "repeated": repeated, "findings": []}


@router.get("/jobs/{job}/play", response_model=Told, responses=errors(404))
async def show_play(bench: BenchHere, request: Request, workshop: WorkshopHere) -> object:
    """Say whether a simulated device answers in a job; at its end, what was wrong with it."""
    table = _table(request, workshop)
    await bench.ask(lambda job: job.job_id)  # only the name of a job that is there names a file
    recipe = table.recipe(bench.job_id)
    told: dict[str, Any] = {
        "job": bench.job_id,
        "simulated": recipe is not None,
        "truth": "",
        "lesson": "",
        "cured": False,
        "sold_in_vain": [],
    }
    if recipe is None:
        return told
    shelf = partial(_shelf, workshop, recipe.pack)

    def end(job: Job) -> dict[str, Any]:
        if not any(event.kind == CLOSED for event in job.events()):
            workshop.ahead(partial(table.prepare, bench.job_id, recipe, shelf))
            return told
        folder = pack_folder(workshop.settings, workshop.home, recipe.pack)
        lesson = read_pack(folder)[0].pack.jobs[recipe.name].lesson
        played = table.played(job, recipe, shelf)
        return {
            **told,
            "truth": played.truth(),
            "lesson": lesson,
            "cured": played.device.cured,
            "sold_in_vain": list(played.device.sold_in_vain),
        }

    return await bench.ask(end)


@router.post("/jobs/{job}/play", response_model=Entered, responses=errors(404, body=True))
async def take(bench: BenchHere, body: Taken, request: Request, workshop: WorkshopHere) -> object:
    """Do a step on the simulated bench, and record what came of it."""
    table, name = _table(request, workshop), name_of(body, "play")

    def done(job: Job) -> Recorded:
        recipe = table.recipe(job.job_id)
        if recipe is None:
            remedy = "record what you find yourself"
            raise MisuseError(f"no simulated device belongs to this job: {remedy}")
        return table.take(job, recipe, partial(_shelf, workshop, recipe.pack), body.step, name)

    return await bench.enter_named(name, done)


def _table(request: Request, workshop: Workshop) -> PlayTable:
    state = request.app.state
    if not hasattr(state, "play_table"):
        state.play_table = PlayTable(workshop.home)
    found: PlayTable = state.play_table
    return found


def _shelf(workshop: Workshop, pack: str) -> Any:
    folder = pack_folder(workshop.settings, workshop.home, pack)
    return shelf_of(read_pack(folder)[0], workshop.tables)


def _listed(workshop: Workshop) -> list[dict[str, Any]]:
    found = []
    for name, folder in pack_folders(workshop.settings, workshop.home).items():
        try:
            pack = read_pack(folder)[0].pack
        except DataError:
            continue
        found += [
            {
                "pack": name,
                "name": word,
                "device": pack.device.name,
                "complaint": pack.functions[ready.complaint].title,
                "says": ready.says,
                "history": list(ready.history),
            }
            for word, ready in pack.jobs.items()
        ]
    return found
