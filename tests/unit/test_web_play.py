"""Demo jobs over the interface: real jobs are told from simulated ones."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from web_bench import Bench, served


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with served(tmp_path) as found:
        yield found


@pytest.mark.parametrize("name", ["moon", "\U00013000" * 200, "%2e%2e%2fjobs", "x%0cy"])
def test_a_job_that_is_not_there_is_not_played(bench: Bench, name: str) -> None:
    bench.job = name
    for answer in (
        bench.client.get(bench._address("./play")),
        bench.client.post(
            bench._address("./play"), json={"key": "key-00001", "step": "probe:J4.3"}
        ),
    ):
        assert answer.status_code == 404, answer.text


def test_no_simulated_device_answers_in_a_real_job(bench: Bench) -> None:
    bench.start()
    assert bench.get("./play")["simulated"] is False
    answer = bench.post("./play", 422, step="probe:J4.3")
    assert answer["error"]["kind"] == "misuse"
