"""What the server promises about its safety, as ``docs/api.md`` says it."""

from __future__ import annotations

import inspect
import logging
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from starlette.websockets import WebSocketDisconnect
from web_bench import API, BASE, Bench, served

from nextprobe.cli.serve import serve
from nextprobe.errors import MisuseError
from nextprobe.web import Settings
from nextprobe.web.passphrase import hashed
from nextprobe.web.serving import address, listening

HERE = "127.0.0.1:8765"
PASSPHRASE = "three blue kettles"
PAGES = ("/", "/intake", "/packs", "/login", "/jobs/x", "/static/theme.css", "/favicon.ico", "/no")
_UP = ("..", "%2e%2e", "..%2f..%2fjobs.db", "%2e%2e%5cjobs.db", "%2fetc%2fpasswd", "~", "x%00y")


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with served(tmp_path, port=8765) as found:
        found.start()
        yield found


def test_it_listens_on_the_loopback_address_where_nothing_else_is_said() -> None:
    host = inspect.signature(serve).parameters["host"].default
    assert Settings().host == host == "127.0.0.1"
    with listening(host, 0) as socket:
        assert socket.getsockname()[0] == "127.0.0.1"
        assert address(Settings(port=1)) == "http://127.0.0.1:1/"


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.7", "bench.local", "127.0.0.1.nip"])
def test_elsewhere_it_needs_a_passphrase_and_says_how_to_set_one(host: str) -> None:
    with pytest.raises(MisuseError) as refused:
        Settings(host=host)
    for words in ("nextprobe passphrase FILE", "--passphrase-file FILE"):
        assert words in str(refused.value)


@pytest.mark.parametrize("path", PAGES)
def test_pages_and_files_are_not_given_to_foreign_names_and_origins(
    bench: Bench, path: str
) -> None:
    get = bench.client.get
    assert get(path, headers={"host": "evil.example:8765"}).status_code == 403
    headers = {"host": HERE, "origin": "http://evil.example:8765"}
    assert get(path, headers=headers).status_code == 403
    headers = {"host": HERE, "sec-fetch-site": "cross-site", "sec-fetch-mode": "no-cors"}
    assert get(path, headers=headers).status_code == 403


@pytest.mark.parametrize(
    "headers",
    [{"host": "evil.example:8765"}, {"host": HERE, "origin": "http://evil.example:8765"},
     {"host": HERE, "origin": "null"}, {"host": HERE, "sec-fetch-site": "cross-site"}],
)  # fmt: skip
def test_the_live_channel_is_not_given_to_them_either(
    bench: Bench, headers: dict[str, str]
) -> None:
    with (
        pytest.raises(WebSocketDisconnect) as refused,
        bench.client.websocket_connect(f"{API}/jobs/{bench.job}/live", headers=headers),
    ):
        pass
    assert refused.value.code == 4403


