"""The pages for a browser: thin shells that our own scripts fill over the interface."""

from __future__ import annotations

from collections.abc import MutableMapping
from pathlib import Path
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, FastAPI
from fastapi import Path as InPath
from jinja2 import Environment, FileSystemLoader, select_autoescape
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.staticfiles import StaticFiles

from nextprobe import __version__

_HERE = Path(__file__).parent
STATIC = _HERE / "static"

router = APIRouter(include_in_schema=False)
_made = Environment(
    loader=FileSystemLoader(_HERE / "templates"),
    autoescape=select_autoescape(default=True, default_for_string=True),
    trim_blocks=True,
    lstrip_blocks=True,
)
_made.globals["version"] = __version__
_made.filters["in_address"] = lambda text: quote(str(text), safe="")

JobName = Annotated[str, InPath(max_length=200)]


class _Files(StaticFiles):
    """Files that a browser asks for again each time, and is mostly told that it has them."""

    async def get_response(self, path: str, scope: MutableMapping[str, Any]) -> Response:
        response = await super().get_response(path, scope)
        response.headers["Cache-Control"] = "no-cache"
        return response


def add_pages(app: FastAPI) -> None:
    """Add the pages and the files that they are made of."""
    app.include_router(router)
    app.mount("/static", _Files(directory=STATIC), name="static")


def _page(name: str, **values: object) -> HTMLResponse:
    text = _made.get_template(name).render(page=name.removesuffix(".html"), **values)
    return HTMLResponse(text, headers={"Cache-Control": "no-cache"})


@router.get("/")
async def jobs_page() -> HTMLResponse:
    """Show today's jobs."""
    return _page("jobs.html")


@router.get("/intake")
async def intake_page() -> HTMLResponse:
    """Take a device in."""
    return _page("intake.html")


@router.get("/packs")
async def packs_page() -> HTMLResponse:
    """Show what each pack can and can not tell apart, and rehearse it."""
    return _page("packs.html")


@router.get("/login")
async def login_page() -> HTMLResponse:
    """Ask for the passphrase."""
    return _page("login.html")


@router.get("/jobs/{job}")
async def bench_page(job: JobName) -> HTMLResponse:
    """Show the bench of a job; whether there is such a job its script will find out."""
    return _page("bench.html", job=job)


@router.get("/favicon.ico")
async def icon() -> Response:
    """Show the sign of the program where a browser asks for it by habit."""
    return RedirectResponse("/static/sign.svg")
