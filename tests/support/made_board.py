"""A made board of 3,000 parts and 8,000 pads, as the interface sends boards."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from typing import Any
from zlib import crc32

WIDTH, HEIGHT = 140.0, 80.0
CHIPS, CONNECTORS, PASSIVES, TEST_POINTS = 50, 10, 1280, 160
NETS = 900
ROLES = ("rail", "lane", "logic", "open-drain", "clock", "analogue", "unknown")

Box = tuple[float, float, float, float]


@dataclass
class Made:
    """What is on the board so far, in millimetres."""

    rng: random.Random = field(default_factory=lambda: random.Random(8000))
    parts: list[dict[str, Any]] = field(default_factory=list)
    pads: list[dict[str, Any]] = field(default_factory=list)

    def part(self, reference: str, kind: str, side: str, box: Box, shown: str = "") -> None:
        left, top, right, bottom = (1e-3 * each for each in box)
        self.parts.append(
            {
                "reference": reference,
                "kind": kind,
                "value": None,
                "shown": shown,
                "note": "",
                "side": side,
                "position": [(left + right) / 2, (top + bottom) / 2],
                "rotation": 0.0,
                "outline": [[left, top], [right, top], [right, bottom], [left, bottom]],
                "fitted": len(self.parts) % 97 != 0,
                "implied": False,
            }
        )

    def pad(
        self, number: int, x: float, y: float, width: float, height: float, *,
        rotation: float = 0.0, is_round: bool = False,
    ) -> None:  # fmt: skip
        part = self.parts[-1]
        self.pads.append(
            {
                "pin": f"{part['reference']}.{number}",
                "part": len(self.parts) - 1,
                "net": 0 if self.rng.random() < 0.2 else self.rng.randrange(NETS),
                "x": 1e-3 * x,
                "y": 1e-3 * y,
                "width": 1e-3 * width,
                "height": 1e-3 * height,
                "rotation": rotation,
                "side": part["side"],
                "is_round": is_round,
            }
        )


def made_board() -> dict[str, Any]:
    """Return the board; always the same."""
    made = Made()
    for place, side in enumerate(("front", "back")):
        taken = [*_connectors(made, side, place), *_chips(made, side, place)]
        _small_parts(made, side, place, taken)
    columns = {name: [pad[name] for pad in made.pads] for name in made.pads[0]}
    outline = [(0, 0), (WIDTH, 0), (WIDTH, HEIGHT - 18), (WIDTH - 18, HEIGHT), (0, HEIGHT), (0, 0)]
    hole = [(62, 36), (74, 36), (74, 44), (62, 44), (62, 36)]
    nets = [
        {"name": "GND" if net == 0 else f"N{net:03d}", "role": ROLES[net % 7] if net else "ground"}
        for net in range(NETS)
    ]
    return {
        "name": "Trestle 9",
        "key": crc32("\n".join(columns["pin"]).encode()),
        "has_places": True,
        "outline": [[[1e-3 * x, 1e-3 * y] for x, y in path] for path in (outline, hole)],
        "parts": made.parts,
        "nets": nets,
        "pads": columns,
        "connectors": [],
    }


def _connectors(made: Made, side: str, place: int) -> list[Box]:
    """Two rows of 24 pins, along two edges."""
    boxes = []
    for index in range(CONNECTORS):
        left = 3.0 + 26.0 * (index % 5)
        top = 2.0 if index < 5 else HEIGHT - 6.0
        box = (left, top, left + 13.0, top + 4.0)
        made.part(f"J{place * CONNECTORS + index + 1}", "connector", side, box)
        for pin in range(48):
            x, y = left + 0.75 + 0.5 * (pin // 2), top + (0.6 if pin % 2 == 0 else 3.4)
            made.pad(pin + 1, x, y, 0.28, 0.9)
        boxes.append(box)
    return boxes


def _chips(made: Made, side: str, place: int) -> list[Box]:
    """Sixteen pads on four sides, every fifth chip turned by 30 degrees."""
    boxes = []
    for index in range(CHIPS):
        x, y = 8.0 + 13.6 * (index % 10), 13.0 + 13.5 * (index // 10)
        box = (x - 2.0, y - 2.0, x + 2.0, y + 2.0)
        made.part(f"U{place * CHIPS + index + 1}", "ic", side, box)
        tilt = 30.0 if index % 5 == 2 else 0.0
        for pin in range(16):
            along, edge = -0.9 + 0.6 * (pin % 4), pin // 4
            dx, dy = ((-1.8, along), (along, 1.8), (1.8, -along), (-along, -1.8))[edge]
            upright = edge % 2 == 1
            made.pad(pin + 1, x + dx, y + dy, 0.7, 0.3, rotation=(90.0 if upright else 0.0) + tilt)
        boxes.append(box)
    return boxes


def _small_parts(made: Made, side: str, place: int, taken: list[Box]) -> None:
    cells = [
        (1.5 + 1.7 * column, 1.5 + 1.25 * row)
        for column in range(int((WIDTH - 2) / 1.7))
        for row in range(int((HEIGHT - 2) / 1.25))
    ]
    free = [cell for cell in cells if _is_free(cell, taken)]
    chosen = sorted(made.rng.sample(free, PASSIVES + TEST_POINTS))
    points = set(made.rng.sample(chosen, TEST_POINTS))
    counts = {"R": place * PASSIVES, "TP": place * TEST_POINTS}
    for x, y in chosen:
        letter = "TP" if (x, y) in points else "R"
        counts[letter] += 1
        name = f"{letter}{counts[letter]}"
        if letter == "TP":
            made.part(name, "test point", side, (x - 0.4, y - 0.4, x + 0.4, y + 0.4))
            made.pad(1, x, y, 0.7, 0.7, is_round=True)
        else:
            made.part(name, "resistor", side, (x - 0.65, y - 0.3, x + 0.65, y + 0.3), "4.7 kΩ")
            made.pad(1, x - 0.48, y, 0.35, 0.5)
            made.pad(2, x + 0.48, y, 0.35, 0.5)


def _is_free(cell: tuple[float, float], taken: list[Box]) -> bool:
    x, y = cell
    inside = x - 1 < WIDTH - 1.5 and (x + y) < WIDTH + HEIGHT - 20
    hole = 60.5 < x < 75.5 and 34.5 < y < 45.5
    beside = all(x < a - 0.8 or x > c + 0.8 or y < b - 0.5 or y > d + 0.5 for a, b, c, d in taken)
    return inside and beside and not hole
