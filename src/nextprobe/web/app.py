"""The application: its routes, its guard, and what lives as long as it."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from importlib import import_module

from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware

from nextprobe import __version__
from nextprobe.web.guard import API, Guard
from nextprobe.web.live import Hub
from nextprobe.web.pages import add_pages, error_page
from nextprobe.web.rehearsing import Rehearsals
from nextprobe.web.sessions import Sessions
from nextprobe.web.settings import Settings
from nextprobe.web.trouble import answer_errors
from nextprobe.web.workshop import Workshop

ROUTES = (
    "session",
    "packs",
    "jobs",
    "advice",
    "expectations",
    "entries",
    "teaching",
    "amending",
    "handover",
    "play",
    "rehearsals",
    "photos",
    "known_good",
    "good_entry",
    "channel",
)
"""Modules of routes, in the order of the description; each has a ``router``."""


def create_app(settings: Settings | None = None) -> FastAPI:
    """Return the application that serves a folder of jobs.

    Parameters
    ----------
    settings : Settings or None
        The usual folder on the loopback address if None.

    Raises
    ------
    MisuseError
        If it would be reachable from other machines without a passphrase.
    StoreError
        If the folder of jobs can not be used.
    """
    chosen = settings or Settings()
    workshop = Workshop(chosen)
    hub, sessions = Hub(workshop), Sessions(chosen.session_seconds)
    rehearsals = Rehearsals()

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[None]:
        watching = asyncio.create_task(hub.watch(chosen.watch_seconds))
        try:
            yield
        finally:
            watching.cancel()
            with suppress(asyncio.CancelledError):
                await watching
            await asyncio.to_thread(rehearsals.close)
            workshop.close()

    app = FastAPI(
        title="Nextprobe",
        version=__version__,
        summary="The bench, for programs and pages on this machine.",
        openapi_url=f"{API}/openapi.json",
        docs_url=None,
        redoc_url=None,
        lifespan=lifespan,
        separate_input_output_schemas=False,
    )
    app.state.workshop, app.state.hub, app.state.sessions = workshop, hub, sessions
    app.state.rehearsals = rehearsals
    for name in ROUTES:
        app.include_router(import_module(f"nextprobe.web.routes.{name}").router, prefix=API)
    add_pages(app)
    answer_errors(app, error_page)
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    app.add_middleware(Guard, settings=chosen, sessions=sessions)
    return app
