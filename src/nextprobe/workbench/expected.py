"""What the meter should show at a point, and what it did show."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nextprobe.board import BenchSetup, MeterMode, OverRange, Role
from nextprobe.diagnosis import Case, Probe
from nextprobe.diagnosis.acts import PATIENT
from nextprobe.diagnosis.measuring import measurement_of
from nextprobe.diagnosis.predicted import Expectation
from nextprobe.diagnosis.running import bin_of, edges_of
from nextprobe.diagnosis.suspects import family_chances
from nextprobe.diagnosis.wording import say_fault
from nextprobe.errors import MisuseError

Value = float | OverRange

_SAME = 2.0


@dataclass(frozen=True)
class UnderSuspect:
    """What the meter would show if a suspect were the fault.

    Parameters
    ----------
    key, title : str
        Of the suspect.
    probability : float
        Of the suspect now.
    values : tuple of float or OverRange
        Smallest and largest prediction over its magnitudes [V, ohm or F].
    """

    key: str
    title: str
    probability: float
    values: tuple[float | OverRange, ...]


@dataclass(frozen=True)
class ExpectedReading:
    """What to expect at a point.

    Parameters
    ----------
    point, net : str
    role : Role
    mode : MeterMode
    healthy : float or OverRange
        What a good board shows [V, ohm or F].
    deviation : float
        Standard deviation of that [V, ohm or F]: for a point that was read, as it was before.
    low, high : float
        Bounds of what counts as expected [V, ohm or F].
    source : str
        What it rests on.
    read : tuple of float or OverRange
        What the patient showed so far.
    verdict : str
        The last of these in a word; empty if there is none.
    suspects : tuple of UnderSuspect
        Suspects that would show, likeliest first.
    """

    point: str
    net: str
    role: Role
    mode: MeterMode
    healthy: float | OverRange
    deviation: float
    low: float
    high: float
    source: str
    read: tuple[float | OverRange, ...]
    verdict: str
    suspects: tuple[UnderSuspect, ...]


def expected_reading(
    case: Case, point: str, mode: MeterMode = MeterMode.DIODE, most: int = 5
) -> ExpectedReading:
    """Return what to expect at a point.

    Raises
    ------
    MisuseError
        If no board is known, the board has no such point, or readings in this mode are not
        predicted.
    """
    expectations, board = case.model.expectations, case.brief.board
    if expectations is None or board is None:
        raise MisuseError("no board is known yet: add a pinout or a chain first")
    item = measurement_of(point, mode, board)
    point, setup = item.point, item.setup
    if mode is MeterMode.DC_VOLTS and not expectations.predicts(point, setup):
        raise MisuseError(f"the pack does not say what volts {point} carries: see 'rails' in it")
    at_moves = _read_at(case, point, setup)
    read = tuple(value for _, value in at_moves)
    found, source = _before_reading(case, point, case.usual(point, setup), setup, at_moves)
    net = board.net_of(point)
    low, high = _bounds(found)
    return ExpectedReading(
        point,
        net,
        board.role(net),
        mode,
        found.healthy,
        found.spread,
        low,
        high,
        source,
        read,
        bin_of(found, read[-1]) if read else "",
        _under_suspects(case, found, most),
    )


def _read_at(case: Case, point: str, setup: BenchSetup) -> list[tuple[int, Value]]:
    """Return where among the moves the patient was read at a point, and what it showed."""
    return [
        (place, move.reading.value)
        for place, move in enumerate(case.moves)
        if isinstance(move.act, Probe)
        and (move.act.point, move.act.device) == (point, PATIENT)
        and move.reading is not None
        and move.reading.setup == setup
    ]


def _before_reading(
    case: Case, point: str, usual: Expectation, setup: BenchSetup, read: list[tuple[int, Value]]
) -> tuple[Expectation, str]:
    """Return what was expected before the point was first read, and what that rests on."""
    found = case.expected(point, setup, read[0][0] if read else -1)
    if found is None or found is usual:
        return usual, usual.source
    return found, f"{usual.source}, with what this board has shown so far"


def _bounds(found: Expectation) -> tuple[float, float]:
    if isinstance(found.healthy, OverRange):
        return found.meter.full_scale, found.meter.full_scale
    edges = edges_of(found)
    return edges[2], edges[3]


def _under_suspects(case: Case, found: Expectation, most: int) -> tuple[UnderSuspect, ...]:
    """Return the suspects under which the reading differs from a good board's."""
    names, family = case.model.families
    chances = family_chances(case.model, case.situation)
    moved = np.abs(found.mean - found.mean[-1]) > _SAME * found.deviation[-1]
    shows = np.where(found.over | found.over[-1], found.over != found.over[-1], moved)
    shows = shows[: family.size]
    showing = np.unique(family[shows])
    order = showing[np.argsort(-chances[showing], kind="stable")][:most]
    return tuple(
        _under(case, found, names[index], np.flatnonzero((family == index) & shows), chances[index])
        for index in order
    )


def _under(
    case: Case, found: Expectation, key: str, rows: np.ndarray, chance: float
) -> UnderSuspect:
    values: list[float | OverRange] = [OverRange.OVER_RANGE] if found.over[rows].any() else []
    numbers = found.mean[rows][~found.over[rows]]
    if numbers.size:
        ends = {float(numbers.min()), float(numbers.max())}
        values = [*sorted(ends), *values]
    fault = case.model.listed[int(rows[0])].fault
    title = say_fault(fault, case.model.pack, case.brief.board)
    return UnderSuspect(key, title, float(chance), tuple(values))
