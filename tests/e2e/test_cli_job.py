"""Whole jobs through the command line alone, in processes of their own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from nextprobe import Job
from nextprobe.diagnosis import Act, Case
from nextprobe.diagnosis.acts import FAILED
from nextprobe.diagnosis.running import NORMAL, bin_of
from nextprobe.job.shelf import typed
from nextprobe.trials.device import SimulatedDevice
from nextprobe.trials.truth import Truth, draw_truth
from nextprobe.workbench.move_json import act_from_json

PATIENCE = 120.0
MOST_STEPS = 40


class Shell:
    """Runs the program as a script would."""

    def __init__(self, home: Path) -> None:
        self.home = home
        self._environment = {
            **os.environ, "NEXTPROBE_HOME": str(home), "COLUMNS": "100",
            "OPENBLAS_NUM_THREADS": "1",
        }  # fmt: skip

    def run(self, *words: str, text: str = "") -> tuple[int, str, str]:
        """Return exit code and what was printed."""
        command = [sys.executable, "-c", "from nextprobe.cli.main import run; run()", *words]
        done = subprocess.run(
            command, input=text, capture_output=True, text=True, env=self._environment,
            timeout=PATIENCE, check=False,
        )  # fmt: skip
        assert "Traceback" not in done.stderr
        return done.returncode, done.stdout, done.stderr

    def json(self, *words: str, text: str = "") -> Any:
        """Return what a command that must succeed printed for machines."""
        code, out, err = self.run(*words, "--json", text=text)
        assert code == 0, (words, out, err)
        return json.loads(out)


@pytest.fixture
def shell(tmp_path: Path) -> Shell:
    return Shell(tmp_path / "jobs")


def simulated(case: Case, family: str, seed: int) -> SimulatedDevice:
    rng = np.random.default_rng(seed)
    pack, board = case.brief.pack, case.brief.board
    candidate = next(item for item in case.model.listed if item.fault.family == family)
    truth: Truth = draw_truth(pack, board, case.brief.complaint, candidate, rng)
    return SimulatedDevice(pack, board, truth, rng, case.brief.references)


def answer(case: Case, device: SimulatedDevice, step: dict[str, Any]) -> list[str]:
    """Return what the device makes of a step, as words for the command line."""
    acts: list[Act] = [act_from_json(act) for act in step["acts"]]
    if step["kind"] == "run":
        return probed(case, device, acts)
    moves = device.answer_all(acts)
    if step["kind"] == "reading":
        assert moves[0].reading is not None
        return [typed(moves[0].reading)]
    return ["refresh failed"] if moves[-1].result == FAILED else [moves[-1].result]


def probed(case: Case, device: SimulatedDevice, acts: list[Act]) -> list[str]:
    """Probe in order; touch a surprise twice, and stop where it is confirmed."""
    assert case.model.expectations is not None
    words: list[str] = []
    for act in acts:
        for _ in range(2):
            reading = device.answer(act).reading
            assert reading is not None
            words.append(f"{reading.point}={typed(reading)}")
            expectation = case.model.expectations.at(reading.point, reading.setup)
            if bin_of(expectation, reading.value) == NORMAL:
                break
        else:
            break
    return words


def drive(shell: Shell, case: Case, device: SimulatedDevice) -> list[str]:
    """Take the recommended step until the job has ended; return the steps taken."""
    taken: list[str] = []
    for _ in range(MOST_STEPS):
        found = shell.json("next", "-n", "1", "--effort", "4")
        if found["ended"]:
            return taken
        [step] = found["steps"]
        taken.append(step["id"])
        words = [] if step["kind"] == "end" else answer(case, device, step)
        recorded = shell.json("record", step["id"], *words)
        assert recorded["recorded"]["step"] == step["id"]
    pytest.fail(f"no end after {taken}")


def test_a_ready_job_is_driven_to_its_end_by_next_and_record(shell: Shell) -> None:
    job = Job.start("courier-handheld", complaint="imaging").so_far.package.pack.jobs["stale"]
    history = [word for name in job.history for word in ("--history", name)]
    shell.json("start", "courier-handheld", "--complaint", job.complaint, *history)
    case = Job.start("courier-handheld", complaint=job.complaint, history=job.history).case
    device = simulated(case, "recognition-stale:imaging", 7)
    taken = drive(shell, case, device)
    assert taken[-1] == "close"
    assert device.cured
    assert not device.wiped
    overview = shell.json("show")["overview"]
    assert overview["ending"] == "close"
    assert overview["working"] is True


PINOUT = """pin name
1 gnd
2 VDD_CAM
3 CAM_SDA
4 CAM_SCL
5 D0P
6 D0N
7 D1P
8 D1N
"""
DONOR = "2 .612\n3 .452\n4 .455\n5 .310\n6 .312\n7 .309\n8 .311\n"
PATIENT = "2 .610\n3 .450\n4 .456\n5 .309\n7 .311\n8 OL\n"


def test_a_job_from_a_complaint_alone_grows_with_what_is_learnt(shell: Shell) -> None:
    shell.json("start", "--template", "camera", "--device", "Brindle 4", "--says", "no picture")
    first = shell.json("next")
    assert first["steps"][0]["kind"] in ("look", "check", "trial")
    shell.json("pinout", "-", "--connector", "J4", text=PINOUT)
    shell.json("donor", "--from", "-", "--connector", "J4", text=DONOR)
    here = ("donor", "--device", "patient", "--from", "-", "--connector", "J4")
    shell.json(*here, text=PATIENT)
    shell.json("read", "J4.6", ".045")
    worst = shell.json("compare", "-n", "2")["differences"]
    assert [item["point"] for item in worst] == ["J4.8", "J4.6"]
    assert [item["kind"] for item in worst] == ["open here", "lower"]
    shell.json("chain", "J4.6 > D0N | D9 esd > GND", "D0N > U3.B6")
    suspects = shell.json("suspects", "-n", "10")["suspects"]
    assert any(item["key"].endswith(":D9") for item in suspects)
    expected = shell.json("expect", "J4.6")["expected"]
    assert expected["healthy"] == pytest.approx(0.312)
    assert any(item["key"] == "leaky:D9" for item in expected["suspects"])
    lines = shell.json("show")["events"]
    assert [line["kind"] for line in lines].count("moves recorded") == 3


def test_what_goes_wrong_is_said_and_nothing_is_lost(shell: Shell) -> None:
    shell.json("start", "--template", "camera", "--device", "Brindle 4")
    code, _, err = shell.run("read", "J4.1", "4k7")
    assert (code, "set the mode to ohms" in err) == (1, True)
    code, _, err = shell.run("record", "look:liquid-indicatr", "nothing")
    assert (code, "look:liquid-indicator" in err) == (2, True)
    code, out, _ = shell.run("next", "--job", "nobody-001", "--json")
    assert (code, json.loads(out)["error"]["kind"]) == (2, "MisuseError")
    assert shell.json("show")["overview"]["events"] == 1
