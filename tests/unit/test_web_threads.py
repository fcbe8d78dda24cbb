"""Each job has a thread: what takes long in one keeps nobody else waiting, and is done in order."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier, Event, get_ident
from typing import Any

import pytest
from web_bench import API, Bench, served

from nextprobe.job import Job
from nextprobe.web import workshop

PATIENCE = 30.0


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with served(tmp_path) as found:
        found.start()
        yield found


def test_a_job_that_computes_keeps_nobody_else_waiting(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow, other = bench.job, bench.start()["job"]
    begun, go_on = Event(), Event()
    plain = Job.overview

    def waiting(job: Job) -> Any:
        if job.job_id == slow:
            begun.set()
            assert go_on.wait(PATIENCE)
        return plain(job)

    monkeypatch.setattr(Job, "overview", waiting)
    with ThreadPoolExecutor(1) as pool:
        asked = pool.submit(bench.client.get, f"{API}/jobs/{slow}")
        try:
            assert begun.wait(PATIENCE)
            for path in ("/about", "/jobs", "/packs", f"/jobs/{other}"):
                assert bench.client.get(f"{API}{path}").status_code == 200
            assert not asked.done()
        finally:
            go_on.set()
        assert asked.result(PATIENCE).status_code == 200


def test_one_job_is_only_ever_in_one_thread(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    threads = set()
    plain = Job.history

    def noted(job: Job) -> Any:
        threads.add(get_ident())
        return plain(job)

    monkeypatch.setattr(Job, "history", noted)
    start = Barrier(4)

    def ask(number: int) -> int:
        start.wait(PATIENCE)
        body = {"key": f"note-{number:05d}", "text": f"note {number}"}
        bench.client.post(f"{API}/jobs/{bench.job}/notes", json=body)
        return bench.client.get(f"{API}/jobs/{bench.job}/events").status_code

    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(ask, range(4))) == [200] * 4
    assert len(threads) == 1
    assert bench.get(".")["version"] == 5


def test_the_same_entry_sent_at_once_by_many_is_written_once(bench: Bench) -> None:
    start = Barrier(4)

    def send(_: int) -> Any:
        start.wait(PATIENCE)
        body = {"key": "note-00001", "text": "one"}
        return bench.client.post(f"{API}/jobs/{bench.job}/notes", json=body).json()

    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(send, range(4)))
    assert sorted(answer["repeated"] for answer in found) == [False, True, True, True]
    assert {answer["recorded"]["event"] for answer in found} == {2}


def test_jobs_that_are_long_unused_are_let_go_and_come_back(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(workshop, "MOST_OPEN", 2)
    jobs = [bench.start()["job"] for _ in range(4)]
    for job in (*jobs, *jobs):
        bench.job = job
        assert bench.get(".")["version"] == 1


def test_a_job_that_can_not_be_computed_still_shows_its_log(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ValueError("no answer")

    with monkeypatch.context() as patch:
        patch.setattr("nextprobe.diagnosis.case.Case.suspects", broken)
        error = bench.get("./suspects", 409)["error"]
        assert error["kind"] == "not computed" and "no answer" in error["says"]
        assert len(bench.get("./events")["events"]) == 1
    bench.get("./suspects")
