"""The simulated device of a demo job: at hand before the first step, and always the same one."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from nextprobe import Job
from nextprobe.job.shelf import shelf_from
from nextprobe.trials.ready import Shelf, ready_job
from nextprobe.web.play_table import PlayTable, Recipe
from nextprobe.workbench.entry_names import EntryName

PACK, NAME = "courier-handheld", "leaky"
RECIPE = Recipe(PACK, NAME, 3)
STEPS = 3


@cache
def shelf() -> Shelf:
    return shelf_from(PACK)[0]


def started(home: Path) -> Job:
    ready = ready_job(shelf().pack, NAME)
    return Job.start(
        PACK, store=home, complaint=ready.complaint, history=ready.history, tables=shelf().tables
    )


def taken(table: PlayTable, job: Job, steps: int) -> list[str]:
    """Have so many steps done that are advised; return what came of all so far."""
    for _ in range(steps):
        step = job.recommend().option.id
        name = EntryName(f"key-{len(job.events()):06d}", "0" * 32)
        table.take(job, RECIPE, shelf, step, name)
    return ["; ".join(line.said) for line in job.history()]


def test_a_device_that_was_prepared_answers_as_one_made_at_the_first_step(tmp_path: Path) -> None:
    asked: list[int] = []

    def counted() -> Shelf:
        asked.append(1)
        return shelf()

    late, early = PlayTable(tmp_path), PlayTable(tmp_path)
    one, other = started(tmp_path / "one"), started(tmp_path / "other")
    early.prepare(other.job_id, RECIPE, counted)
    early.prepare(other.job_id, RECIPE, counted)
    assert taken(late, one, STEPS) == taken(early, other, STEPS)
    early.prepare(other.job_id, RECIPE, counted)
    assert asked == [1]


def test_a_prepared_device_has_seen_what_the_log_says_after_a_restart(tmp_path: Path) -> None:
    one, other = started(tmp_path / "one"), started(tmp_path / "other")
    table = PlayTable(tmp_path)
    whole = taken(table, one, 2 * STEPS)
    taken(PlayTable(tmp_path), other, STEPS)
    again = PlayTable(tmp_path)
    again.prepare(other.job_id, RECIPE, shelf)
    assert taken(again, other, STEPS) == whole
