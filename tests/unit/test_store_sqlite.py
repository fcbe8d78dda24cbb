"""The SQLite store: append-only, clear about locks, full disks and files of other makes."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from nextprobe.errors import MisuseError, StoreDamagedError, StoreError, StoreLockedError
from nextprobe.store import SqliteStore, open_store
from nextprobe.store.sqlite_file import _publish
from nextprobe.workbench.events import Event, event_after, verify_chain
from nextprobe.workbench.log import EventLog


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Give a store of two jobs, one of 1 + 20 events and one of 1."""
    path = tmp_path / "jobs.db"
    with SqliteStore(path) as store:
        log = EventLog.start(store, "A", "started", {"device": "Lumo 7"}, title="no picture")
        for number in range(20):
            log.append("reading", {"pin": f"J4.{number}", "value": number / 7})
        EventLog.start(store, "B", "started", {})
    return path


@pytest.fixture
def raw(path: Path) -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        yield connection


def damage(raw: sqlite3.Connection, statement: str) -> None:
    """Change what is stored in a way that the triggers would refuse."""
    for (trigger,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
        raw.execute(f"DROP TRIGGER {trigger}")
    assert raw.execute(statement).rowcount > 0


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE events SET kind = 'other'",
        "DELETE FROM events WHERE number = 21",
        "INSERT OR REPLACE INTO events SELECT * FROM events WHERE number = 3",
        "REPLACE INTO events SELECT * FROM events WHERE number = 3",
        "DELETE FROM jobs",
        "UPDATE jobs SET events = 5",
        "UPDATE jobs SET job_id = 'C', events = events + 1",
    ],
)
def test_the_file_itself_refuses_to_forget(
    path: Path, raw: sqlite3.Connection, statement: str
) -> None:
    with pytest.raises(sqlite3.IntegrityError, match=r"never|only grow"):
        raw.execute(statement)
    with SqliteStore(path) as store:
        assert len(store.read("A")) == 21


def test_commits_are_flushed(path: Path, raw: sqlite3.Connection) -> None:
    assert raw.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    with SqliteStore(path) as store, store._writer.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2


def test_reading_can_not_write(path: Path) -> None:
    with SqliteStore(path) as store, store._reader.connect() as connection:
        assert connection.connection.dbapi_connection is not None
        with pytest.raises(sqlite3.OperationalError, match="readonly"):
            connection.connection.dbapi_connection.cursor().execute("DELETE FROM jobs")


def test_reading_goes_on_while_another_writes(path: Path, raw: sqlite3.Connection) -> None:
    raw.execute("BEGIN IMMEDIATE")
    with SqliteStore(path, patience=0.05) as store:
        assert len(store.read("A")) == 21
        assert len(store.jobs()) == 2


def test_a_lock_held_too_long_is_said_and_nothing_is_stored(
    path: Path, raw: sqlite3.Connection
) -> None:
    with SqliteStore(path, patience=0.05) as store:
        log = EventLog(store, "A")
        raw.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreLockedError, match=r"jobs\.db: another program is writing"):
            log.append("note", {})
        raw.execute("ROLLBACK")
        assert log.append("note", {}).number == 22


def test_a_full_disk_loses_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    path = tmp_path / "jobs.db"
    acknowledged: list[Event] = []
    with SqliteStore(path, most_pages=40) as store:
        log = EventLog.start(store, "A", "started", {})
        acknowledged += log.events()
        with pytest.raises(StoreError, match="the disk is full; nothing was stored"):
            while len(acknowledged) < 1000:
                acknowledged.append(log.append("note", {"text": "x" * 2000}))
        assert log.events() == tuple(acknowledged)
        assert store.read("A") == tuple(acknowledged)
    with SqliteStore(path) as store:
        log = EventLog(store, "A")
        assert log.append("note", {"text": "there is room again"}).number == len(acknowledged) + 1


