"""Faults in a board that nobody here designed, looked for through the command line.

Boards: Debian's ``kicad-demos`` (package of KiCad, GPL-2+), and further ones in the folders that
NEXTPROBE_KICAD_DEMOS names. Without them the tests skip; where CI is set they fail.
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
from board_trials import Found, Trials, command

FOLDERS = ["/usr/share/kicad/demos", *os.environ.get("NEXTPROBE_KICAD_DEMOS", "").split(":")]
FAULTS = 12
LEAST = 7
"""Of these, so many must be among the first three or alike to one of them; 8 and more were."""


def board(name: str, *, needed: bool = False) -> Path:
    """Return a board by its file name; skip where it is missing."""
    files = [file for folder in FOLDERS if folder for file in Path(folder).rglob(name)]
    if not files and needed and os.environ.get("CI"):
        pytest.fail(f"{name} is missing: install kicad-demos")
    if not files:
        pytest.skip(f"{name} is missing: install kicad-demos or set NEXTPROBE_KICAD_DEMOS")
    return files[0]


def looked_for(trials: Trials) -> list[Found]:
    rng = np.random.default_rng(5)
    faults = trials.faults(FAULTS, seed=1)
    return [trials.look_for(f, f"job-{i}", rng, donor=True) for i, f in enumerate(faults)]


def report(found: list[Found]) -> str:
    lines = [f"{each.fault.key}: rank {each.rank}, led by {each.top}" for each in found]
    return "\n".join([*lines, f"{sum(each.in_group for each in found)} of {len(found)}"])


@pytest.mark.slow
def test_faults_at_the_plug_of_a_demonstration_board(tmp_path: Path) -> None:
    words = ["--function", "port", "--class", "charging", "--connector", "J1"]
    trials = Trials(tmp_path, board("StickHub.kicad_pcb", needed=True), words, "port")
    assert trials.checked["pack"]["parts"] > 80
    found = looked_for(trials)
    print(report(found))
    assert len(found) == FAULTS
    assert len({each.fault.kind for each in found}) >= 6
    assert sum(each.in_group for each in found) >= LEAST, report(found)


@pytest.mark.slow
def test_faults_of_a_handheld_from_a_pack_that_is_all_guesses(tmp_path: Path) -> None:
    trials = Trials(tmp_path, board("handheld-160.kicad_pcb"), [], "charging")
    drafted = trials.drafted["pack"]["functions"]
    assert {item["class"] for item in drafted} == {"charging", "power"}
    found = looked_for(trials)
    print(report(found))
    assert sum(each.in_group for each in found) >= LEAST, report(found)


@pytest.mark.parametrize(
    "name",
    [
        "StickHub.kicad_pcb", "kit-dev-coldfire-xilinx_5213.kicad_pcb", "pic_programmer.kicad_pcb",
        "interf_u.kicad_pcb", "complex_hierarchy.kicad_pcb", "handheld-160.kicad_pcb",
    ],
)  # fmt: skip
def test_a_drafted_pack_passes_the_check_and_starts_a_job(tmp_path: Path, name: str) -> None:
    pack, home = tmp_path / "pack", tmp_path / "jobs"
    drafted = command(home, "pack", "new", str(board(name)), "--into", str(pack))
    checked = command(home, "pack", "check", str(pack))
    assert checked["pack"]["functions"] == [item["name"] for item in drafted["pack"]["functions"]]
    assert not [item for item in checked["findings"] if item["severity"] == "error"]
    complaint = checked["pack"]["functions"][0]
    started = command(home, "start", str(pack), "--complaint", complaint)
    assert started["job"] and "board" in started["overview"]["knowledge"]
