"""What a workshop knows of good boards in another world: measured on boards of the same type."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np

from nextprobe.board import (
    OVER_RANGE,
    ROOM_TEMPERATURE,
    BenchSetup,
    Board,
    Meter,
    MeterMode,
    MeterRange,
    OverRange,
)
from nextprobe.circuit.meter import DRIVEN_MODES
from nextprobe.diagnosis import Reference
from nextprobe.packs.schema import Pack
from nextprobe.trials.independent.bench import BoardType
from nextprobe.trials.independent.deck import MeterOnBoard
from nextprobe.trials.independent.netlist import Netlist
from nextprobe.trials.independent.parts import BoardParts
from nextprobe.trials.independent.worlds import MATCHED

References = Mapping[tuple[str, MeterMode], Reference]
_MOST_BOARDS = 8


def good_references(pack: Pack, board: Board, known: References, kind: BoardType) -> References:
    """Return what good boards of a type read where a pack has known-good readings.

    They were measured with the usual meter, at room temperature. As many boards are measured as
    the pack says, and eight at most.

    Raises
    ------
    SolverError
        If a board can not be solved.
    """
    found = dict(known)
    for mode in sorted({mode for _, mode in known} & DRIVEN_MODES):
        points = [point for point, each in known if each is mode]
        most = min(_MOST_BOARDS, max(known[point, mode].boards for point in points))
        benches = [(kind.parts(pack, f"good board {number}"), number) for number in range(most)]
        rows = [_measured(board, bench, kind, mode, points) for bench in benches]
        for index, point in enumerate(points):
            reference = known[point, mode]
            values = [row[index] for row in rows[: reference.boards]]
            found[point, mode] = replace(reference, value=_mean(values))
    return found


def _measured(
    board: Board,
    bench: tuple[BoardParts, int],
    kind: BoardType,
    mode: MeterMode,
    points: list[str],
) -> list[float | OverRange]:
    parts, number = bench
    meter = Meter().range_for(mode)
    on_board = MeterOnBoard(Netlist(board, (), parts), BenchSetup(mode), meter, ROOM_TEMPERATURE)
    rng = np.random.default_rng([kind.seed, number])
    gain = 1.0 + MATCHED.gain * float(rng.uniform(-1.0, 1.0))
    return [_rounded(value, gain, meter) for value in on_board.readings(points, kind.simulator)]


def _rounded(value: float | OverRange, gain: float, meter: MeterRange) -> float | OverRange:
    if isinstance(value, OverRange):
        return value
    shown = round(gain * value / meter.resolution) * meter.resolution
    return OVER_RANGE if shown > meter.full_scale else shown


def _mean(values: Iterable[float | OverRange]) -> float | OverRange:
    """Return the mean, or over-range where half of the boards or more are."""
    every = list(values)
    numbers = [value for value in every if not isinstance(value, OverRange)]
    return float(np.mean(numbers)) if 2 * len(numbers) > len(every) else OVER_RANGE
