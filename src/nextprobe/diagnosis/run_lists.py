"""Which probing runs there are: at the connectors of a function, and on the board."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import GROUND, BenchSetup, MeterMode, OverRange, Part, PartKind, Role
from nextprobe.diagnosis.expectation import Expectations
from nextprobe.diagnosis.measuring import (
    BENCH,
    Measurement,
    coupling,
    lines,
    through,
    to_ground,
)
from nextprobe.diagnosis.on_board import across_each, touched
from nextprobe.diagnosis.running import Run, bin_chances

RAILS = "run:rails"
"""The run over the supply rails that no connector shows."""
_IN_OHMS = "Measure the supply rails to ground in ohms, for leaks"
_ACROSS = (
    (MeterMode.OHMS, "run:resistors", "Measure across the resistors on the board in ohms"),
    (MeterMode.LOW_OHMS, "run:coils", "Measure through the coils on the board in low ohms"),
)


def runs(expectations: Expectations, connectors: tuple[str, ...]) -> tuple[Run, ...]:
    """Return the probing runs worth offering: at some connectors, and on the board."""
    found = []
    for name in connectors:
        if name in expectations.board.by_reference:
            found += _runs_at(expectations, expectations.board.part(name))
    read = {item.id for run in found if run is not None for item in run.measurements}
    found += _runs_on_board(expectations, connectors, read)
    return tuple(run for run in found if run is not None)


def _runs_on_board(
    expectations: Expectations, connectors: tuple[str, ...], read: Collection[str]
) -> list[Run | None]:
    """Return the runs over what is on the board, apart from what those of connectors measure."""
    rails = [item for item in pads(expectations, connectors) if _on_a_rail(expectations, item)]
    found = [
        _run(expectations, RAILS, "Touch the supply rails on the board", tuple(rails)),
        _run(expectations, f"{RAILS}:ohms", _IN_OHMS, _known_in_ohms(expectations, rails)),
    ]
    for mode, name, title in _ACROSS:
        measured = across_each(expectations.board, expectations.listed, mode)
        left = tuple(item for item in measured if item.id not in read)
        found.append(_run(expectations, name, title, left))
    return found


def _known_in_ohms(
    expectations: Expectations, rails: Collection[Measurement]
) -> tuple[Measurement, ...]:
    """Return rails to be measured in ohms: those that were on good boards.

    What is computed of the resistance of chips is too wide to show a leak.
    """
    known = [item for item in rails if expectations.reference(item.point, MeterMode.OHMS)]
    return tuple(Measurement(item.point, BenchSetup(MeterMode.OHMS)) for item in known)


def pads(expectations: Expectations, connectors: tuple[str, ...]) -> tuple[Measurement, ...]:
    """Return a touch of each net where a fault may sit that no pin of some connectors shows."""
    board = expectations.board
    parts = [board.part(name) for name in connectors if name in board.by_reference]
    shown = {pin.net for part in parts for pin in part.pins}
    return touched(board, (net for net in expectations.suspected_nets if net not in shown))


def _on_a_rail(expectations: Expectations, item: Measurement) -> bool:
    board = expectations.board
    return board.role(board.net_of(item.point)).is_supply


def _runs_at(expectations: Expectations, part: Part) -> list[Run | None]:
    """Return the runs of one connector, one meter mode each."""
    board, name = expectations.board, part.reference
    near = _pins(expectations, part)
    beyond = _beyond(expectations, near)
    blind = [item for item in lines(board, part) if _blind(expectations, item.point)]
    return [
        _run(expectations, f"run:{name}", f"Probe the pins of {name}", _diode(near)),
        _run(
            expectations,
            f"run:{name}:beyond",
            f"Probe behind the series capacitors of {name}",
            _diode(beyond),
        ),
        _run(
            expectations,
            f"run:{name}:ohms",
            f"Measure the supply pins of {name} to ground in ohms, for leaks",
            tuple(to_ground(board, part)),
        ),
        _run(
            expectations,
            f"run:{name}:low-ohms",
            f"Measure through the ferrites and coils of {name} in low ohms",
            tuple(through(board, part)),
        ),
        _run(
            expectations,
            f"run:{name}:capacitance",
            f"Measure the series capacitors of {name} in capacitance",
            tuple(coupling(board, part)),
        ),
        _run(
            expectations,
            f"run:{name}:continuity",
            f"Check the lines that diode mode does not see from {name} to the next part",
            tuple(blind),
        ),
    ]


def _diode(points: tuple[str, ...]) -> tuple[Measurement, ...]:
    return tuple(Measurement(point) for point in points)


def _blind(expectations: Expectations, point: str) -> bool:
    """Tell whether a good board reads over-range at a point in diode mode."""
    return isinstance(expectations.at(point, BENCH).healthy, OverRange)


def _pins(expectations: Expectations, part: Part) -> tuple[str, ...]:
    board = expectations.board
    skipped = (Role.GROUND, Role.NOT_CONNECTED)
    return tuple(
        f"{part.reference}.{pin.number}"
        for pin in part.pins
        if pin.net != GROUND and board.role(pin.net) not in skipped
    )


def _beyond(expectations: Expectations, near: tuple[str, ...]) -> tuple[str, ...]:
    board = expectations.board
    points = []
    for point in near:
        for part, pin in board.parts_on(board.net_of(point)):
            if part.kind is PartKind.CAPACITOR and len(part.pins) == 2:
                far = next(p for p in part.pins if p is not pin)
                if far.net != GROUND:
                    points.append(f"{part.reference}.{far.number}")
    return tuple(dict.fromkeys(points))


def _run(
    expectations: Expectations, name: str, title: str, measured: tuple[Measurement, ...]
) -> Run | None:
    if not measured:
        return None

    def chance_of(item: Measurement) -> NDArray[np.float64]:
        return bin_chances(expectations.at(item.point, item.setup))

    return Run(name, title, tuple(item.place for item in measured), measured, chance_of)
