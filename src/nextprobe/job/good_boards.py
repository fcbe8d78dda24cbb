"""Known-good boards at the bench: which counts for a job, and what a job leaves behind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from nextprobe.board import BenchSetup, OverRange, Reading
from nextprobe.diagnosis import Move, Probe
from nextprobe.diagnosis.acts import PATIENT
from nextprobe.errors import Finding, MisuseError, Severity, StoreError, Where
from nextprobe.job.good_rows import merged_rows, misfit_finding
from nextprobe.reference import GoodBoard, GoodBoards, misfits
from nextprobe.reference.good_board import Value, identity_of
from nextprobe.reference.misfits import Priors
from nextprobe.store import GoodBoardStore, SqliteStore, read_good_boards
from nextprobe.workbench.entry_names import EntryName
from nextprobe.workbench.intake import Package
from nextprobe.workbench.ports import EventStore
from nextprobe.workbench.view import JobView

_SAID_AT_MOST = 5


def with_good_boards(
    package: Package, place: EventStore | Path | str | None
) -> tuple[Package, tuple[Finding, ...]]:
    """Return a package that knows the boards kept beside the jobs, and what is odd about them.

    What is written into the job is what counts in it: boards that are kept later, a donor of
    this very job among them, do not. Where the boards can not be read the pack's own readings
    stay alone, with a warning.

    Parameters
    ----------
    package : Package
    place : EventStore, Path, str or None
        Where the job is kept; a job in memory knows no boards.
    """
    try:
        boards = _beside(place).boards(package.pack.device.name)
    except StoreError as error:
        remedy = "this job counts the readings of the pack alone"
        return package, (Finding(str(error), remedy=remedy, severity=Severity.WARNING),)
    if not boards.records:
        return package, ()
    rows, found = merged_rows(package.pack, package.known_good, boards)
    return replace(package, known_good=rows), at_most(found)


def _beside(place: EventStore | Path | str | None) -> GoodBoardStore:
    if isinstance(place, SqliteStore):
        return read_good_boards(place.path.parent)
    if isinstance(place, Path | str):
        return read_good_boards(Path(place))
    return GoodBoardStore()


def at_most(found: Sequence[Finding], most: int = _SAID_AT_MOST) -> tuple[Finding, ...]:
    """Return the first few findings, and how many more there are."""
    if len(found) <= most:
        return tuple(found)
    what = f"{len(found) - most} more readings of known-good boards do not fit the others"
    more = Finding(what, remedy="'nextprobe good list PACK' names them", severity=found[0].severity)
    return (*found[:most], more)


def donor_boards(
    job: JobView, label: str = "", device: str = "", kept: GoodBoards | None = None
) -> tuple[GoodBoard, ...]:
    """Return the donors that were measured in a job, as records of known-good boards.

    Where a point was touched more than once, the last reading counts.

    Parameters
    ----------
    job : JobView
    label : str
        What the board is called; if left out as it was kept before, or else after the job.
    device : str
        Which donor, where there were several: ``donor``, ``second donor``.
    kept : GoodBoards or None
        Boards that are kept already.

    Raises
    ------
    MisuseError
        If no such donor was measured, one label is given to several, or the donor of this job
        is kept under another label.
    """
    donors = _donors(job.so_far.moves)
    if device and device not in donors:
        raise MisuseError(f"{device} was not measured in job {job.job_id}")
    chosen = {name: found for name, found in donors.items() if name == (device or name)}
    if not chosen:
        raise MisuseError(f"no donor was measured in job {job.job_id}: see 'nextprobe donor'")
    if label and len(chosen) > 1:
        names = ", ".join(chosen)
        raise MisuseError(f"several donors were measured, say which with --device: {names}")
    name = job.knowledge.pack.device.name
    return tuple(
        _record(name, _label(job.job_id, who, label, kept), _source(job.job_id, who), found)
        for who, readings in chosen.items()
        for found in _by_bench(readings)
    )


def _label(job_id: str, who: str, label: str, kept: GoodBoards | None) -> str:
    """Return what a donor is called: one board has one label, or it would count twice."""
    source = _source(job_id, who)
    records = () if kept is None else kept.records
    before = next((record for record in records if record.source == source), None)
    if before is None:
        return label or f"{who} of {job_id}"
    if label and identity_of(label) != before.identity:
        raise MisuseError(
            f"the {source} is kept as {before.label} (record {before.number}): 'good correct' "
            "gives it another label"
        )
    return before.label


def _source(job_id: str, who: str) -> str:
    return f"{who} in job {job_id}"


def _donors(moves: Sequence[Move]) -> dict[str, list[Reading]]:
    donors: dict[str, list[Reading]] = {}
    for move in moves:
        if isinstance(move.act, Probe) and move.act.device != PATIENT and move.reading:
            donors.setdefault(move.act.device, []).append(move.reading)
    return donors


def _by_bench(readings: Sequence[Reading]) -> list[list[Reading]]:
    found: dict[BenchSetup, list[Reading]] = {}
    for reading in readings:
        found.setdefault(reading.setup, []).append(reading)
    return list(found.values())


def _record(device: str, label: str, source: str, readings: Sequence[Reading]) -> GoodBoard:
    values: dict[str, Value] = {reading.point: reading.value for reading in readings}
    moment = max(reading.time for reading in readings)
    day = date.fromtimestamp(moment) if moment > 0.0 else None
    return GoodBoard(
        device, label, tuple(values.items()), readings[0].setup, measured_on=day, source=source
    )


def keep_all(
    store: GoodBoardStore,
    records: Sequence[GoodBoard],
    priors: Priors,
    name: EntryName | None = None,
) -> tuple[tuple[GoodBoard, ...], tuple[Finding, ...]]:
    """Keep the records that say something new, and say of each how it fits the others.

    Parameters
    ----------
    store : GoodBoardStore
    records : sequence of GoodBoard
    priors : callable
        What is known of each point before the boards.
    name : EntryName or None
        What a client calls this entry; each record is a part of it.

    Returns
    -------
    tuple
        The records that were kept, with their numbers, and findings: a board that is kept
        already, one that looks like another, one that does not fit the others.
    """
    kept: list[GoodBoard] = []
    found: list[Finding] = []
    for place, record in enumerate(records, start=1):
        part = None if name is None else name.part(place)
        boards = store.boards(record.device)
        known = boards.known(record)
        if known is not None:
            found.append(_kept_already(record, known))
            continue
        twin = boards.namesake(record)
        if twin is not None:
            found.append(_like_another(record, twin))
            continue
        found += _unlike_itself(boards, record, priors)
        kept.append(store.keep(record, name=part))
    return tuple(kept), (*found, *misfits_of(store, kept, priors))


def misfits_of(
    store: GoodBoardStore, records: Sequence[GoodBoard], priors: Priors
) -> tuple[Finding, ...]:
    """Say where records that are kept do not fit the other boards of their device."""
    if not records:
        return ()
    numbers = {record.number for record in records}
    every = misfits(store.boards(records[0].device), priors)
    return at_most([misfit_finding(fit) for fit in every if fit.number in numbers])


def corrected(old: GoodBoard, values: Sequence[tuple[str, Value]], label: str = "") -> GoodBoard:
    """Return a record with some readings corrected or added, or under another label."""
    readings = {**old.values, **dict(values)}
    return replace(old, readings=tuple(readings.items()), label=label or old.label, number=None)


def _kept_already(new: GoodBoard, old: GoodBoard) -> Finding:
    as_whom = "" if new.identity == old.identity else f" as {old.label}"
    what = f"{new.label} is kept already{as_whom}, with the same readings (record {old.number})"
    return Finding(what, Where(name=new.label), "nothing was added", Severity.NOTE)


def _like_another(new: GoodBoard, twin: GoodBoard) -> Finding:
    what = f"{new.label} reads the same as {twin.label} wherever both were measured"
    remedy = f"nothing was added: if it is the same board, call it {twin.label}"
    return Finding(what, Where(name=new.label), remedy)


def _unlike_itself(boards: GoodBoards, new: GoodBoard, priors: Priors) -> list[Finding]:
    """Say where a board reads other than when it was measured before, as if it were another."""
    off = []
    for point, value in new.values.items():
        before = boards.behind(point, new.bench).get(new.identity)
        if before is not None and _apart(value, before.values[point], point, new.bench, priors):
            off.append(point)
    if not off:
        return []
    what = f"{new.label} reads otherwise than before at {', '.join(off[:5])}"
    remedy = "the new readings count: if it is another board, give it a label of its own"
    return [Finding(what, Where(name=new.label), remedy, Severity.WARNING)]


def _apart(new: Value, old: Value, point: str, bench: BenchSetup, priors: Priors) -> bool:
    if isinstance(new, OverRange) or isinstance(old, OverRange):
        return new is not old
    return abs(new - old) > priors(point, bench, old).deviation
