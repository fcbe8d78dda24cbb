"""Simulated devices on the bench, made anew from the log when the server was started again."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict, dataclass
from errno import ENAMETOOLONG, ENOENT
from pathlib import Path
from threading import Lock
from urllib.parse import quote

from nextprobe.errors import MisuseError, StoreError
from nextprobe.job import Job
from nextprobe.job.shelf import PlayedJob, entries
from nextprobe.trials.device import SimulatedDevice
from nextprobe.trials.play import conduct
from nextprobe.trials.ready import Shelf, job_device, open_job
from nextprobe.workbench.desk import Recorded
from nextprobe.workbench.entry_names import EntryName
from nextprobe.workbench.move_json import move_from_json
from nextprobe.workbench.record import MOVES

FOLDER = "play"
_MOST_FRESH = 24


@dataclass(frozen=True)
class Recipe:
    """Which simulated device a job is about.

    Parameters
    ----------
    pack : str
        Name of its pack.
    name : str
        Which ready-made job.
    seed : int
        Which device of its kind.
    """

    pack: str
    name: str
    seed: int


class PlayTable:
    """The simulated devices of a folder of jobs.

    A device draws its answers one after another, so that the same acts in the same order give the
    same device: after a restart the acts in the log are done again.

    Parameters
    ----------
    home : Path
        Folder of jobs.
    """

    def __init__(self, home: Path) -> None:
        self._folder = home / FOLDER
        self._devices: dict[str, tuple[int, PlayedJob]] = {}
        self._fresh: dict[tuple[str, Recipe], SimulatedDevice] = {}
        self._lock = Lock()

    def keep(self, job_id: str, recipe: Recipe) -> None:
        """Keep which device a job is about.

        Raises
        ------
        StoreError
            If it can not be written.
        """
        file = self._file(job_id)
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            draft = file.with_suffix(".new")
            draft.write_text(json.dumps(asdict(recipe)), "utf-8")
            draft.replace(file)
        except OSError as error:
            raise StoreError(f"{file}: {error.strerror}") from error

    def recipe(self, job_id: str) -> Recipe | None:
        """Return which device a job is about; None if it is a real one.

        Raises
        ------
        StoreError
            If it can not be read.
        """
        file = self._file(job_id)
        try:
            return Recipe(**json.loads(file.read_text("utf-8")))
        except (ValueError, TypeError):
            return None
        except OSError as error:
            if error.errno in (ENOENT, ENAMETOOLONG):
                return None
            raise StoreError(f"{file}: {error.strerror}") from error

    def _file(self, job_id: str) -> Path:
        return self._folder / f"{quote(job_id, safe='')}.json"

    def played(self, job: Job, recipe: Recipe, shelf: Callable[[], Shelf]) -> PlayedJob:
        """Return a job with its device as it stands after all that the log says was done.

        Parameters
        ----------
        job : Job
        recipe : Recipe
        shelf : callable
            Reads the pack, which is only done where the device is not at hand.
        """
        events = len(job.events())
        with self._lock:
            known = self._devices.get(job.job_id)
        if known is not None and known[0] == events and known[1].job is job:
            return known[1]
        with self._lock:
            device = self._fresh.pop((job.job_id, recipe), None)
        device = device or _fresh(recipe, shelf)
        for event in job.events():
            for move in event.payload["moves"] if event.kind == MOVES else ():
                device.answer(move_from_json(move).act)
        return self._noted(PlayedJob(job, device))

    def prepare(self, job_id: str, recipe: Recipe, shelf: Callable[[], Shelf]) -> None:
        """Have the device of a job at hand before the first step; in any thread."""
        with self._lock:
            if job_id in self._devices or (job_id, recipe) in self._fresh:
                return
        device = _fresh(recipe, shelf)
        with self._lock:
            while len(self._fresh) >= _MOST_FRESH:
                self._fresh.pop(next(iter(self._fresh)))
            self._fresh[job_id, recipe] = device

    def take(
        self, job: Job, recipe: Recipe, shelf: Callable[[], Shelf], step: str, name: EntryName
    ) -> Recorded:
        """Do a step on the simulated bench, and record what came of it under a name.

        Raises
        ------
        MisuseError
            If there is no such step now.
        """
        offered = () if job.so_far.closing else job.recommend().alternatives
        found = next((each.option for each in offered if each.option.id == step), None)
        if found is None:
            raise MisuseError(f"{step} can not be done now: ask for the steps again")
        if found.kind == "end":
            with job.named(name):
                return job.close(step)
        played = self.played(job, recipe, shelf)
        moves = conduct(job.case, played.device, step)
        *touches, last = entries(found, moves)
        for number, touch in enumerate(touches, start=1):
            with job.named(name.part(number)):
                job.record(step, touch)
        with job.named(name):
            recorded = job.record(step, last)
        self._noted(played)
        return recorded

    def _noted(self, played: PlayedJob) -> PlayedJob:
        with self._lock:
            self._devices[played.job.job_id] = len(played.job.events()), played
        return played


def _fresh(recipe: Recipe, shelf: Callable[[], Shelf]) -> SimulatedDevice:
    """Return a device to which nothing has been done yet."""
    read = shelf()
    return job_device(read, open_job(read, recipe.name), recipe.name, recipe.seed)
