"""Logging in, and what the server is."""

from __future__ import annotations

import asyncio

from fastapi import APIRouter, Request, Response

from nextprobe import __version__
from nextprobe.board import MeterMode, Role
from nextprobe.web.asking import WorkshopHere, errors
from nextprobe.web.bodies import Login
from nextprobe.web.guard import API, cookie_in
from nextprobe.web.passphrase import matches
from nextprobe.web.sessions import COOKIE, Sessions
from nextprobe.web.shapes import many, shape
from nextprobe.web.trouble import RefusedError

router = APIRouter(tags=["session"])

SessionShown = shape(
    "Session",
    "Whether somebody has logged in.",
    needed=(bool, "whether the server has a passphrase"),
    open=(bool, "whether requests are answered"),
)
About = shape(
    "About",
    "What the server is, and the words that it knows.",
    program=str,
    version=str,
    modes=(many(MeterMode), "modes of the meter, numbered from 0 in binary messages"),
    roles=many(Role),
    json_bytes=(int, "largest request [bytes]"),
    photo_bytes=(int, "largest photo [bytes]"),
    photo_pixels=(int, "most pixels of a photo"),
)


@router.get("/about", response_model=About, responses=errors())
async def about(workshop: WorkshopHere) -> object:
    """Say what the server is; needs no login."""
    settings = workshop.settings
    return {
        "program": "nextprobe",
        "version": __version__,
        "modes": list(MeterMode),
        "roles": list(Role),
        "json_bytes": settings.json_bytes,
        "photo_bytes": settings.photo_bytes,
        "photo_pixels": settings.photo_pixels,
    }


@router.get("/session", response_model=SessionShown, responses=errors())
async def session(request: Request, workshop: WorkshopHere) -> object:
    """Say whether a login is needed, and whether there is one."""
    needed = bool(workshop.settings.passphrase_hash)
    cookie = cookie_in(request.headers.get("cookie", ""))
    return {"needed": needed, "open": not needed or _sessions(request).is_open(cookie)}


@router.post("/session", response_model=SessionShown, responses=errors(429, body=True))
async def log_in(
    body: Login, request: Request, response: Response, workshop: WorkshopHere
) -> object:
    """Log in with the passphrase; sets a cookie that scripts can not read."""
    sessions, known = _sessions(request), workshop.settings.passphrase_hash
    if not known:
        return {"needed": False, "open": True}
    async with sessions.trying:
        if sessions.wait() > 0.0:
            minutes = sessions.wait() / 60.0
            remedy = f"wait {minutes:.0f} minutes, or start the server again"
            raise RefusedError(429, "too many tries", "the passphrase was wrong too often", remedy)
        if not await asyncio.to_thread(matches, known, body.passphrase):
            await asyncio.sleep(sessions.note_failure())
            raise RefusedError(401, "login", "that is not the passphrase", "try again")
    response.set_cookie(
        COOKIE,
        sessions.opened(),
        max_age=int(workshop.settings.session_seconds),
        path=API,
        httponly=True,
        samesite="strict",
        secure=workshop.settings.behind_tls or request.url.scheme == "https",
    )
    return {"needed": True, "open": True}


@router.delete("/session", status_code=204, responses=errors())
async def log_out(request: Request, response: Response) -> None:
    """End the login."""
    _sessions(request).close(cookie_in(request.headers.get("cookie", "")))
    response.delete_cookie(COOKIE, path=API)


def _sessions(request: Request) -> Sessions:
    found: Sessions = request.app.state.sessions
    return found
