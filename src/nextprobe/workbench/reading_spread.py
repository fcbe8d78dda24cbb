"""How a reading is distributed, by all that is believed now."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from nextprobe.board import MeterMode, OverRange
from nextprobe.diagnosis import Case
from nextprobe.diagnosis.functioning import active_sets
from nextprobe.diagnosis.measuring import measurement_of
from nextprobe.diagnosis.predicted import Expectation
from nextprobe.diagnosis.sharpening import as_now
from nextprobe.workbench.expected import ExpectedReading, expected_reading

INTERVALS = 48


@dataclass(frozen=True)
class ReadingSpread:
    """What a confirmed reading would show, over everything that may be wrong.

    Parameters
    ----------
    edges : tuple of float, length K + 1
        Bounds of intervals of the reading [V, ohm or F].
    chances : tuple of float, length K
        That the reading lies in each, by what is believed now.
    healthy : tuple of float, length K
        The same on a board on which nothing is wrong.
    over_range : float
        Chance of over-range, by what is believed now.
    healthy_over_range : float
        The same where nothing is wrong.
    """

    edges: tuple[float, ...]
    chances: tuple[float, ...]
    healthy: tuple[float, ...]
    over_range: float
    healthy_over_range: float


@dataclass(frozen=True)
class PinExpectation:
    """What to expect at a pin.

    Parameters
    ----------
    expected : ExpectedReading
    spread : ReadingSpread
    """

    expected: ExpectedReading
    spread: ReadingSpread


def pin_expectation(case: Case, point: str, mode: MeterMode) -> PinExpectation:
    """Return what to expect at a point, and how it is distributed.

    Raises
    ------
    MisuseError
        As `expected_reading` does.
    """
    return PinExpectation(expected_reading(case, point, mode), reading_spread(case, point, mode))


def reading_spread(case: Case, point: str, mode: MeterMode) -> ReadingSpread:
    """Return how the next reading at a point is distributed; what was read there counts."""
    item = measurement_of(point, mode, case.brief.board)
    usual = case.usual(item.point, item.setup)
    ensemble = case.situation.ensemble
    rows = active_sets(case.model, ensemble)
    now = as_now(usual, case.situation, rows)
    edges = tuple(_edges(now).tolist())
    by_row = now.bins(edges)
    weights = np.bincount(rows, ensemble.probabilities, len(by_row))
    mixed = weights @ by_row / weights.sum()
    return ReadingSpread(
        edges,
        tuple(mixed[:-1].tolist()),
        tuple(by_row[-1, :-1].tolist()),
        float(mixed[-1]),
        float(by_row[-1, -1]),
    )


def _edges(found: Expectation) -> np.ndarray:
    """Return intervals that are fine about the healthy reading and reach over the whole range."""
    full = found.meter.full_scale
    even = np.linspace(0.0, full, INTERVALS // 2 + 1)
    if isinstance(found.healthy, OverRange):
        return even
    reach = 6.0 * found.spread
    fine = np.linspace(found.healthy - reach, found.healthy + reach, INTERVALS // 2 + 1)
    return np.unique(np.append(even, fine[(fine > 0.0) & (fine < full)]))
