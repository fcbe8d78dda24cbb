"""What the guard lets through, and what it says on every answer."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.websockets import WebSocketDisconnect
from web_bench import API, BASE, Bench, served

from nextprobe.errors import MisuseError
from nextprobe.web import Settings
from nextprobe.web.passphrase import hashed
from nextprobe.web.sessions import COOKIE, MOST_TRIES, WINDOW, Sessions

HERE = "127.0.0.1:8765"
PASSPHRASE = "three blue kettles"


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with served(tmp_path, port=8765, json_bytes=2000) as found:
        yield found


@pytest.fixture(scope="module")
def secret() -> str:
    return hashed(PASSPHRASE)


def kind(answer: Any) -> str:
    return str(answer.json()["error"]["kind"])


@pytest.mark.parametrize(
    "host",
    ["evil.example", "evil.example:8765", "127.0.0.1:80", "127.0.0.1", "192.168.0.9:8765", "",
     "127.0.0.1:8765@evil.example", "127.0.0.1:8765/x", "127.0.0.1:x", "[::1", "localhost.x:8765"],
)  # fmt: skip
def test_a_foreign_name_is_refused(bench: Bench, host: str) -> None:
    answer = bench.client.get(f"{API}/jobs", headers={"host": host})
    assert (answer.status_code, kind(answer)) == (403, "host")
    with (
        pytest.raises(WebSocketDisconnect),
        bench.client.websocket_connect(f"{API}/jobs/x/live", headers={"host": host}),
    ):
        pass


@pytest.mark.parametrize("host", [HERE, "localhost:8765", "[::1]:8765", "LOCALHOST:8765"])
def test_own_names_are_let_through(bench: Bench, host: str) -> None:
    assert bench.client.get(f"{API}/jobs", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9999"},
        {"origin": "http://localhost:8765"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate"},
    ],
)
def test_a_foreign_origin_is_refused(bench: Bench, headers: dict[str, str]) -> None:
    for answer in (
        bench.client.get(f"{API}/jobs", headers={"host": HERE, **headers}),
        bench.client.post(f"{API}/jobs", headers={"host": HERE, **headers}, json={}),
    ):
        assert (answer.status_code, kind(answer)) == (403, "origin")
    with (
        pytest.raises(WebSocketDisconnect),
        bench.client.websocket_connect(f"{API}/jobs/x/live", headers={"host": HERE, **headers}),
    ):
        pass


def test_the_own_origin_is_let_through(bench: Bench) -> None:
    headers = {"host": HERE, "origin": BASE, "sec-fetch-site": "same-origin"}
    assert bench.client.get(f"{API}/jobs", headers=headers).status_code == 200


def test_a_link_from_elsewhere_opens_a_page_but_not_the_interface(bench: Bench) -> None:
    headers = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate"}
    assert bench.client.get("/", headers=headers).status_code != 403


@pytest.mark.parametrize("path", ["/jobs", "/moon", "/jobs/x"])
def test_every_answer_carries_the_headers(bench: Bench, path: str) -> None:
    headers = bench.client.get(f"{API}{path}").headers
    policy = headers["content-security-policy"]
    assert "frame-ancestors 'none'" in policy and "script-src 'self';" in policy
    assert "unsafe" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cache-control"] == "no-store"


def test_too_much_is_refused_by_its_length_and_by_its_size(bench: Bench) -> None:
    json = {"content-type": "application/json"}
    answer = bench.client.post(f"{API}/jobs", content=b"x" * 2001, headers=json)
    assert (answer.status_code, kind(answer)) == (413, "too large")

    def parts() -> Iterator[bytes]:
        for _ in range(300):
            yield b'"aaaaaaaa"'

    answer = bench.client.post(f"{API}/jobs", content=parts(), headers=json)
    assert (answer.status_code, kind(answer)) == (413, "too large")
    odd = {**json, "content-length": "-5"}
    answer = bench.client.post(f"{API}/jobs", content=b"{}", headers=odd)
    assert answer.status_code == 413


@pytest.mark.parametrize("kind_of_body", ["text/plain", "application/x-www-form-urlencoded", ""])
def test_what_is_no_json_is_refused(bench: Bench, kind_of_body: str) -> None:
    headers = {"content-type": kind_of_body}
    answer = bench.client.post(f"{API}/jobs", content=b"{}", headers=headers)
    assert (answer.status_code, kind(answer)) == (415, "media type")


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.168.0.9", "bench.local"])
def test_other_machines_need_a_passphrase(host: str, secret: str) -> None:
    with pytest.raises(MisuseError, match="passphrase"):
        Settings(host=host)
    assert Settings(host=host, passphrase_hash=secret).host == host


@pytest.mark.parametrize("host", ["127.0.0.1", "::1", "localhost", "127.8.9.1"])
def test_this_machine_needs_none(host: str) -> None:
    assert Settings(host=host).passphrase_hash == ""


def test_an_address_of_everywhere_takes_addresses_but_no_other_names(
    tmp_path: Path, secret: str
) -> None:
    settings = {"host": "0.0.0.0", "passphrase_hash": secret, "names": frozenset({"bench.local"})}
    with served(tmp_path, port=8765, **settings) as bench:
        for host, status in (
            ("192.168.0.9:8765", 200), ("bench.local:8765", 200), ("evil.example:8765", 403),
        ):  # fmt: skip
            answer = bench.client.get(f"{API}/about", headers={"host": host})
            assert answer.status_code == status, host


def test_a_login_opens_everything(
    tmp_path: Path, secret: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    waited: list[float] = []

    async def sleep(seconds: float) -> None:
        waited.append(seconds)

    with served(tmp_path, passphrase_hash=secret) as bench:
        client = bench.client
        answer = client.get(f"{API}/jobs")
        assert (answer.status_code, kind(answer)) == (401, "login")
        with pytest.raises(WebSocketDisconnect), client.websocket_connect(f"{API}/jobs/x/live"):
            pass
        assert client.get(f"{API}/session").json() == {"needed": True, "open": False}
        with monkeypatch.context() as patch:
            patch.setattr(asyncio, "sleep", sleep)
            answer = client.post(f"{API}/session", json={"passphrase": "wrong words"})
            assert answer.status_code == 401 and COOKIE not in client.cookies
            assert waited[:1] == [0.25]
        answer = client.post(f"{API}/session", json={"passphrase": PASSPHRASE})
        cookie = answer.headers["set-cookie"]
        assert "HttpOnly" in cookie and "SameSite=strict" in cookie and PASSPHRASE not in cookie
        assert client.get(f"{API}/jobs").status_code == 200
        assert client.delete(f"{API}/session").status_code == 204
        assert (
            client.get(f"{API}/jobs", headers={"cookie": cookie.split(";")[0]}).status_code == 401
        )


def test_too_many_tries_close_the_door(
    tmp_path: Path, secret: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def sleep(seconds: float) -> None:
        pass

    with served(tmp_path, passphrase_hash=secret, watch_seconds=1e6) as bench:
        monkeypatch.setattr("nextprobe.web.routes.session.matches", lambda *_: False)
        monkeypatch.setattr("nextprobe.web.routes.session.asyncio.sleep", sleep)
        for _ in range(MOST_TRIES):
            answer = bench.client.post(f"{API}/session", json={"passphrase": "guess"})
            assert answer.status_code == 401
        answer = bench.client.post(f"{API}/session", json={"passphrase": PASSPHRASE})
        assert (answer.status_code, kind(answer)) == (429, "too many tries")


def test_tries_are_forgotten_and_logins_end() -> None:
    now = [0.0]
    sessions = Sessions(60.0, lambda: now[0])
    delays = [sessions.note_failure() for _ in range(MOST_TRIES)]
    assert delays == sorted(delays) and delays[-1] == 8.0
    assert sessions.wait() > 0.0
    now[0] = WINDOW
    assert sessions.wait() == 0.0
    cookie = sessions.opened()
    assert sessions.is_open(cookie) and not sessions.is_open("other")
    now[0] += 61.0
    assert not sessions.is_open(cookie)


def test_a_passphrase_is_in_no_answer_and_in_no_log(
    tmp_path: Path, secret: str, caplog: pytest.LogCaptureFixture
) -> None:
    with served(tmp_path, passphrase_hash=secret) as bench:
        bodies: list[Any] = [
            {"passphrase": ["hush hush hush"]}, {"passphrase": "hush", "more": "hush hush hush"},
        ]  # fmt: skip
        for body in bodies:
            answer = bench.client.post(f"{API}/session", json=body)
            assert answer.status_code == 422
            assert "hush" not in answer.text
    assert "hush" not in caplog.text and secret not in caplog.text
    assert secret not in repr(Settings(passphrase_hash=secret))


def test_a_name_of_a_proxy_counts_at_its_port(tmp_path: Path, secret: str) -> None:
    settings = {"passphrase_hash": secret, "names": frozenset({"bench.example"})}
    with served(tmp_path, port=8765, **settings) as bench:
        headers = {"host": "bench.example", "origin": "https://bench.example"}
        assert bench.client.get(f"{API}/about", headers=headers).status_code == 200
        headers = {"host": "bench.example", "origin": "https://evil.example"}
        assert bench.client.get(f"{API}/about", headers=headers).status_code == 403


def test_behind_a_proxy_with_tls_the_cookie_never_travels_without(
    tmp_path: Path, secret: str
) -> None:
    name = "bench.example"
    settings: dict[str, Any] = {"passphrase_hash": secret, "names": frozenset({name})}
    with served(tmp_path, port=8765, behind_tls=True, **settings) as bench:
        headers = {"host": name, "origin": f"https://{name}"}
        answer = bench.client.post(
            f"{API}/session", headers=headers, json={"passphrase": PASSPHRASE}
        )
        assert answer.status_code == 200 and "; Secure" in answer.headers["set-cookie"]
        headers = {"host": name, "origin": f"http://{name}"}
        assert bench.client.get(f"{API}/about", headers=headers).status_code == 403


def test_what_a_client_says_of_tls_is_not_believed(tmp_path: Path, secret: str) -> None:
    with served(tmp_path, port=8765, passphrase_hash=secret) as bench:
        answer = bench.client.post(
            f"{API}/session",
            headers={"x-forwarded-proto": "https", "forwarded": "proto=https"},
            json={"passphrase": PASSPHRASE},
        )
        assert "Secure" not in answer.headers["set-cookie"]


def test_a_proxy_with_tls_needs_a_passphrase_and_a_name(secret: str) -> None:
    with pytest.raises(MisuseError, match="--passphrase-file"):
        Settings(behind_tls=True, names=frozenset({"bench.example"}))
    with pytest.raises(MisuseError, match="--name"):
        Settings(behind_tls=True, passphrase_hash=secret)
