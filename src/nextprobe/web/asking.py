"""What routes share: the workshop, the errors that they may answer with, parts of addresses."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Annotated, Any, TypeVar

from fastapi import Depends, Path, Query
from pydantic_core import to_json
from starlette.requests import HTTPConnection
from starlette.responses import Response

from nextprobe.board import MeterMode
from nextprobe.job import Job
from nextprobe.web.bodies import Body
from nextprobe.web.entering import Entry, enter, name_of
from nextprobe.web.live import Hub
from nextprobe.web.trouble import ErrorAnswer
from nextprobe.web.workshop import Workshop
from nextprobe.workbench.entry_names import EntryName

T = TypeVar("T")

_SAYS = {
    400: "The request can not be read.",
    401: "Nobody has logged in.",
    403: "It comes from another site, or calls the server by a foreign name.",
    404: "There is nothing of that name.",
    409: "The key stands for another entry, somebody was first, or the job can not be computed.",
    413: "Too much was sent.",
    415: "It is not of a type that is taken here.",
    422: "It makes no sense as given; nothing was written.",
    423: "Another program is writing to the store.",
    429: "Too many tries.",
    503: "The store on disk can not be used.",
}
_ALWAYS = (401, 403, 409, 422, 423, 503)
_OF_BODIES = (400, 413, 415)


def errors(*statuses: int, body: bool = False) -> dict[int | str, dict[str, Any]]:
    """Return the errors of a route for its description."""
    every = sorted({*_ALWAYS, *statuses, *(_OF_BODIES if body else ())})
    return {status: {"model": ErrorAnswer, "description": _SAYS[status]} for status in every}


def _workshop(connection: HTTPConnection) -> Workshop:
    found: Workshop = connection.app.state.workshop
    return found


def _hub(connection: HTTPConnection) -> Hub:
    found: Hub = connection.app.state.hub
    return found


WorkshopHere = Annotated[Workshop, Depends(_workshop)]
HubHere = Annotated[Hub, Depends(_hub)]
JobId = Annotated[str, Path(max_length=200, description="what the job is called")]
PackName = Annotated[str, Path(max_length=200, description="name of a pack")]
Most = Annotated[int, Query(ge=1, le=1000, description="how many at most")]
Point = Annotated[str, Query(min_length=1, max_length=200, description="pin or net")]
Mode = Annotated[MeterMode, Query(description="what the meter is set to")]


class Bench:
    """A job as routes use it.

    Parameters
    ----------
    job : str
    workshop : Workshop
    hub : Hub
    """

    def __init__(self, job: JobId, workshop: WorkshopHere, hub: HubHere) -> None:
        self.job_id = job
        self._workshop = workshop
        self._hub = hub

    async def ask(self, use: Callable[[Job], T]) -> T:
        """Ask the job, in its own thread."""
        return await self._workshop.job(self.job_id).do(use)

    async def answer(self, *what: Hashable, use: Callable[[Job], Any]) -> Response:
        """Answer what is in plain JSON types, computed once until the job changes.

        Parameters
        ----------
        *what : Hashable
            What is asked, with all that the answer depends on beside the job.
        use : callable
            Computes the answer.
        """
        content = await self.content(*what, use=lambda job: to_json(use(job)))
        return Response(content, media_type="application/json")

    async def content(self, *what: Hashable, use: Callable[[Job], bytes]) -> bytes:
        """Return the same for bytes."""
        return await self._workshop.job(self.job_id).answer(what, use)

    async def enter(self, body: Body, about: str, entry: Entry) -> dict[str, Any]:
        """Make an entry, and have all windows on the job see it."""
        return await self.enter_named(name_of(body, about), entry)

    async def enter_named(self, name: EntryName, entry: Entry) -> dict[str, Any]:
        """Make an entry of which the name is known."""
        answer = await self.ask(lambda job: enter(job, name, entry))
        if not answer["repeated"]:
            self._hub.tell(self.job_id)
        return answer


BenchHere = Annotated[Bench, Depends(Bench)]
