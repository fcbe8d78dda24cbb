"""A board of eight parts, small enough to check by hand; invented."""

from __future__ import annotations

from nextprobe.board import Board, Part, PartKind, Pin, Role


def part(reference: str, kind: PartKind, *nets: str, value: float | None = None, note: str = ""):
    pins = tuple(Pin(str(place + 1), net) for place, net in enumerate(nets))
    return Part(reference, kind, pins, value, note)


BOARD = Board(
    "small",
    (
        part("J1", PartKind.CONNECTOR, "LANE", "SDA", "OUT", "GND", "IO"),
        part("U1", PartKind.CHIP, "LANE_C", "SDA", "IO", "V18", "V18", "GND", "VC"),
        part("C1", PartKind.CAPACITOR, "LANE", "LANE_C", value=100e-9),
        part("C2", PartKind.CAPACITOR, "V18", "GND", value=1e-6),
        part("R1", PartKind.RESISTOR, "SDA", "V18", value=2.2e3),
        part("FB1", PartKind.FERRITE, "V18", "OUT"),
        part("D1", PartKind.PROTECTION, "SDA", "GND"),
        part("R2", PartKind.RESISTOR, "LONE", "GND", value=470.0),
    ),
    {
        "V18": Role.RAIL,
        "OUT": Role.RAIL,
        "VC": Role.CORE_RAIL,
        "SDA": Role.OPEN_DRAIN,
        "LANE": Role.LANE,
        "LANE_C": Role.LANE,
        "IO": Role.LOGIC,
    },
)
