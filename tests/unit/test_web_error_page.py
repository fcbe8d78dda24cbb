"""Who asks for a page that can not be shown gets one; programs get the one shape of an error."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from web_bench import Bench, served

BROWSER = {"accept": "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"}
TOO_LONG = "x" * 300


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with served(tmp_path) as found:
        yield found


@pytest.mark.parametrize(
    ("address", "status", "says"),
    [("/moon", 404, "There is no page"), (f"/jobs/{TOO_LONG}", 422, "can not be shown")],
)
def test_a_person_gets_a_page(bench: Bench, address: str, status: int, says: str) -> None:
    answer = bench.client.get(address, headers=BROWSER)
    assert answer.status_code == status
    assert answer.headers["content-type"].startswith("text/html")
    assert "Content-Security-Policy" in answer.headers
    assert says in answer.text
    assert 'href="/"' in answer.text
    assert "moon" not in answer.text
    assert TOO_LONG not in answer.text


@pytest.mark.parametrize(
    ("address", "headers"),
    [
        ("/moon", {}),
        ("/moon", {"accept": "application/json"}),
        ("/api/v1/moon", BROWSER),
        ("/api/v1/jobs/moon", BROWSER),
        ("/static/moon.js", BROWSER),
    ],
)
def test_programs_and_scripts_get_json(bench: Bench, address: str, headers: dict[str, str]) -> None:
    answer = bench.client.get(address, headers=headers)
    assert answer.status_code == 404
    assert answer.json()["error"]["kind"] == "not found"
