"""Faults put into the circuit of a real board, and looked for through the command line."""

from __future__ import annotations

import io
import json
from collections.abc import Mapping, Sequence
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from nextprobe.board import GROUND, BenchSetup, Board, Fault, Meter, MeterMode, OverRange, Role
from nextprobe.circuit import NOMINAL, Circuit, Deviations
from nextprobe.cli.main import main
from nextprobe.diagnosis.coverage import covered_nets
from nextprobe.job import Job
from nextprobe.readers.pack_folder import read_pack_folder
from nextprobe.store import open_store

SETUP, METER = BenchSetup(), Meter()
SEEN = 20e-3
"""A fault that moves no reading by so much [V] can not be found by readings."""
ALIKE = 5e-3
"""Faults whose readings differ by no more than this [V] belong to one ambiguity group."""

_BETWEEN_TYPES = 1.0, 0.0
"""How far chips are from our model, in ln of the clamps' saturation current: about 40 mV."""
_BETWEEN_BOARDS = 0.15, 0.01
"""The same between boards of a type, and of ln of a resistance."""

Values = Mapping[str, float | OverRange]


@dataclass(frozen=True)
class Found:
    """What came of one fault."""

    fault: Fault
    top: tuple[str, ...]
    rank: int | None
    in_group: bool


def command(home: Path, *words: str, **also: str) -> Any:
    """Run a command that must succeed, and return what it printed for machines."""
    out, err = io.StringIO(), io.StringIO()
    place = ["--home", str(home)] if words[0] not in ("pack", "board") else []
    with redirect_stdout(out), redirect_stderr(err):
        code = main([*words, *place, "--json"])
    assert code == 0, (words, out.getvalue(), err.getvalue())
    return json.loads(out.getvalue())


def readings(
    board: Board, points: Sequence[str], fault: Fault | None, deviations: Deviations = NOMINAL
) -> dict[str, float | OverRange]:
    """Return what an ideal meter shows at each point."""
    faults = () if fault is None else (fault,)
    meter = METER.range_for(MeterMode.DIODE)
    return Circuit(board, SETUP, meter, faults, deviations).readings(points)


def scattered(values: Values, rng: np.random.Generator) -> dict[str, str]:
    """Return what is read from a real meter: its uncertainty, and its last digit."""
    meter = METER.range_for(MeterMode.DIODE)
    shown = {}
    for point, value in values.items():
        if isinstance(value, OverRange):
            shown[point] = "OL"
            continue
        noisy = max(0.0, value + rng.normal(0.0, meter.standard_uncertainty(value)))
        shown[point] = "OL" if noisy > meter.full_scale else f"{noisy:.3f}"
    return shown


def apart(first: Values, second: Values, least: float) -> bool:
    """Whether two sets of readings differ somewhere by more than `least` [V]."""
    for point, one in first.items():
        other = second[point]
        if isinstance(one, OverRange) or isinstance(other, OverRange):
            if isinstance(one, OverRange) != isinstance(other, OverRange):
                return True
        elif abs(one - other) > least:
            return True
    return False