class _Inline(HTMLParser):
    """Lists what a strict policy would refuse in a page."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = dict(attrs)
        if tag == "style" or (tag == "script" and not (names.get("src") or "").startswith("/")):
            self.found.append(tag)
        self.found += [name for name in names if name == "style" or name.startswith("on")]
        self.found += [
            str(text) for text in names.values() if (text or "").lower().startswith("javascript:")
        ]


@pytest.mark.parametrize("path", ["/", "/intake", "/packs", "/login", "/jobs/x"])
def test_pages_have_nothing_inline_and_a_policy_that_allows_nothing_inline(
    bench: Bench, path: str
) -> None:
    answer = bench.client.get(path)
    policy = dict(
        part.strip().split(" ", 1) for part in answer.headers["content-security-policy"].split(";")
    )
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == policy["connect-src"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert not re.search(r"unsafe|\*|https?:|data:", " ".join(policy.values()))
    inline = _Inline()
    inline.feed(answer.text)
    assert answer.status_code == 200 and inline.found == []


def test_a_name_of_a_job_in_a_page_is_text(bench: Bench) -> None:
    text = bench.client.get("/jobs/%3Cscript%3Ealert(1)%22").text
    assert "<script>alert" not in text and "&lt;script&gt;alert(1)&#34;" in text


def files(home: Path) -> list[Path]:
    """Return all files but those of the store of known-good boards, opened when first asked for."""
    return sorted(file for file in home.rglob("*") if not file.name.startswith("known-good.db"))


@pytest.mark.parametrize("name", _UP)
@pytest.mark.parametrize(
    "path",
    ["/static/{}", "/static/x/{}", f"{API}/packs/{{}}", f"{API}/packs/{{}}/board",
     f"{API}/packs/{{}}/rehearsal/plots/cost", f"{API}/packs/wicker/rehearsal/plots/{{}}",
     f"{API}/templates/{{}}", f"{API}/jobs/{{}}", f"{API}/jobs/{{}}/play",
     f"{API}/jobs/{{}}/photos", f"{API}/jobs/JOB/photos/{{}}", f"{API}/known-good/{{}}"],
)  # fmt: skip
def test_no_name_is_a_way_to_other_files(
    bench: Bench, tmp_path: Path, path: str, name: str
) -> None:
    (tmp_path / "play").mkdir(exist_ok=True)
    before = files(tmp_path)
    answer = bench.client.get(path.format(name).replace("JOB", bench.job))
    # A name that is only dots is taken out of the address by the client itself.
    assert answer.status_code in ((404,) if "%2f" in name or "%00" in name else (200, 404, 405))
    assert b"SQLite" not in answer.content and b"root:" not in answer.content
    assert files(tmp_path) == before


@pytest.mark.parametrize("name", ["../../etc", "/etc", "..", "packs/../../x"])
def test_no_body_names_a_file(bench: Bench, name: str) -> None:
    key: dict[str, Any] = {"key": "safety-0001"}
    for path, body in (
        ("/jobs", {"pack": name}), ("/play", {"pack": name, "name": "x"}),
        ("/play", {"pack": "wicker", "name": name}),
    ):  # fmt: skip
        answer = bench.client.post(f"{API}{path}", json=key | body)
        assert answer.status_code in (404, 422), answer.text


def test_neither_passphrase_nor_cookie_nor_what_was_sent_is_logged_even_when_all_goes_wrong(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    def breaks(*_: object) -> bool:
        raise RuntimeError("broken")

    caplog.set_level(logging.DEBUG)
    secret = hashed(PASSPHRASE)
    with served(tmp_path, passphrase_hash=secret) as bench:
        opened = bench.client.post(f"{API}/session", json={"passphrase": PASSPHRASE})
        cookie = opened.headers["set-cookie"].partition(";")[0].partition("=")[2]
        bench.start()
        bench.post("./notes", text="the customer's own words")
        bench.client.get(f"{API}/moon?token={cookie}")
        monkeypatch.setattr("nextprobe.web.routes.session.matches", breaks)
        with pytest.raises(RuntimeError):
            bench.client.post(f"{API}/session", json={"passphrase": PASSPHRASE})
        monkeypatch.setattr("nextprobe.job.Job.history", breaks)
        with pytest.raises(RuntimeError):
            bench.get("./events")
    said = "".join(capfd.readouterr()) + "".join(
        logging.Formatter().format(each) for each in caplog.records if each.name != "httpx2"
    )
    assert "nobody foresaw" in said
    for word in (PASSPHRASE, cookie, secret, "own words"):
        assert word not in said


def test_the_server_keeps_no_log_of_requests(monkeypatch: pytest.MonkeyPatch) -> None:
    from nextprobe.web import serving  # noqa: PLC0415

    given: dict[str, Any] = {}

    class Noted:
        def __init__(self, _app: object, **options: Any) -> None:
            given.update(options)
            raise KeyboardInterrupt

    monkeypatch.setattr(serving.uvicorn, "Config", Noted)
    monkeypatch.setattr(serving, "create_app", lambda _settings: None)
    with listening("127.0.0.1", 0) as socket, pytest.raises(KeyboardInterrupt):
        serving.run(Settings(), socket, lambda: None)
    assert given["access_log"] is False and given["proxy_headers"] is False
    assert BASE.startswith("http://127.0.0.1")


def test_pages_offer_to_log_out_where_there_is_a_passphrase_and_only_there(
    bench: Bench, tmp_path: Path
) -> None:
    assert "log-out" not in bench.client.get("/").text
    with served(tmp_path / "locked", passphrase_hash=hashed(PASSPHRASE)) as locked:
        assert "log-out" in locked.client.get("/").text
        assert "log-out" not in locked.client.get("/login").text
