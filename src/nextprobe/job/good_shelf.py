"""The known-good boards of one type of device, with what its pack says: what is shown of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from nextprobe.board import BenchSetup, Board, Meter, MeterMode, OverRange
from nextprobe.diagnosis import Reference
from nextprobe.errors import DataError, Finding, MisuseError
from nextprobe.job.good_rows import between_boards, merged_rows, priors_of
from nextprobe.job.start import named_folder
from nextprobe.packs import Pack, pack_from_template
from nextprobe.packs.known_good import KnownGood
from nextprobe.readers.pack_folder import read_pack_folder
from nextprobe.reference import Fit, GoodBoards, Tightness, fits, tightening
from nextprobe.reference.good_board import Value
from nextprobe.reference.misfits import Priors
from nextprobe.store import GoodBoardStore
from nextprobe.workbench.view import JobView


@dataclass(frozen=True)
class PointSummary:
    """What one more good board should read at a point.

    Parameters
    ----------
    point : str
    bench : BenchSetup
        Set-up, as far as it matters.
    boards : int
        Boards kept here that were measured.
    pack_boards : int
        Boards behind the reading of the pack.
    now : Tightness
        The prediction from all of them.
    """

    point: str
    bench: BenchSetup
    boards: int
    pack_boards: int
    now: Tightness


@dataclass(frozen=True)
class InJob:
    """What a job that is started now takes a good board to read at a point.

    Parameters
    ----------
    value : float or OverRange
        [V, ohm or F]
    deviation : float or None
        Standard uncertainty, meter included [V, ohm or F]; None for over-range.
    source : str
        What it rests on.
    """

    value: float | OverRange
    deviation: float | None
    source: str


@dataclass(frozen=True)
class GoodShelf:
    """Known-good boards of one type of device.

    Parameters
    ----------
    pack : Pack
    board : Board or None
    rows : tuple of KnownGood
        Readings of the pack.
    boards : GoodBoards
        Kept in the workshop.
    findings : tuple of Finding
        What is wrong with the pack.
    """

    pack: Pack
    board: Board | None
    rows: tuple[KnownGood, ...]
    boards: GoodBoards
    findings: tuple[Finding, ...] = ()

    @property
    def device(self) -> str:
        """Type of device."""
        return self.pack.device.name

    @cached_property
    def priors(self) -> Priors:
        """What is known of each point before the boards."""
        return priors_of(self.pack, self.rows)

    @cached_property
    def fits(self) -> tuple[Fit, ...]:
        """Each reading against what the others predict, the farthest off first."""
        return fits(self.boards, self.priors)

    def points(self, mode: MeterMode | None = None) -> tuple[tuple[str, BenchSetup], ...]:
        """Return what is known of good boards: points and set-ups, those of the pack included."""
        found = [(row.point, BenchSetup(row.mode)) for row in self.rows]
        found += [(point, bench) for bench in self.boards.benches
                  for point in self.boards.points(bench)]  # fmt: skip
        return tuple(
            (point, bench)
            for point, bench in dict.fromkeys(found)
            if mode is None or bench.mode is mode
        )

    def values(self, point: str, bench: BenchSetup) -> Mapping[str, Value]:
        """Return what each board kept here reads, by label."""
        return self.boards.at(point, bench)

    def row(self, point: str, bench: BenchSetup) -> KnownGood | None:
        """Return the reading of the pack in a set-up."""
        here = (row for row in self.rows if (row.point, BenchSetup(row.mode)) == (point, bench))
        return next(here, None)

    def tightening(self, point: str, bench: BenchSetup) -> tuple[Tightness, ...]:
        """Return how the prediction tightened with each board, and what more of them promise."""
        values = list(self.values(point, bench).values())
        numbers = [value for value in values if not isinstance(value, OverRange)]
        row = self.row(point, bench)
        if not numbers and row is not None and not isinstance(row.value, OverRange):
            numbers = [row.value]
        about = sum(numbers) / len(numbers) if numbers else None
        meter = Meter().range_for(bench.mode)
        measuring = meter.standard_uncertainty(about) if about is not None else 0.0
        return tightening(values, self.priors(point, bench, about), measuring)

    def summary(self, point: str, bench: BenchSetup) -> PointSummary:
        """Return what one more good board should read at a point."""
        kept, row = len(self.values(point, bench)), self.row(point, bench)
        [now] = [each for each in self.tightening(point, bench) if each.boards == kept]
        return PointSummary(point, bench, kept, 0 if row is None else row.boards, now)

    def in_job(self, point: str, bench: BenchSetup) -> InJob | None:
        """Return what a job started now expects; None for set-ups that jobs do not expect."""
        rows, _ = self._merged
        found = [row for row in rows if (row.point, BenchSetup(row.mode)) == (point, bench)]
        if not found:
            return None
        [row] = found
        if isinstance(row.value, OverRange):
            return InJob(row.value, None, row.source)
        deviation = Reference(row.value, row.boards, row.source, row.spread).deviation
        if deviation is None:
            typical = between_boards(self.pack, bench.mode, row.value)
            deviation = typical * (1.0 + 1.0 / row.boards) ** 0.5
        meter = Meter().range_for(bench.mode).standard_uncertainty(row.value)
        return InJob(row.value, float((deviation**2 + meter**2) ** 0.5), row.source)

    @cached_property
    def _merged(self) -> tuple[tuple[KnownGood, ...], tuple[Finding, ...]]:
        return merged_rows(self.pack, self.rows, self.boards)


def good_shelf(name: str, store: GoodBoardStore) -> GoodShelf:
    """Return the known-good boards of a pack.

    Parameters
    ----------
    name : str
        Folder of a pack, name of a demo pack, or a device that boards are kept of already.
    store : GoodBoardStore

    Raises
    ------
    MisuseError
        If there is none.
    DataError
        If the pack can not be used at all.
    """
    try:
        folder: Path = named_folder(name)
    except MisuseError as error:
        kept = [device for device in store.devices() if device.casefold() == name.casefold()]
        if not kept:
            raise MisuseError(f"{error}; boards are kept of: {_named(store)}") from None
        pack = pack_from_template("camera", kept[0])
        return GoodShelf(pack, None, (), store.boards(kept[0]))
    contents, findings = read_pack_folder(folder)
    if contents is None:
        raise DataError(findings)
    boards = store.boards(contents.pack.device.name)
    return GoodShelf(contents.pack, contents.board, contents.known_good, boards, findings)


def shelf_of_job(job: JobView, store: GoodBoardStore) -> GoodShelf:
    """Return the known-good boards of the device of a job."""
    knowledge, package = job.knowledge, job.so_far.package
    boards = store.boards(knowledge.pack.device.name)
    rows = tuple(row for row in package.known_good if row.line is not None)
    return GoodShelf(knowledge.pack, knowledge.board, rows, boards)


def _named(store: GoodBoardStore) -> str:
    return ", ".join(store.devices()) or "no device yet"
