"""A real server and a real browser for the tests of the pages."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

PROGRAM = [sys.executable, "-c", "from nextprobe.cli.main import run; run()"]
PATIENCE = 300.0
WAIT = 60_000.0
"""How long a page may take [ms]: machines that test may be slow."""


def free_port() -> int:
    """Return a port that nobody listens at."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def environment(home: Path) -> dict[str, str]:
    """Return the environment of a program whose jobs are kept in a folder."""
    return {**os.environ, "NEXTPROBE_HOME": str(home), "OPENBLAS_NUM_THREADS": "1"}


@contextmanager
def serving(
    home: Path,
    *words: str,
    port: int = 0,
    stderr: int = subprocess.DEVNULL,
    patience: float = PATIENCE,
) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """Give a server and its address; it is killed at the end, or after some patience [s].

    What it logs is kept for the test only if `stderr` says so: a pipe that nobody reads fills up.
    """
    process = subprocess.Popen(
        [*PROGRAM, "serve", "--no-open", "--port", str(port), *words],
        env=environment(home), stdout=subprocess.PIPE, stderr=stderr, text=True,
    )  # fmt: skip
    watchdog = threading.Timer(patience, process.kill)
    watchdog.start()
    try:
        assert process.stdout is not None
        said = process.stdout.readline()
        assert said.startswith("The bench is at http://"), said
        yield process, said.split()[4].rstrip("/")
    finally:
        watchdog.cancel()
        process.kill()
        process.communicate()


def chromium() -> str:
    """Return the browser of this machine; the tests are skipped where there is none, but in CI."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        missing("there is no chromium: apt-get install chromium")
    return str(found)


def missing(what: str) -> None:
    """Skip visibly; fail where CI is set."""
    if os.environ.get("CI"):
        pytest.fail(what)
    pytest.skip(what)
