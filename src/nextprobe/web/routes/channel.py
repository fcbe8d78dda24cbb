"""The live channel: what happens in a job, to every window on it."""

from __future__ import annotations

import asyncio
import math
import time
from contextlib import suppress
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, WebSocket, WebSocketDisconnect
from pydantic import BaseModel, ConfigDict, ValidationError

from nextprobe.board import MeterMode
from nextprobe.errors import NextprobeError
from nextprobe.web.asking import Bench, BenchHere, HubHere
from nextprobe.web.bodies import Number, Word
from nextprobe.web.frames import reading_frame
from nextprobe.web.guard import cookie_in
from nextprobe.web.live import MOST_WINDOWS, Hub, Window, missed, suspected, suspicion
from nextprobe.web.sessions import Sessions
from nextprobe.web.trouble import error_json, error_of
from nextprobe.web.workshop import Workshop

router = APIRouter()

LONGEST = 4096
"""Characters of a message that a window may send."""
_MOST_A_SECOND = 50


class LiveReading(BaseModel):
    """What is under the probe now; it is shown in the other windows and not recorded."""

    model_config = ConfigDict(extra="forbid")

    type: Literal["reading"]
    point: Word
    mode: MeterMode = MeterMode.DIODE
    value: Number | None = None


@router.websocket("/jobs/{job}/live")
async def live(
    socket: WebSocket,
    bench: BenchHere,
    hub: HubHere,
    since: Annotated[int, Query(ge=0, le=10_000_000)] = 0,
    suspects: Annotated[int, Query(ge=0, le=1000)] = 0,
) -> None:
    """Send the events after a version, then each as it happens, and who and what is suspected."""
    if hub.count >= MOST_WINDOWS:
        await socket.close(4429, "too many windows are open")
        return
    await socket.accept()
    try:
        await bench.ask(lambda job: job.job_id)
    except NextprobeError as error:
        status, body = error_of(error)
        await socket.send_json({"type": "error", **body})
        await socket.close(4000 + status)
        return
    window = hub.open(bench.job_id, since, suspects)
    tasks = [
        asyncio.create_task(doing)
        for doing in (
            _send(socket, bench, window),
            _send_readings(socket, window),
            _hear(socket, hub, window),
            _end_with_login(socket),
            _beat(socket),
        )
    ]
    try:
        await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
    finally:
        hub.close(window)
        for task in tasks:
            task.cancel()
            with suppress(asyncio.CancelledError, WebSocketDisconnect, RuntimeError):
                await task


async def _send(socket: WebSocket, bench: Bench, window: Window) -> None:
    first = True
    while True:
        await window.news.wait()
        window.news.clear()
        following = asyncio.create_task(_follows(bench, window.suspects))
        try:
            message = await bench.ask(lambda job: missed(job, window.version))
            if not first and message["version"] <= window.version:
                continue
            first, window.version = False, message["version"]
            await socket.send_json(message)
            told, frame = await following
        except NextprobeError as error:
            await socket.send_json({"type": "error", **error_of(error)[1]})
            continue
        finally:
            following.cancel()
        if told:
            await socket.send_text(told.decode())
        if frame:
            await socket.send_bytes(frame)


async def _follows(bench: Bench, most: int) -> tuple[bytes, bytes]:
    """Return what follows from the events at once; the next step takes longer."""
    told, frame = await asyncio.gather(
        bench.content("suspected", most, use=lambda job: suspected(job, most)),
        bench.content("suspicion frame", use=suspicion),
    )
    return told, frame


async def _send_readings(socket: WebSocket, window: Window) -> None:
    """Pass on what is under other probes; it does not wait for anything that is computed."""
    while True:
        await socket.send_bytes(await window.readings.get())


async def _beat(socket: WebSocket) -> None:
    """Say again and again that the channel is alive: a line may fall silent without a word."""
    seconds: float = socket.app.state.workshop.settings.beat_seconds
    while True:
        await asyncio.sleep(seconds)
        await socket.send_json({"type": "beat", "seconds": seconds})


async def _end_with_login(socket: WebSocket) -> None:
    """Close the channel when the login ends that it was opened with; never where none is needed."""
    sessions: Sessions = socket.app.state.sessions
    workshop: Workshop = socket.app.state.workshop
    if not workshop.settings.passphrase_hash:
        await asyncio.Event().wait()
    await sessions.over(cookie_in(socket.headers.get("cookie", "")))
    await socket.close(4401, "the login has ended")


async def _hear(socket: WebSocket, hub: Hub, window: Window) -> None:
    """Hand on what is under the probe in this window; what is none is answered with an error."""
    moments: list[float] = []
    while True:
        message = await socket.receive()
        if message["type"] == "websocket.disconnect":
            return
        text = message.get("text") or ""
        now = time.monotonic()
        moments = [moment for moment in moments if now - moment < 1.0]
        moments.append(now)
        if len(moments) > _MOST_A_SECOND or len(text) > LONGEST:
            await socket.close(4413, "too much was sent")
            return
        try:
            reading = LiveReading.model_validate_json(text)
        except ValidationError:
            await socket.send_json(_not_understood())
            continue
        value = reading.value
        if value is not None and not math.isfinite(value):
            await socket.send_json(_not_understood())
            continue
        frame = reading_frame(window.version, reading.point, reading.mode, value, time.time())
        hub.tell_reading(window.job_id, frame, window)


def _not_understood() -> dict[str, Any]:
    remedy = 'send {"type": "reading", "point": "J4.3", "mode": "diode", "value": 0.452}'
    return {"type": "error", **error_json("invalid", "this is no message", remedy=remedy)}
