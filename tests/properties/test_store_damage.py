"""Whatever happens to the bytes of a store, it never gives wrong events in silence."""

from __future__ import annotations

import tempfile
from contextlib import suppress
from functools import cache
from pathlib import Path

from hypothesis import example, given, settings
from hypothesis import strategies as st

from nextprobe.errors import StoreError
from nextprobe.store import SqliteStore
from nextprobe.workbench.events import Event
from nextprobe.workbench.log import EventLog
from nextprobe.workbench.ports import JobRow

Content = tuple[dict[str, tuple[Event, ...]], tuple[JobRow, ...]]
JOBS = ("A-1", "A-2", "B-1")


@cache
def whole() -> tuple[bytes, Content]:
    """Bytes of a small store with some large payloads, and what is in it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "jobs.db"
        with SqliteStore(path) as store:
            for job_id in JOBS:
                log = EventLog.start(
                    store, job_id, "started", {"pack": job_id * 900}, title="x", clock=lambda: 1.5
                )
                for number in range(12):
                    log.append("reading", {"pin": f"J4.{number}", "value": number / 7})
            content = {job_id: store.read(job_id) for job_id in JOBS}, store.jobs()
        return path.read_bytes(), content


def assert_never_wrong(damaged: bytes) -> None:
    logs, rows = whole()[1]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "jobs.db"
        path.write_bytes(damaged)
        try:
            store = SqliteStore(path)
        except StoreError:
            return
        with store:
            for job_id in JOBS:
                try:
                    assert store.read(job_id) == logs[job_id]
                except StoreError:
                    assert_beginning(store, job_id)
            with suppress(StoreError):
                assert store.jobs() == rows


def assert_beginning(store: SqliteStore, job_id: str) -> None:
    """Check that what is left of a damaged job is a true beginning of it."""
    try:
        events, finding = store.read_intact(job_id)
    except StoreError:
        return
    assert finding is not None
    assert events == whole()[1][0][job_id][: len(events)]


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.integers(min_value=0), st.integers(1, 255)), min_size=1, max_size=4))
def test_flipped_bytes(flips: list[tuple[int, int]]) -> None:
    content = bytearray(whole()[0])
    for place, mask in flips:
        content[place % len(content)] ^= mask
    assert_never_wrong(bytes(content))


@settings(max_examples=25, deadline=None)
@given(st.floats(0.0, 1.0, exclude_max=True))
@example(0.0)
@example(0.5)
def test_truncated_files(share: float) -> None:
    content = whole()[0]
    assert_never_wrong(content[: int(share * len(content))])


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_pages_in_the_wrong_place(data: st.DataObject) -> None:
    content, size = whole()[0], 4096
    pages = [content[start : start + size] for start in range(0, len(content), size)]
    there = data.draw(st.integers(0, len(pages) - 1))
    pages[there] = data.draw(st.sampled_from(pages))
    assert_never_wrong(b"".join(pages))


def test_a_whole_file_is_read_without_complaint() -> None:
    content, (logs, rows) = whole()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "jobs.db"
        path.write_bytes(content)
        with SqliteStore(path) as store:
            assert {job_id: store.read(job_id) for job_id in JOBS} == logs
            assert store.jobs() == rows
