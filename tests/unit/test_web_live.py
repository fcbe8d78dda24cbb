"""The live channel: windows stay in step, and colours come as bytes."""

from __future__ import annotations

import faulthandler
import json
import math
import struct
import sys
from collections.abc import Iterator
from pathlib import Path
from threading import Event
from typing import Any

import numpy as np
import pytest
from starlette.websockets import WebSocketDisconnect
from web_bench import API, Bench, served

from nextprobe import Job
from nextprobe.board import MeterMode
from nextprobe.web.frames import MODES, READING, SUSPICION, reading_frame, suspicion_frame
from nextprobe.web.passphrase import hashed

PASSPHRASE = "three blue kettles"


@pytest.fixture(autouse=True)
def _ends() -> Iterator[None]:
    """Fail where a message never comes, instead of waiting for it."""
    faulthandler.dump_traceback_later(120.0, exit=True, file=sys.__stderr__)
    yield
    faulthandler.cancel_dump_traceback_later()


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with served(tmp_path, watch_seconds=0.05) as found:
        found.start()
        yield found


def window(bench: Bench, since: int = 0, suspects: int = 0) -> Any:
    headers = {"host": "127.0.0.1:8765", "origin": "http://127.0.0.1:8765"}
    return bench.client.websocket_connect(
        f"{API}/jobs/{bench.job}/live?since={since}&suspects={suspects}", headers=headers
    )


def test_a_window_gets_what_it_missed_and_then_what_happens(bench: Bench) -> None:
    bench.post("./checks", function="camera", result="fails")
    bench.post("./notes", text="one")
    with window(bench, since=1) as socket:
        found = socket.receive_json()
        assert (found["type"], found["version"]) == ("events", 3)
        assert [line["event"] for line in found["events"]] == [2, 3]
        socket.receive_bytes()
        bench.post("./withdrawals", event=3)
        found = socket.receive_json()
        assert [line["event"] for line in found["events"]] == [4]
        assert found["standing"] == [1, 2]


def test_two_windows_stay_in_step(bench: Bench) -> None:
    with window(bench) as one, window(bench, since=1) as other:
        for socket in (one, other):
            assert socket.receive_json()["version"] == 1
            socket.receive_bytes()
        bench.post("./notes", text="one")
        for socket in (one, other):
            assert socket.receive_json()["events"][0]["said"] == ["one"]


def test_suspicion_comes_as_little_endian_floats(bench: Bench) -> None:
    with window(bench) as socket:
        socket.receive_json()
        socket.receive_bytes()
        bench.post("./readings", readings=[["J4.3", 0.12]])
        socket.receive_json()
        frame = socket.receive_bytes()
    magic, form, kind, version, key, count = struct.unpack_from("<2sBBIII", frame)
    assert (magic, form, kind, version) == (b"NP", 1, SUSPICION, 2)
    shown = bench.get("./suspicion")
    assert (key, count) == (shown["key"], len(shown["suspicion"]))
    assert np.frombuffer(frame, "<f4", count, 16).tolist() == shown["suspicion"]
    assert len(frame) == 16 + 4 * count


def test_a_window_that_wants_suspects_gets_them_after_the_events(bench: Bench) -> None:
    with window(bench, suspects=3) as socket:
        for version in (1, 2):
            assert socket.receive_json()["type"] == "events"
            found = socket.receive_json()
            assert (found["type"], found["version"]) == ("suspects", version)
            assert found["suspects"] == bench.get("./suspects", most=3)["suspects"]
            socket.receive_bytes()
            bench.post("./readings", readings=[["J4.3", 0.12]])


def test_what_another_program_writes_is_seen(bench: Bench, tmp_path: Path) -> None:
    with window(bench) as socket:
        socket.receive_json()
        socket.receive_bytes()
        Job.open(bench.job, tmp_path).note("from the terminal")
        assert socket.receive_json()["events"][0]["said"] == ["from the terminal"]


def test_a_live_reading_goes_to_the_other_windows_and_is_not_recorded(bench: Bench) -> None:
    with window(bench) as one, window(bench) as other:
        for socket in (one, other):
            socket.receive_json()
            socket.receive_bytes()
        one.send_json({"type": "reading", "point": "J4.3", "mode": "ohms", "value": 1500.0})
        frame = other.receive_bytes()
        one.send_json({"type": "reading", "point": "J4.3", "mode": "diode", "value": None})
        over = other.receive_bytes()
    head = struct.unpack_from("<2sBBIII", frame)
    assert head == (b"NP", 1, READING, 1, MODES.index(MeterMode.OHMS), 0)
    assert struct.unpack_from("<d", frame, 16) == (1500.0,)
    assert frame[32:].decode() == "J4.3"
    assert struct.unpack_from("<I", over, 12) == (1,)
    assert math.isnan(struct.unpack_from("<d", over, 16)[0])
    assert bench.get(".")["version"] == 1


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        '{"type": "moon"}',
        '{"type": "reading"}',
        '{"type": "reading", "point": "J4.3", "value": NaN}',
        '{"type": "reading", "point": "J4.3", "value": 1e999}',
    ],
)
def test_what_is_no_message_is_answered_with_an_error(bench: Bench, text: str) -> None:
    with window(bench) as socket:
        socket.receive_json()
        socket.receive_bytes()
        socket.send_text(text)
        found = socket.receive_json()
        assert (found["type"], found["error"]["kind"]) == ("error", "invalid")


