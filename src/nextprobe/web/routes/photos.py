"""Photos of a job: kept beside it under a name made from their content."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Request, Response

from nextprobe.errors import MisuseError
from nextprobe.job import Job
from nextprobe.store.photos import PhotoFolder
from nextprobe.web.asking import BenchHere, WorkshopHere, errors
from nextprobe.web.entering import Entered, digest
from nextprobe.web.pictures import picture
from nextprobe.web.shapes import many, shape
from nextprobe.web.trouble import NotHereError
from nextprobe.workbench.entry_names import EntryName
from nextprobe.workbench.record import PHOTO

router = APIRouter(tags=["photos"])

PhotoLine = shape("Photo", "A photo of a job.", event=int, time=float, name=str, caption=str)
PhotosAnswer = shape("Photos", "The photos of a job.", job=str, version=int, photos=many(PhotoLine))

_BODY = {
    "requestBody": {
        "required": True,
        "content": {
            kind: {"schema": {"type": "string", "format": "binary"}}
            for kind in ("image/jpeg", "image/png", "image/webp")
        },
    }
}
_TYPES = {"jpg": "image/jpeg", "png": "image/png"}
_PICTURE: dict[int | str, dict[str, Any]] = {
    200: {
        "description": "The photo.",
        "content": {
            kind: {"schema": {"type": "string", "format": "binary"}} for kind in _TYPES.values()
        },
    }
}


@router.post(
    "/jobs/{job}/photos",
    response_model=Entered,
    responses=errors(404, body=True),
    openapi_extra=_BODY,
)
async def add_photo(
    bench: BenchHere,
    workshop: WorkshopHere,
    request: Request,
    key: Annotated[
        str, Query(pattern=r"^[A-Za-z0-9_-]{8,64}$", description="made by the client, as ever")
    ],
    caption: Annotated[str, Query(max_length=1000)] = "",
) -> object:
    """Keep a photo; it is written anew without what the camera noted of place and time."""
    if not caption.isprintable():
        raise MisuseError("there is a control character in the caption")
    content = await request.body()
    await bench.ask(lambda job: job.job_id)
    made = await workshop.study(lambda: picture(content, workshop.settings.photo_pixels))
    photos = PhotoFolder(workshop.home)
    name = await workshop.do(lambda: photos.keep(made.content, made.kind))
    entry = EntryName(key, digest("photo", [name, caption]))
    return await bench.enter_named(entry, lambda job: job.add_photo(name, caption))


@router.get("/jobs/{job}/photos", response_model=PhotosAnswer, responses=errors(404))
async def list_photos(bench: BenchHere) -> object:
    """List the photos of a job."""

    def shown(job: Job) -> dict[str, Any]:
        return {"job": job.job_id, "version": len(job.events()), "photos": _photos(job)}

    return await bench.ask(shown)


@router.get(
    "/jobs/{job}/photos/{name}",
    response_class=Response,
    responses={**errors(404), **_PICTURE},
)
async def show_photo(
    bench: BenchHere,
    workshop: WorkshopHere,
    name: Annotated[str, Path(max_length=100, description="as the list gives it")],
) -> Response:
    """Show a photo of a job."""
    known = await bench.ask(lambda job: {photo["name"] for photo in _photos(job)})
    if name not in known:
        raise NotHereError("this job has no such photo")
    content = await workshop.do(lambda: PhotoFolder(workshop.home).read(name))
    return Response(content, media_type=_TYPES[name.rpartition(".")[2]])


def _photos(job: Job) -> list[dict[str, Any]]:
    standing = {line.event for line in job.history() if line.stands and line.kind == PHOTO}
    return [
        {"event": event.number, "time": event.time, **_named(event.payload)}
        for event in job.events()
        if event.number in standing
    ]


def _named(payload: dict[str, Any]) -> dict[str, str]:
    return {"name": payload["name"], "caption": payload["caption"]}
