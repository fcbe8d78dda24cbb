"""The demo in processes of its own: watched, played and counted."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

PATIENCE = 180.0

Run = Callable[..., str]


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Run:
    """Run the program as a shell would; fault tables are kept between calls."""
    home: Path = tmp_path_factory.mktemp("home")
    extra = {"NEXTPROBE_HOME": str(home), "COLUMNS": "80", "PYTHONUTF8": "1"}
    environment = {**os.environ, **extra}

    def command(*words: str, text: str = "") -> str:
        code = "from nextprobe.cli.main import run; run()"
        done = subprocess.run(
            [sys.executable, "-c", code, *words], input=text, capture_output=True, check=False,
            text=True, encoding="utf-8", env=environment, timeout=PATIENCE,
        )  # fmt: skip
        assert done.returncode == 0, (done.stdout, done.stderr)
        assert not done.stderr
        return done.stdout

    return command


def test_a_job_is_told_to_its_end(run: Run) -> None:
    told = run("demo", "--effort", "4")
    assert "Everything here is invented" in told
    assert "► seen" in told
    assert "CAUTION" in told
    assert "Handed over: the right repair." in told
    assert "What was really wrong: firmware no longer recognises the imaging module." in told
    assert all(len(line) <= 80 for line in told.splitlines())


def test_a_player_who_takes_what_is_recommended_gets_the_same_job(run: Run) -> None:
    told = run("demo", "--effort", "4")
    played = run("demo", "--play", "--effort", "4", text="1\n" * 20)
    assert played.count("► seen") == told.count("► seen")
    assert told.splitlines()[-6:] == played.splitlines()[-6:]


def test_a_player_goes_another_way_and_gives_up_the_job(run: Run) -> None:
    played = run("demo", "--play", "--effort", "0", text="nonsense\n99\n?\n?2\n2\na\nq\n")
    assert "There is no step 'nonsense'" in played
    assert "There is no step '99'" in played
    assert played.count("because") >= 1
    assert played.count("► seen") == 1
    assert "Decline the repair" in played
    assert "Stopped before the end." in played


def test_a_player_who_leaves_ends_it_cleanly(run: Run) -> None:
    assert "Stopped before the end." in run("demo", "--play", "--effort", "0", text="")