def test_a_long_message_closes_the_channel(bench: Bench) -> None:
    with window(bench) as socket:
        socket.receive_json()
        socket.receive_bytes()
        socket.send_text("x" * 5000)
        with pytest.raises(WebSocketDisconnect) as closed:
            socket.receive_json()
        assert closed.value.code == 4413


def test_a_binary_message_is_none(bench: Bench) -> None:
    with window(bench) as socket:
        socket.receive_json()
        socket.receive_bytes()
        socket.send_bytes(b"NP")
        assert socket.receive_json()["error"]["kind"] == "invalid"


def test_a_live_reading_does_not_wait_for_what_is_computed(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, go_on = Event(), Event()
    with window(bench) as one, window(bench) as other:
        for socket in (one, other):
            socket.receive_json()
            socket.receive_bytes()

        def waiting(*_: object) -> None:
            begun.set()
            assert go_on.wait(30.0)

        monkeypatch.setattr("nextprobe.web.routes.channel.suspicion", waiting)
        bench.post("./notes", text="one")
        assert begun.wait(30.0)
        try:
            one.send_json({"type": "reading", "point": "J4.3", "value": 0.5})
            frames = [other.receive() for _ in range(2)]
            assert [frame.get("bytes", b"")[:2] for frame in frames].count(b"NP") == 1
        finally:
            go_on.set()


def test_there_is_no_channel_of_no_job(bench: Bench) -> None:
    bench.job = "moon"
    with window(bench) as socket:
        assert socket.receive_json()["error"]["kind"] == "not found"
        with pytest.raises(WebSocketDisconnect) as closed:
            socket.receive_json()
        assert closed.value.code == 4404


@pytest.fixture
def locked(tmp_path: Path) -> Iterator[Bench]:
    """Give a bench with a passphrase, with somebody logged in."""
    with served(tmp_path, passphrase_hash=hashed(PASSPHRASE)) as found:
        log_in(found)
        found.start()
        yield found


def log_in(bench: Bench) -> dict[str, str]:
    bench.client.cookies.clear()
    answer = bench.client.post(f"{API}/session", json={"passphrase": PASSPHRASE})
    cookie = answer.headers["set-cookie"].partition(";")[0]
    return {"host": "127.0.0.1:8765", "cookie": cookie}


def test_logging_out_closes_the_channels_of_that_login_only(locked: Bench) -> None:
    other = log_in(locked)
    mine = log_in(locked)
    path = f"{API}/jobs/{locked.job}/live"
    with (
        locked.client.websocket_connect(path, headers=other) as stays,
        locked.client.websocket_connect(path, headers=mine) as one,
        locked.client.websocket_connect(path, headers=mine) as two,
    ):
        for socket in (stays, one, two):
            socket.receive_json()
            socket.receive_bytes()
        locked.client.cookies.clear()
        assert locked.client.delete(f"{API}/session", headers=mine).status_code == 204
        for socket in (one, two):
            with pytest.raises(WebSocketDisconnect) as closed:
                socket.receive_json()
            assert closed.value.code == 4401
        answer = locked.client.post(
            f"{API}/jobs/{locked.job}/notes", json={"key": "note-0001", "text": "on"}, headers=other
        )
        assert answer.status_code == 200
        assert stays.receive_json()["events"][0]["said"] == ["on"]


def test_a_channel_ends_with_the_time_of_its_login(tmp_path: Path) -> None:
    hash_of_it = hashed(PASSPHRASE)
    with served(tmp_path, passphrase_hash=hash_of_it, session_seconds=2.0) as bench:
        mine = log_in(bench)
        bench.start()
        with bench.client.websocket_connect(f"{API}/jobs/{bench.job}/live", headers=mine) as socket:
            found: dict[str, Any] = {}
            while found.get("type") != "websocket.close":
                found = dict(socket.receive())
            assert found["code"] == 4401


def test_frames_are_as_documented() -> None:
    frame = suspicion_frame(7, 9, np.array([0.25, 1.0], np.float32))
    assert frame == b"NP\x01\x01" + struct.pack("<IIIff", 7, 9, 2, 0.25, 1.0)
    frame = reading_frame(7, "J4.3", MeterMode.DIODE, 0.5, 3.0)
    assert frame == b"NP\x01\x02" + struct.pack("<IIIdd", 7, 0, 0, 0.5, 3.0) + b"J4.3"


def test_a_channel_says_that_it_is_alive(tmp_path: Path) -> None:
    with served(tmp_path, beat_seconds=0.05) as bench:
        bench.start()
        with window(bench, since=1) as socket:
            kinds = [socket.receive() for _ in range(6)]
    beats = [json.loads(each["text"]) for each in kinds if "beat" in (each.get("text") or "")]
    assert len(beats) >= 2
    assert beats[0] == {"type": "beat", "seconds": 0.05}
