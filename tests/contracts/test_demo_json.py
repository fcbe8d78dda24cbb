"""The shapes that ``--json`` prints of ``demo``, ``rehearse`` and ``testability``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from nextprobe.cli.main import main
from nextprobe.trials.checkpoints import CHECKPOINTS

JOB = {"name", "steps", "minutes", "cost", "right_repair"}
SCORE = {
    "mean_cost", "ci95", "mean_minutes", "minutes_ci95", "mean_elapsed_minutes", "mean_steps",
    "right", "right_ci95", "wrong_repairs", "comebacks", "declined", "escalated", "sold_in_vain",
    "parts_wasted", "wiped", "dearer_than_nextprobe", "dearer_ci95",
}  # fmt: skip
REHEARSAL = {
    "devices", "with_several_faults", "planned", "stopped", "strategies", "strategies_played",
    "gap_closed", "gap_ci95", "gap_from", "informed_gap_closed", "informed_gap_ci95",
    "informed_gap_from", "calibration", "calibrated", "pit", "best_static", "pack",
    "version", "seed", "effort", "complaints", "prices", "training_devices", "tries", "findings",
    "intervals", "world",
}  # fmt: skip
RELIABILITY = {
    "ece_debiased", "ece_band", "ece_plain", "log_score", "brier", "brier_skill", "n", "devices",
    "curve",
}  # fmt: skip
PLACES = {"n", "histogram", "chi_squared", "p_value", "distance", "critical_distance"}


class Program:
    """Runs commands in this process; fault tables are kept in one folder for all of them."""

    def __init__(self, capture: pytest.CaptureFixture[str]) -> None:
        self._capture = capture

    def __call__(self, *words: str) -> dict[str, Any]:
        code = main([*words, "--json"])
        out = self._capture.readouterr().out
        assert code == 0, out
        found: dict[str, Any] = json.loads(out)
        return found


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("home")


@pytest.fixture
def program(
    home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Program:
    monkeypatch.setenv("NEXTPROBE_HOME", str(home))
    return Program(capsys)


def check_job(job: dict[str, Any]) -> None:
    assert set(job) == JOB
    assert isinstance(job["name"], str)
    assert type(job["steps"]) is int
    assert isinstance(job["right_repair"], bool)
    assert job["steps"] > 0
    assert job["minutes"] > 0.0
    assert job["cost"] > 0.0


def test_one_job_and_the_same_again(program: Program) -> None:
    first = program("demo", "stale", "--seed", "3", "--effort", "0")
    assert set(first) == {"jobs"}
    [job] = first["jobs"]
    check_job(job)
    assert job["name"] == "stale"
    assert program("demo", "stale", "--seed", "3", "--effort", "0") == first


@pytest.mark.slow
def test_all_jobs(program: Program) -> None:
    found = program("demo", "--all", "--seed", "2", "--effort", "0")
    assert set(found) == {"jobs"}
    for job in found["jobs"]:
        check_job(job)
    [pack] = [row for row in program("packs")["packs"] if row["name"] == "courier-handheld"]
    assert [job["name"] for job in found["jobs"]] == list(pack["jobs"])
    right = {job["name"] for job in found["jobs"] if job["right_repair"]}
    assert {"pending", "stale"} <= right


def test_rehearse(program: Program) -> None:
    found = program(
        "rehearse", "courier-handheld", "--devices", "2", "--complaint", "sound", "--effort", "0",
        "--processes", "1", "--strategies", "nextprobe,fixed_order,perfect_knowledge",
    )  # fmt: skip
    assert set(found) == REHEARSAL
    assert found["devices"] == found["planned"] == 2
    assert found["stopped"] is False
    assert list(found["strategies"]) == ["nextprobe", "fixed_order", "perfect_knowledge"]
    for score in found["strategies"].values():
        assert set(score) == SCORE
        low, high = score["ci95"]
        assert low <= score["mean_cost"] <= high
        assert 0.0 <= score["right"] <= 1.0
    knowing = found["strategies"]["perfect_knowledge"]["mean_cost"]
    assert all(score["mean_cost"] >= knowing for score in found["strategies"].values())
    assert set(found["calibration"]) == {*RELIABILITY, "checkpoints", "leading"}
    assert set(found["calibration"]["checkpoints"]) <= set(CHECKPOINTS)
    for reliability in found["calibration"]["checkpoints"].values():
        assert set(reliability) == RELIABILITY
        low, high = reliability["ece_band"]
        assert 0.0 <= low <= high
    assert set(found["pit"]) == {*PLACES, "first_of_each_device"}
    assert sum(found["pit"]["histogram"]) == found["pit"]["n"] == 8


def test_testability(program: Program) -> None:
    found = program("testability", "ferry-terminal", "sound")
    assert set(found) == {
        "device", "complaint", "faults", "tests", "detected", "isolated", "isolated_to_one_repair",
        "mean_ambiguity_group", "undetected", "ambiguity_groups", "findings",
    }  # fmt: skip
    shares = [found["isolated"][size] for size in ("1", "2", "3", "5", "10")]
    assert shares == sorted(shares)
    assert all(0.0 <= share <= 1.0 for share in (*shares, found["detected"]))
    undetected = sum(item["share"] for item in found["undetected"])
    assert undetected == pytest.approx(1.0 - found["detected"])
    groups = sum(group["share"] for group in found["ambiguity_groups"])
    assert groups == pytest.approx(1.0 - found["isolated"]["1"])


def test_play_is_not_for_machines(program: Program, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo", "--play", "--json"]) == 2
    assert json.loads(capsys.readouterr().out)["error"]["kind"] == "MisuseError"
