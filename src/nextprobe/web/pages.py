"""The pages for a browser: thin shells that our own scripts fill over the interface."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, FastAPI, Request
from fastapi import Path as InPath
from jinja2 import Environment, FileSystemLoader, select_autoescape
from starlette.responses import HTMLResponse, RedirectResponse, Response

from nextprobe import __version__
from nextprobe.diagnosis import LOOK_AHEADS
from nextprobe.web.static_files import AT, scripts_of, send_static, static_address

_HERE = Path(__file__).parent

SHOWN_STEPS = 300
"""How many steps the bench can show."""

router = APIRouter(include_in_schema=False)
_made = Environment(
    loader=FileSystemLoader(_HERE / "templates"),
    autoescape=select_autoescape(default=True, default_for_string=True),
    trim_blocks=True,
    lstrip_blocks=True,
)
_made.globals |= {"version": __version__, "static": static_address, "scripts_of": scripts_of}
_made.filters["in_address"] = lambda text: quote(str(text), safe="")

JobName = Annotated[str, InPath(max_length=200)]


def add_pages(app: FastAPI) -> None:
    """Add the pages and the files that they are made of."""
    app.include_router(router)
    app.add_route(f"{AT}/{{place:path}}", send_static, include_in_schema=False)


def error_page(request: Request, status: int, said: Mapping[str, Any]) -> Response | None:
    """Return an error as a page, for a person who asked for one; None for programs and scripts.

    Parameters
    ----------
    request : Request
    status : int
    said : mapping of str to object
        What the interface says of the error.
    """
    is_page = not request.url.path.startswith(("/api/", f"{AT}/"))
    if not is_page or "text/html" not in request.headers.get("accept", ""):
        return None
    answer = _page(request, "error.html", status=status, said=said)
    answer.status_code = status
    return answer


def _page(request: Request, name: str, **values: object) -> HTMLResponse:
    locked = bool(request.app.state.workshop.settings.passphrase_hash)
    page = name.removesuffix(".html")
    text = _made.get_template(name).render(page=page, locked=locked, **values)
    return HTMLResponse(text, headers={"Cache-Control": "no-cache"})


@router.get("/")
async def jobs_page(request: Request) -> HTMLResponse:
    """Show today's jobs."""
    return _page(request, "jobs.html")


@router.get("/intake")
async def intake_page(request: Request) -> HTMLResponse:
    """Take a device in."""
    return _page(request, "intake.html")


@router.get("/packs")
async def packs_page(request: Request) -> HTMLResponse:
    """Show what each pack can and can not tell apart, and rehearse it."""
    return _page(request, "packs.html")


@router.get("/login")
async def login_page(request: Request) -> HTMLResponse:
    """Ask for the passphrase."""
    return _page(request, "login.html")


@router.get("/jobs/{job}")
async def bench_page(job: JobName, request: Request) -> HTMLResponse:
    """Show the bench of a job; whether there is such a job its script will find out.

    Steps that are at hand are asked for at once; those that take long would keep the rest waiting.
    """
    known = request.app.state.workshop.has_answered(job, ("steps", SHOWN_STEPS, LOOK_AHEADS))
    return _page(request, "bench.html", job=job, most=SHOWN_STEPS, steps_known=known)


@router.get("/favicon.ico")
async def icon() -> Response:
    """Show the sign of the program where a browser asks for it by habit."""
    return RedirectResponse(static_address("sign.svg"))
