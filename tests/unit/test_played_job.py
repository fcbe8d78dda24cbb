"""A job on the simulated bench records what came of every kind of step."""

from __future__ import annotations

import pytest

from nextprobe.diagnosis import FaultTables, Probe, Work
from nextprobe.job.shelf import shelf_from, start_played


@pytest.mark.slow
def test_a_part_that_is_taken_off_comes_off_once_and_is_read_after() -> None:
    shelf, _ = shelf_from("ferry-terminal", FaultTables())
    played = start_played(shelf, "clamped", 0, "ferry-terminal")
    for _ in range(12):
        step = played.job.next_steps(1, 2)[0]
        played.take(step)
        if step.id.startswith("lift:"):
            break
    *before, last = played.job.so_far.entries
    taken_off, read = (move.act for move in last.moves)
    assert isinstance(taken_off, Work) and isinstance(read, Probe)
    assert taken_off not in [move.act for entry in before for move in entry.moves]
