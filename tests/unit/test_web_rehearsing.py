"""A rehearsal ends with the server that started it, however that ended."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from web_bench import small_pack

from nextprobe.web.rehearsing import Rehearsal, Rehearsals

PATIENCE = 90.0
DEVICES = 2000
_SERVER = """
import sys, time
from pathlib import Path
from nextprobe.web.rehearsing import Rehearsals
known = Rehearsals()
known.start("wicker", Path(sys.argv[1]), 2000, "")
found = known.of("wicker")
print(found.process.pid, found.folder, flush=True)
time.sleep(600)
"""


def comes_true(asked: Callable[[], bool]) -> bool:
    end = time.monotonic() + PATIENCE
    while not asked():
        if time.monotonic() > end:
            return False
        time.sleep(0.05)
    return True


def lives(pid: int) -> bool:
    """Tell whether a process does something still; one that only waits to be counted does not."""
    try:
        os.kill(pid, 0)
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except ProcessLookupError:
        return False
    except FileNotFoundError:
        return not Path("/proc/self").exists()
    return state != "Z"


@pytest.mark.skipif(os.name == "nt", reason="Windows can not be asked for a process like this")
def test_it_ends_when_the_server_is_killed(tmp_path: Path) -> None:
    pack = small_pack(tmp_path / "wicker")
    server = subprocess.Popen(
        [sys.executable, "-c", _SERVER, str(pack)], stdout=subprocess.PIPE, text=True
    )
    assert server.stdout is not None
    pid, _, folder = server.stdout.readline().strip().partition(" ")
    try:
        assert comes_true((Path(folder) / "devices").exists)
        assert lives(int(pid))
        server.kill()
        server.wait()
        assert comes_true(lambda: not lives(int(pid))), "the rehearsal goes on"
        assert comes_true(lambda: not Path(folder).exists())
    finally:
        server.kill()
        server.communicate()
        if lives(int(pid)):
            os.kill(int(pid), signal.SIGKILL)


def started(tmp_path: Path) -> tuple[Rehearsals, Rehearsal]:
    known = Rehearsals()
    known.start("wicker", small_pack(tmp_path / "wicker"), DEVICES, "")
    found = known.of("wicker")
    assert found is not None
    return known, found


def test_it_is_stopped_while_it_runs_and_that_is_no_failure(tmp_path: Path) -> None:
    known, found = started(tmp_path)
    try:
        assert comes_true((found.folder / "devices").exists)
        known.stop("wicker")
        known.stop("wicker")
        assert comes_true(lambda: not found.running)
        known.stop("wicker")
        assert (found.stopped, found.failed()) == (True, "")
    finally:
        known.close()


def test_it_says_what_it_does_from_the_first_order_on(tmp_path: Path) -> None:
    known, found = started(tmp_path)
    try:
        assert comes_true(lambda: "order 1 of" in getattr(found.progress(), "about", ""))
        at = found.progress()
        assert at is not None and at.doing == "tuning static orders"
        assert 0 <= at.done < at.of
    finally:
        known.close()
    assert found.progress() is None


def test_nothing_is_left_when_the_server_ends(tmp_path: Path) -> None:
    known, found = started(tmp_path)
    known.close()
    assert not found.running and not found.folder.exists()
