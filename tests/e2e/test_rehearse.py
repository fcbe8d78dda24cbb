"""Rehearsals in processes of their own: counted, kept, gone on with, and stopped by Ctrl-C."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from nextprobe.trials.strategies import NAMES

PATIENCE = 300.0
CODE = "from nextprobe.cli.main import run; run()"
PACK = ("ferry-terminal", "--complaint", "sound")
CHEAP = ("--strategies", "p_over_c,perfect_knowledge", "--no-calibrate")


@pytest.fixture(scope="module")
def environment(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    home = str(tmp_path_factory.mktemp("home"))
    return {**os.environ, "NEXTPROBE_HOME": home, "COLUMNS": "80", "PYTHONUTF8": "1"}


def ran(environment: dict[str, str], *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", CODE, "rehearse", *words], capture_output=True, check=False,
        text=True, encoding="utf-8", env=environment, timeout=PATIENCE,
    )  # fmt: skip


def answered(environment: dict[str, str], *words: str) -> dict[str, Any]:
    done = ran(environment, *words, "--json")
    assert done.returncode == 0, (done.stdout, done.stderr)
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.mark.slow
def test_all_strategies_are_played_kept_and_drawn(
    environment: dict[str, str], tmp_path: Path
) -> None:
    kept, plots = tmp_path / "kept.jsonl", tmp_path / "plots"
    words = (*PACK, "--devices", "3", "--training", "1", "--tries", "4", "--effort", "0",
             "--resume", str(kept))  # fmt: skip
    first = answered(environment, *words, "--plots", str(plots))
    assert tuple(first["strategies"]) == NAMES
    assert first["calibration"]["n"] > 500
    assert set(first["best_static"]["orders"]) == {"sound"}
    assert {path.name for path in plots.iterdir()} == {
        "costs.svg", "calibration.svg", "readings.svg"
    }  # fmt: skip
    lines = kept.read_text("utf-8").splitlines()
    assert len(lines) == 1 + 1 + 3
    assert answered(environment, *words) == first
    assert kept.read_text("utf-8").splitlines() == lines
    shown = ran(environment, *words)
    assert shown.returncode == 0
    assert not shown.stderr.strip()
    assert "best static order" in shown.stdout
    assert all(len(line.rstrip()) <= 80 for line in shown.stdout.splitlines())


def test_more_devices_go_on_where_the_file_ends(
    environment: dict[str, str], tmp_path: Path
) -> None:
    kept = tmp_path / "kept.jsonl"
    words = (*PACK, *CHEAP, "--resume", str(kept))
    few = answered(environment, *words, "--devices", "2")
    more = answered(environment, *words, "--devices", "4")
    whole = answered(environment, *PACK, *CHEAP, "--devices", "4")
    assert (few["devices"], more["devices"]) == (2, 4)
    assert more["strategies"] == whole["strategies"]
    refused = ran(environment, *words, "--devices", "4", "--seed", "9")
    assert refused.returncode == 1
    assert "seed 0, not 9" in refused.stderr


def _heed_interrupts() -> None:
    """Heed Ctrl-C: what runs in the background of a shell ignores it, and so does its child."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.mark.skipif(os.name != "posix", reason="signals are sent as on POSIX systems")
def test_what_is_stopped_keeps_what_is_done_and_leaves_nothing_running(
    environment: dict[str, str], tmp_path: Path
) -> None:
    kept = tmp_path / "kept.jsonl"
    playing = subprocess.Popen(
        [sys.executable, "-c", CODE, "rehearse", *PACK, *CHEAP, "--devices", "5000", "--json",
         "--resume", str(kept)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment,
        start_new_session=True, preexec_fn=_heed_interrupts,  # noqa: PLW1509
    )  # fmt: skip
    try:
        began = time.monotonic()
        while not kept.exists() or kept.read_bytes().count(b"\n") < 3:
            assert playing.poll() is None, playing.communicate()
            assert time.monotonic() - began < PATIENCE
            time.sleep(0.1)
        os.killpg(playing.pid, signal.SIGINT)
        # The pipes close once every process of it has ended.
        out, _ = playing.communicate(timeout=60.0)
    finally:
        if playing.poll() is None:
            os.killpg(playing.pid, signal.SIGKILL)
    assert playing.returncode == 0
    found = json.loads(out)
    assert found["stopped"] is True
    assert 2 <= found["devices"] < 5000
    assert found["devices"] == kept.read_bytes().count(b"\n") - 1
