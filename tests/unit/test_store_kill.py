"""Nothing lost: processes killed at any moment, and several that write at once."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from nextprobe.store import SqliteStore
from nextprobe.workbench.events import verify_chain
from nextprobe.workbench.log import EventLog

WRITER = """
import sys
from pathlib import Path
from nextprobe.errors import StoreConflictError
from nextprobe.store import SqliteStore
from nextprobe.workbench.log import EventLog

path, name, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
with SqliteStore(path, patience=30.0) as store:
    try:
        log = EventLog.start(store, "A", "started", {})
    except StoreConflictError:
        log = EventLog(store, "A")
    for turn in range(count):
        print(log.append("reading", {"bench": name, "turn": turn}).hash, flush=True)
"""
FOREVER = "1000000"


def bench(path: Path, name: str, count: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-c", WRITER, str(path), name, count]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


needs_sigkill = pytest.mark.skipif(
    not hasattr(signal, "SIGKILL"), reason="this platform has no SIGKILL"
)


def killed_after(path: Path, lines: int) -> set[str]:
    """Kill a writer once it has acknowledged some events; return the hashes of all it did."""
    with bench(path, str(lines), FOREVER) as writer:
        assert writer.stdout is not None
        acknowledged = [writer.stdout.readline().strip() for _ in range(lines)]
        writer.send_signal(signal.SIGKILL)
        return {*acknowledged, *writer.stdout.read().split()}


def assert_survives(path: Path, kills: tuple[int, ...]) -> None:
    acknowledged: set[str] = set()
    for lines in kills:
        acknowledged |= killed_after(path, lines)
        with SqliteStore(path) as store:
            events = store.read("A")
        assert verify_chain(events) is None
        assert acknowledged <= {event.hash for event in events}
    assert len(acknowledged) >= sum(kills)


@needs_sigkill
def test_what_was_acknowledged_survives_a_kill(tmp_path: Path) -> None:
    assert_survives(tmp_path / "jobs.db", (1, 7, 40))


@pytest.mark.slow
@needs_sigkill
def test_what_was_acknowledged_survives_many_kills(tmp_path: Path) -> None:
    assert_survives(tmp_path / "jobs.db", tuple(range(1, 41, 3)))


def test_processes_that_begin_and_write_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "jobs.db"
    benches = [bench(path, name, "20") for name in ("left", "right")]
    said = [writer.communicate()[0].split() for writer in benches]
    assert [writer.returncode for writer in benches] == [0, 0]
    assert [len(hashes) for hashes in said] == [20, 20]
    with SqliteStore(path) as store:
        events = EventLog(store, "A").events()
    assert len(events) == 1 + 20 + 20
    assert {event.hash for event in events} >= {*said[0], *said[1]}
    assert [item.name for item in tmp_path.iterdir() if item.name.startswith(".new")] == []
