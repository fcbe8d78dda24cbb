"""What every store of events promises, whichever it is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from threading import Barrier, Thread

import pytest

from nextprobe.errors import MisuseError, StoreConflictError
from nextprobe.store import MemoryStore, SqliteStore
from nextprobe.workbench.events import Event, event_after, verify_chain
from nextprobe.workbench.log import EventLog
from nextprobe.workbench.ports import EventStore, JobRow


@pytest.fixture(params=["memory", "sqlite"])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[EventStore]:
    if request.param == "memory":
        yield MemoryStore()
        return
    with closing(SqliteStore(tmp_path / "jobs.db")) as opened:
        yield opened


def after(previous: Event | None, value: float = 0.5, kind: str = "reading") -> Event:
    return event_after(previous, kind, {"value": value}, time=1.5, engine_version="1")


def test_a_new_store_has_no_jobs(store: EventStore) -> None:
    assert store.jobs() == ()


def test_what_is_stored_is_read_back_equal(store: EventStore) -> None:
    first = event_after(
        None,
        "started",
        {"pack": {"Größe": [1, 1.0, None, "\x00Ω"]}, "tiny": 5e-324},
        time=1_764_056_459.123_456_7,
        engine_version="0.1.0",
        pack_hash="ab" * 32,
    )
    second = after(first, 0.1 + 0.2)
    store.create_job("A-17", first, title="Lumo 7, no picture")
    store.append("A-17", second)
    third = event_after(second, "withdrawn", {}, time=-0.0, engine_version="1", supersedes=2)
    store.append("A-17", third)
    assert store.read("A-17") == (first, second, third)


def test_jobs_are_listed_by_name(store: EventStore) -> None:
    first, other = after(None, 0.1), after(None, 0.2)
    store.create_job("B", first, title="second")
    store.create_job("A", other)
    last = after(first)
    store.append("B", last)
    assert store.jobs() == (JobRow("A", "", 1, other.hash), JobRow("B", "second", 2, last.hash))


def test_a_name_is_given_once(store: EventStore) -> None:
    store.create_job("A", after(None))
    with pytest.raises(StoreConflictError, match="there is a job A already"):
        store.create_job("A", after(None, 0.9))
    assert store.read("A") == (after(None),)


@pytest.mark.parametrize("job_id", ["", "  ", "a\nb", "\ud800"])
def test_a_name_that_nobody_could_type_is_refused(store: EventStore, job_id: str) -> None:
    with pytest.raises(MisuseError):
        store.create_job(job_id, after(None))
    assert store.jobs() == ()


def test_a_job_begins_with_the_first_event_of_a_chain(store: EventStore) -> None:
    with pytest.raises(MisuseError, match="can not begin so"):
        store.create_job("A", after(after(None)))


@pytest.mark.parametrize("use", [lambda s: s.read("A"), lambda s: s.append("A", after(None))])
def test_an_unknown_job_is_misuse(store: EventStore, use: Callable[[EventStore], object]) -> None:
    with pytest.raises(MisuseError, match="no job A"):
        use(store)


def test_a_forged_event_is_refused(store: EventStore) -> None:
    first = after(None)
    store.create_job("A", first)
    with pytest.raises(MisuseError, match="does not match its hash"):
        store.append("A", replace(after(first), kind="note"))
    assert store.read("A") == (first,)


def test_of_two_events_with_one_number_the_second_is_refused(store: EventStore) -> None:
    first = after(None)
    store.create_job("A", first)
    store.append("A", after(first, 0.1))
    with pytest.raises(StoreConflictError, match="read again"):
        store.append("A", after(first, 0.2))
    assert store.read("A") == (first, after(first, 0.1))


def test_an_event_of_another_chain_is_refused(store: EventStore) -> None:
    store.create_job("A", after(None, 0.1))
    with pytest.raises(StoreConflictError):
        store.append("A", after(after(None, 0.2)))


def test_benches_that_write_at_once_lose_nothing(store: EventStore) -> None:
    EventLog.start(store, "A", "started", {})
    benches, each = 3, 15
    together = Barrier(benches)
    failures: list[BaseException] = []

    def bench(name: int) -> None:
        try:
            log = EventLog(store, "A")
            together.wait()
            for count in range(each):
                log.append("reading", {"bench": name, "count": count})
        except BaseException as error:
            failures.append(error)

    threads = [Thread(target=bench, args=(name,)) for name in range(benches)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not failures
    events = store.read("A")
    assert verify_chain(events) is None
    for name in range(benches):
        mine = [event.payload["count"] for event in events[1:] if event.payload["bench"] == name]
        assert mine == list(range(each))


def test_a_log_sees_what_another_bench_wrote(store: EventStore) -> None:
    here = EventLog.start(store, "A", "started", {}, pack_hash="p")
    there = EventLog(store, "A")
    reading = there.append("reading", {"value": 0.5})
    assert here.events()[-1].kind == "started"
    note = here.append("note", {"text": "dropped in water"})
    assert (reading.number, note.number) == (2, 3)
    assert here.events() == store.read("A")
    assert note.pack_hash == "p"


def test_of_two_benches_that_correct_one_reading_the_second_is_told(store: EventStore) -> None:
    here = EventLog.start(store, "A", "started", {})
    here.append("reading", {"value": 0.5})
    there = EventLog(store, "A")
    there.append("reading", {"value": 0.6}, supersedes=2)
    with pytest.raises(MisuseError, match="superseded by event 3"):
        here.append("reading", {"value": 0.7}, supersedes=2)
    assert here.events() == store.read("A") == there.events()