class Trials:
    """A pack drafted from a board file, and jobs on boards with faults in them.

    Parameters
    ----------
    folder : Path
        For the pack and the jobs.
    file : Path
        The board.
    words : sequence of str
        Options of ``pack new``.
    complaint : str
        The function that fails.
    """

    def __init__(self, folder: Path, file: Path, words: Sequence[str], complaint: str) -> None:
        self.home, self.pack, self.complaint = folder / "jobs", folder / "pack", complaint
        self.drafted = command(
            self.home, "pack", "new", str(file), "--into", str(self.pack), *words
        )
        self.checked = command(self.home, "pack", "check", str(self.pack))
        contents, _ = read_pack_folder(self.pack)
        assert contents is not None and contents.board is not None
        self.board = contents.board
        nets = covered_nets(self.board, contents.pack, contents.pack.functions[complaint])
        skipped = (Role.GROUND, Role.NOT_CONNECTED)
        self.points = [
            self.board.nets[net].pins[0]
            for net in sorted(nets)
            if net != GROUND and self.board.role(net) not in skipped
        ]
        self.healthy = readings(self.board, self.points, None)
        command(self.home, "start", str(self.pack), "--complaint", complaint, "--name", "listed")
        self.listed = Job.open("listed", open_store(self.home)).case.model.listed

    def faults(self, count: int, seed: int) -> list[Fault]:
        """Return faults that readings can show, kind after kind in turn."""
        rng = np.random.default_rng(seed)
        by_kind: dict[tuple[str, str], list[Fault]] = {}
        for candidate in self.listed:
            fault = candidate.fault
            if candidate.located and fault.kind.is_electrical:
                by_kind.setdefault((fault.kind.value, self._part_kind(fault)), []).append(fault)
        for alike in by_kind.values():
            rng.shuffle(alike)  # type: ignore[arg-type]
        chosen: list[Fault] = []
        while len(chosen) < count and any(by_kind.values()):
            for alike in by_kind.values():
                shown = self._next_shown(alike)
                if shown is not None and len(chosen) < count:
                    chosen.append(shown)
        return chosen

    def _next_shown(self, alike: list[Fault]) -> Fault | None:
        """Take faults from a list until readings can show one."""
        while alike:
            fault = alike.pop()
            if self._shows(fault):
                return fault
        return None

    def _part_kind(self, fault: Fault) -> str:
        part = self.board.by_reference.get(fault.place.partition(".")[0])
        return part.kind.value if part else ""

    def _shows(self, fault: Fault) -> bool:
        return apart(self.healthy, readings(self.board, self.points, fault), SEEN)

    def look_for(self, fault: Fault, name: str, rng: np.random.Generator, *, donor: bool) -> Found:
        """Put a fault into the board, read it, and ask for the three leading suspects.

        With a `donor`, a good board of the same type is read too.
        """
        type_of_board = self._drawn(rng, *_BETWEEN_TYPES)
        real = fault
        if fault.magnitude is not None:
            real = replace(fault, magnitude=fault.magnitude * float(rng.uniform(0.8, 1.25)))
        command(self.home, "start", str(self.pack), "--complaint", self.complaint, "--name", name)
        if donor:
            good = self._measured(None, type_of_board, rng)
            command(self.home, "donor", *good, "--job", name)
        command(self.home, "read", *self._measured(real, type_of_board, rng), "--job", name)
        found = command(self.home, "suspects", "-n", "3", "--job", name)["suspects"]
        top = tuple(str(item["key"]) for item in found)
        rank = top.index(fault.family) + 1 if fault.family in top else None
        return Found(fault, top, rank, rank is not None or self._alike(fault, top))

    def _measured(
        self, fault: Fault | None, type_of_board: Deviations, rng: np.random.Generator
    ) -> list[str]:
        """Return what is typed of one board: no two of a type are the same."""
        own = self._drawn(rng, *_BETWEEN_BOARDS)
        of = {name: value + own.of[name] for name, value in type_of_board.of.items()}
        values = readings(self.board, self.points, fault, Deviations(of))
        return [f"{point}={value}" for point, value in scattered(values, rng).items()]

    def _drawn(self, rng: np.random.Generator, clamps: float, resistors: float) -> Deviations:
        of: dict[str, float] = {}
        for part in self.board.fitted:
            for role in Role:
                name = f"Is:{part.reference}:{role.value.replace(' ', '-')}"
                of[name] = float(rng.normal(0.0, clamps))
            of[f"R:{part.reference}"] = float(rng.normal(0.0, resistors))
        return Deviations(of)

    def _alike(self, fault: Fault, top: Sequence[str]) -> bool:
        """Whether a leading suspect gives the same readings as the fault."""
        true = readings(self.board, self.points, fault)
        others = [
            candidate.fault
            for candidate in self.listed
            if candidate.fault.family in top
            and candidate.located
            and candidate.fault.kind.is_electrical
        ]
        return any(not apart(true, readings(self.board, self.points, o), ALIKE) for o in others)
