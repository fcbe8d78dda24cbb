"""Every error of the interface has one shape, whatever goes wrong."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from web_bench import API, Bench, served

from nextprobe import errors
from nextprobe.errors import DataError, Finding, NextprobeError, Where
from nextprobe.web.trouble import error_of

FIELDS = {"kind", "says", "where", "try", "findings"}


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with served(tmp_path, json_bytes=2000) as found:
        found.start()
        yield found


def every_kind(kind: type[NextprobeError]) -> Iterator[type[NextprobeError]]:
    yield kind
    for further in kind.__subclasses__():
        if further.__module__ == errors.__name__:
            yield from every_kind(further)


@pytest.mark.parametrize("kind", list(every_kind(NextprobeError)))
def test_every_exception_of_the_tree_has_a_status_and_a_shape(kind: type[NextprobeError]) -> None:
    raised = kind([Finding("it is odd", Where("text", 3))]) if kind is DataError else kind("odd")
    status, body = error_of(raised)
    assert 400 <= status < 500 or (status == 503 and isinstance(raised, errors.StoreError))
    assert set(body["error"]) == FIELDS
    assert body["error"]["kind"] and body["error"]["says"]


JSON = {"content-type": "application/json"}
CASES: tuple[tuple[int, str, str, dict[str, Any]], ...] = (
    (404, "GET", "/moon", {}),
    (404, "GET", "/jobs/moon", {}),
    (404, "POST", "/jobs/moon/notes", {"json": {"key": "note-0001", "text": "x"}}),
    (405, "DELETE", "/jobs", {}),
    (405, "PUT", "/about", {"json": {}}),
    (413, "POST", "/jobs", {"content": b"x" * 3000, "headers": JSON}),
    (415, "POST", "/jobs", {"content": b"<x/>", "headers": {"content-type": "text/xml"}}),
    (403, "GET", "/jobs", {"headers": {"host": "evil.example"}}),
    (403, "GET", "/jobs", {"headers": {"origin": "http://evil.example"}}),
    (422, "POST", "/jobs", {"content": b"{", "headers": JSON}),
    (422, "POST", "/jobs", {"json": {}}),
    (422, "POST", "/jobs", {"json": []}),
    (422, "POST", "/jobs", {"json": {"key": "start-0001", "pack": "wicker", "more": 1}}),
    (422, "POST", "/jobs", {"content": b'{"pack": "\\ud800"}', "headers": JSON}),
    (422, "POST", "/jobs", {"content": b'{"\\ud800": "wicker"}', "headers": JSON}),
    (422, "POST", "/jobs", {"content": b'{"ceiling": NaN}', "headers": JSON}),
    (422, "POST", "/jobs", {"json": {"key": "start-0001", "pack": "wicker", "says": "x\x00"}}),
    (422, "POST", "/jobs", {"json": {"key": "start-0001", "pack": "w" * 201}}),
    (400, "POST", "/jobs", {"content": b"[" * 1500, "headers": JSON}),
    (422, "GET", "/packs/wicker/testability", {}),
    (400, "POST", "/jobs", {"content": b'{"key": "\xff"}', "headers": JSON}),
)


@pytest.mark.parametrize(("status", "method", "path", "more"), CASES)
def test_whatever_is_wrong_is_said_in_one_shape(
    bench: Bench, status: int, method: str, path: str, more: dict[str, Any]
) -> None:
    answer = bench.client.request(method, f"{API}{path}", **more)
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/json"
    assert set(answer.json()) == {"error"}
    said = answer.json()["error"]
    assert set(said) == FIELDS
    assert said["says"] and said["try"]


def test_several_findings_are_all_there(bench: Bench) -> None:
    found = bench.post("./readings", 422, text="foo\nbar", mode="ohms")["error"]
    assert (found["kind"], found["where"]) == ("data", "readings, line 1")
    assert [item["where"]["line"] for item in found["findings"]] == [1, 2]
    found = bench.post("./trials", 422, module=7, result=None)["error"]
    assert [item["where"]["name"] for item in found["findings"]] == ["module", "result"]


def test_what_nobody_foresaw_has_the_shape_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from fastapi.testclient import TestClient  # noqa: PLC0415

    with served(tmp_path) as bench:
        monkeypatch.setattr("nextprobe.web.summaries.Summaries.all", lambda _: 1 / 0)
        client = TestClient(
            bench.client.app, base_url="http://127.0.0.1", raise_server_exceptions=False
        )
        answer = client.get(f"{API}/jobs")
    assert answer.status_code == 500
    assert set(answer.json()["error"]) == FIELDS
    assert "ZeroDivisionError" not in answer.text


def test_a_locked_and_a_damaged_store_are_told_apart(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(error: NextprobeError) -> Any:
        def instead(*_: object) -> None:
            raise error

        return instead

    for error, status in (
        (errors.StoreLockedError("busy"), 423),
        (errors.StoreConflictError("first"), 409),
        (errors.StoreDamagedError("broken"), 503),
        (errors.StoreError("full"), 503),
    ):
        with monkeypatch.context() as patch:
            patch.setattr("nextprobe.store.sqlite.SqliteStore.append", fails(error))
            assert bench.post("./notes", status, text="x")["error"]["says"] == str(error)
    assert bench.get(".")["version"] == 1
