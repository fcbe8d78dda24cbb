"""How far a rehearsal is, as another program reads it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from nextprobe.cli.rehearsal_progress import Tunings, Watched, most_orders
from nextprobe.trials.rehearsal import Plan, Tuning

PLAN = Plan(("touch", "sound"), 20, training=24, tries=60)


def read(file: Path) -> Any:
    return json.loads(file.read_text("utf-8"))


def test_a_stage_says_what_is_done_and_how_long_it_takes_still(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "progress"
    clock = iter([100.0, 100.0, 130.0])
    monkeypatch.setattr("nextprobe.cli.rehearsal_progress.time.monotonic", lambda: next(clock))
    with Watched(file).stage("playing devices", 20, 4) as move:
        assert read(file) == {
            "doing": "playing devices", "about": "", "done": 4, "of": 20, "left": None,
        }  # fmt: skip
        move(10, "")
        # Six took 30 s, and ten are left.
        assert (read(file)["done"], read(file)["left"]) == (10, pytest.approx(50.0))
    assert [each.name for each in tmp_path.iterdir()] == ["progress"]


def test_where_nobody_reads_nothing_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with Watched().stage("playing devices", 2, 0) as move:
        move(1, "")
    with Watched(tmp_path / "gone" / "progress").stage("playing devices", 2, 0) as move:
        move(1, "")
    assert not list(tmp_path.iterdir())


def test_tunings_of_several_functions_add_up() -> None:
    moved: list[tuple[float, str]] = []
    tunings = Tunings(
        PLAN, {"touch": "touch panel"}, lambda done, about: moved.append((done, about)), set()
    )
    tunings.hear(Tuning("touch", 4, 13))
    done, about = moved[-1]
    assert done == pytest.approx(3.5)
    assert about == "touch panel (function 1 of 2), order 4 of at most 60, on device 13 of 24"
    tunings.hear(Tuning("sound", 2, 1))
    assert moved[-1][0] == pytest.approx(4.5)
    # The search ended before all orders were tried.
    tunings.finish("touch")
    assert moved[-1] == (pytest.approx(61.0), "")


def test_the_starts_are_tried_in_any_case() -> None:
    assert most_orders(PLAN) == 60
    assert most_orders(Plan(("touch",), 1, tries=1)) > 1
