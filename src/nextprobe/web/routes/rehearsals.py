"""Rehearsals of a pack: started, watched and stopped; they run in processes of their own."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path, Request, Response
from pydantic import Field, JsonValue

from nextprobe.errors import MisuseError
from nextprobe.web.asking import PackName, WorkshopHere, errors
from nextprobe.web.bodies import Body, Line
from nextprobe.web.pack_shelf import pack_folder, read_pack
from nextprobe.web.plainly import sent
from nextprobe.web.rehearsing import Progress, Rehearsals
from nextprobe.web.shapes import many, maybe, shape
from nextprobe.web.trouble import NotHereError
from nextprobe.web.workshop import Workshop

router = APIRouter(tags=["rehearsals"])

RehearsalAnswer = shape(
    "Rehearsal",
    "How the last rehearsal of a pack stands.",
    pack=str,
    running=bool,
    stopped=(bool, "whether somebody has stopped it"),
    planned=(int, "how many devices; 0 if none was started"),
    done=(int, "how many are played"),
    progress=(maybe(Progress), "what it does just now; nothing if it does not run"),
    complaint=(str, "which function fails; all if empty"),
    started=(float, "[s since the epoch]"),
    failed=(str, "why it has not run to its end; empty if it has"),
    currency=str,
    report=(maybe(dict[str, JsonValue]), "the measures, as 'rehearse --json' prints them"),
    plots=(many(str), "names of its pictures"),
)
_PICTURE: dict[int | str, dict[str, Any]] = {
    200: {
        "description": "The picture.",
        "content": {"image/svg+xml": {"schema": {"type": "string"}}},
    }
}


class NewRehearsal(Body):
    """A rehearsal that is to be started."""

    devices: int = Field(20, ge=1, le=2000, description="how many simulated devices")
    complaint: Line = Field("", description="the function that fails; every one if empty")


class Stop(Body):
    """A rehearsal that is to be stopped."""


@router.get("/packs/{pack}/rehearsal", response_model=RehearsalAnswer, responses=errors(404))
async def show_rehearsal(pack: PackName, workshop: WorkshopHere, request: Request) -> object:
    """Say how the last rehearsal of a pack stands, and what came of it."""
    return await workshop.do(lambda: _shown(_rehearsals(request), workshop, pack))


@router.post(
    "/packs/{pack}/rehearsal", response_model=RehearsalAnswer, responses=errors(404, body=True)
)
async def start_rehearsal(
    pack: PackName, body: NewRehearsal, workshop: WorkshopHere, request: Request
) -> object:
    """Start a rehearsal; one at a time runs."""
    found = _rehearsals(request)

    def started() -> dict[str, Any]:
        folder = pack_folder(workshop.settings, workshop.home, pack)
        functions = read_pack(folder)[0].pack.functions
        if body.complaint and body.complaint not in functions:
            known = ", ".join(functions)
            raise MisuseError(f"'{body.complaint}' is no function of this device; it has: {known}")
        found.start(pack, folder, body.devices, body.complaint)
        return _shown(found, workshop, pack)

    return await workshop.do(started)


@router.post(
    "/packs/{pack}/rehearsal/stop", response_model=RehearsalAnswer, responses=errors(404, body=True)
)
async def stop_rehearsal(
    pack: PackName, body: Stop, workshop: WorkshopHere, request: Request
) -> object:
    """Stop a rehearsal; what was played by then is shown."""
    del body  # a stop that is sent again stops nothing else
    found = _rehearsals(request)

    def stopped() -> dict[str, Any]:
        found.stop(pack)
        return _shown(found, workshop, pack)

    return await workshop.do(stopped)


@router.get(
    "/packs/{pack}/rehearsal/plots/{plot}",
    response_class=Response,
    responses={**errors(404), **_PICTURE},
)
async def show_plot(
    pack: PackName, plot: Annotated[str, Path(max_length=100)], request: Request
) -> Response:
    """Show a picture of a rehearsal."""
    found = _rehearsals(request).of(pack)
    if found is None:
        raise NotHereError("no rehearsal of this pack was started here")
    return Response(found.plot(plot), media_type="image/svg+xml")


def _rehearsals(request: Request) -> Rehearsals:
    found: Rehearsals = request.app.state.rehearsals
    return found


def _shown(rehearsals: Rehearsals, workshop: Workshop, pack: str) -> dict[str, Any]:
    contents, _ = read_pack(pack_folder(workshop.settings, workshop.home, pack))
    found = rehearsals.of(pack)
    none: dict[str, Any] = {
        "running": False, "stopped": False, "planned": 0, "done": 0, "progress": None,
        "complaint": "", "started": 0.0, "failed": "", "report": None, "plots": [],
    }  # fmt: skip
    shown = {
        "running": found.running,
        "stopped": found.stopped,
        "planned": found.planned,
        "done": found.done(),
        "progress": sent(found.progress()),
        "complaint": found.complaint,
        "started": found.started,
        "failed": found.failed(),
        "report": found.report(),
        "plots": found.plots(),
    } if found is not None else none  # fmt: skip
    return {"pack": pack, "currency": contents.pack.costs.currency, **shown}
