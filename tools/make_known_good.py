"""Write the demo packs' known-good readings: the mean of a few invented good boards.

Each board is the circuit's own prediction with seeded deviations of its parts and the meter's
error on top, rounded to what the meter shows. Run from the root of the checkout::

    python tools/make_known_good.py
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator

from nextprobe.board import (
    GROUND,
    BenchSetup,
    Board,
    Meter,
    MeterMode,
    OverRange,
    Part,
    PartKind,
    Role,
)
from nextprobe.circuit import Deviations, predict_many
from nextprobe.readers.pack_folder import KNOWN_GOOD, demo_pack_folder, read_pack_folder

SEED = 20
BOARDS = 2
CONNECTORS = {
    "courier-handheld": ("J4",),
    "ferry-terminal": ("J1", "J2", "J3", "J6"),
    "field-recorder": ("J1", "J3", "J4", "J5", "J8"),
}
# Deviations of ln(parameter) between boards; 0.3 in ln(Is) is 12 mV with n = 1.6 at 25 °C.
GROUP, PIN, SERIES, RESISTOR, LEAK = 0.3, 0.05, 0.1, 0.01, 0.2

# One meter for all boards: one error of gain [1], and a millivolt from touch to touch.
TOUCH = 0.001


def invented_board(board: Board, draw: random.Random) -> Deviations:
    """Return the deviations of one good board."""
    return Deviations({name: draw.gauss(0.0, spread) for name, spread in _parameters(board)})


def _parameters(board: Board) -> Iterator[tuple[str, float]]:
    for part in board.parts:
        if part.kind is PartKind.CHIP:
            yield from _of_chip(part)
        elif part.kind in (PartKind.PROTECTION, PartKind.DIODE):
            yield f"Is:{part.reference}", GROUP
        elif part.kind in (PartKind.RESISTOR, PartKind.FERRITE, PartKind.INDUCTOR):
            yield f"R:{part.reference}", RESISTOR
    for net in board.nets:
        if board.role(net).is_supply:
            yield f"leak:{net}", LEAK


def _of_chip(part: Part) -> Iterator[tuple[str, float]]:
    yield f"Rs:{part.reference}", SERIES
    yield f"Is:{part.reference}:supply", GROUP
    for role in Role:
        yield f"Is:{part.reference}:{role.value.replace(' ', '-')}", GROUP
    for pin in part.pins:
        yield f"Is:{part.reference}.{pin.number}", PIN


def known_good_text(board: Board, connectors: tuple[str, ...]) -> str:
    """Return the text of the table for the pins of some connectors."""
    draw = random.Random(SEED)
    meter_range = Meter().range_for(MeterMode.DIODE)
    points = [
        f"{connector}.{pin.number}"
        for connector in connectors
        for pin in sorted(board.part(connector).pins, key=lambda pin: int(pin.number))
        if pin.net != GROUND
    ]
    boards = [
        predict_many(
            board, BenchSetup(), meter_range, points, deviations=invented_board(board, draw)
        )
        for _ in range(BOARDS)
    ]
    gain = draw.gauss(1.0, meter_range.percent / 100 / math.sqrt(3))
    lines = ["point,mode,reading,boards,source"]
    for point in points:
        values = [readings[point] for readings in boards]
        numbers = [value for value in values if not isinstance(value, OverRange)]
        shown = "OL"
        if numbers:
            shown = f"{gain * math.fsum(numbers) / len(numbers) + draw.gauss(0.0, TOUCH):.3f}"
        lines.append(f"{point},diode,{shown},{BOARDS},mean of {BOARDS} known-good boards")
    return "\n".join(lines) + "\n"


def main() -> None:
    """Write the table into every demo pack."""
    for name, connectors in CONNECTORS.items():
        folder = demo_pack_folder(name)
        contents, _ = read_pack_folder(folder)
        if contents is None or contents.board is None:
            raise SystemExit(f"the demo pack {name} can not be read")
        text = known_good_text(contents.board, connectors)
        (folder / KNOWN_GOOD).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