@pytest.mark.parametrize(
    ("statement", "place", "good"),
    [
        ("UPDATE events SET payload_json = '{}' WHERE number = 5", "event 5", 4),
        ("UPDATE events SET time = time + 1 WHERE number = 21", "event 21", 20),
        ("UPDATE events SET time = 'noon' WHERE number = 7", "event 7", 6),
        ("UPDATE events SET kind = x'00ff' WHERE number = 7", "event 7", 6),
        ("UPDATE events SET kind = CAST(x'ff' AS TEXT) WHERE number = 7", "event 7", 6),
        ("UPDATE events SET supersedes = 'two' WHERE number = 7", "event 7", 6),
        ("UPDATE events SET supersedes = 2 WHERE number = 7", "event 7", 6),
        ("DELETE FROM events WHERE number = 9", "event 9", 8),
        ("DELETE FROM events WHERE job_id = 'A' AND number > 19", "event 20", 19),
        ("UPDATE events SET job_id = 'C' WHERE job_id = 'A' AND number = 21", "event 21", 20),
        ("DELETE FROM events WHERE job_id = 'A'", "event 1", 0),
    ],
)
def test_damage_to_events_is_found_and_what_is_good_can_be_had(
    path: Path, raw: sqlite3.Connection, statement: str, place: str, good: int
) -> None:
    with SqliteStore(path) as store:
        whole = store.read("A")
        damage(raw, statement)
        with pytest.raises(StoreDamagedError, match=f"job A, {place}: .*left as it is"):
            store.read("A")
        events, finding = store.read_intact("A")
        assert events == whole[:good]
        assert verify_chain(events) is None
        assert finding is not None
        assert finding.where.name == place


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE jobs SET title = 'other' WHERE job_id = 'A'",
        "UPDATE jobs SET events = 20 WHERE job_id = 'A'",
        "UPDATE jobs SET events = 'many' WHERE job_id = 'A'",
        "UPDATE jobs SET job_id = 'C' WHERE job_id = 'A'",
        "DELETE FROM jobs WHERE job_id = 'A'",
    ],
)
def test_damage_to_the_list_of_jobs_is_found(
    path: Path, raw: sqlite3.Connection, statement: str
) -> None:
    damage(raw, statement)
    with SqliteStore(path) as store:
        with pytest.raises(StoreDamagedError):
            store.jobs()
        with pytest.raises(StoreDamagedError):
            store.read("A")


def test_events_of_a_job_that_is_not_listed_are_found(path: Path, raw: sqlite3.Connection) -> None:
    damage(raw, "UPDATE events SET job_id = 'C' WHERE job_id = 'B'")
    with SqliteStore(path) as store:
        with pytest.raises(StoreDamagedError, match="do not fit together"):
            store.jobs()
        with pytest.raises(StoreDamagedError, match="not in the list"):
            store.read("C")
        with pytest.raises(MisuseError):
            store.read("D")


@pytest.mark.parametrize("content", [b"", b"J4.12,0.452\n" * 500, b"SQLite format 3\0"])
def test_a_file_of_another_make_is_refused_and_kept(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "jobs.db"
    path.write_bytes(content)
    with pytest.raises(StoreDamagedError, match=r"jobs\.db: .*left as it is"):
        SqliteStore(path)
    assert path.read_bytes() == content


def test_a_database_of_another_program_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "jobs.db"
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE events (job_id, number)")
        other.commit()
    with pytest.raises(StoreDamagedError, match="not a store of jobs"):
        SqliteStore(path)


def test_a_file_of_a_newer_program_is_refused(path: Path, raw: sqlite3.Connection) -> None:
    raw.execute("PRAGMA user_version = 99")
    with pytest.raises(StoreError, match="update the program"):
        SqliteStore(path)


def test_events_of_a_newer_program_are_refused(path: Path) -> None:
    with SqliteStore(path) as store:
        newer = event_after(
            store.read("B")[-1], "hologram", {}, time=0, engine_version="9", schema_version=2
        )
        store.append("B", newer)
        with pytest.raises(StoreError, match="update the program"):
            EventLog(store, "B")


def test_a_log_left_behind_by_a_lost_file_is_not_mixed_into_a_new_one(path: Path) -> None:
    with SqliteStore(path) as store:
        EventLog(store, "A").append("note", {})
        wal = path.with_name("jobs.db-wal")
        shutil.copy(wal, path.with_name("copy"))
    path.unlink()
    path.with_name("copy").rename(wal)
    with pytest.raises(StoreDamagedError, match="bring both back"):
        SqliteStore(path)
    assert not path.exists()


def test_a_file_that_another_process_made_meanwhile_is_kept(tmp_path: Path, path: Path) -> None:
    before = path.read_bytes()
    draft = tmp_path / "draft"
    draft.write_bytes(b"an empty store")
    _publish(draft, path)
    assert path.read_bytes() == before


def test_a_folder_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="can not be made"):
        SqliteStore(tmp_path / "nowhere" / "jobs.db")


def test_a_name_with_marks_of_an_address_is_a_name(tmp_path: Path) -> None:
    folder = tmp_path / "50 % off? #1"
    with open_store(folder) as store:
        EventLog.start(store, "A", "started", {})
    assert (folder / "jobs.db").is_file()
    assert [item.name for item in tmp_path.iterdir()] == [folder.name]
