"""Small random boards that hold every kind of part."""

from __future__ import annotations

import random

from nextprobe.board import Board, Part, PartKind, Pin, Role

NETS = [f"S{number}" for number in range(8)]
RAILS = ["VA", "VB"]
TWO_PIN = {
    "R": (PartKind.RESISTOR, (10.0, 33.0, 1e3, 2.2e3, 47e3)),
    "FB": (PartKind.FERRITE, (None,)),
    "L": (PartKind.INDUCTOR, (1e-6,)),
    "C": (PartKind.CAPACITOR, (1e-7, 1e-6)),
    "D": (PartKind.DIODE, (None,)),
    "TV": (PartKind.PROTECTION, (None,)),
}
SIGNAL_ROLES = [Role.LANE, Role.OPEN_DRAIN, Role.LOGIC, Role.ANALOGUE]


def random_board(seed: int) -> Board:
    """Return a board of two chips, a connector and a dozen two-pin parts."""
    rng = random.Random(seed)
    nets = [*NETS, *RAILS, "GND"]
    parts = [
        _wide("U1", PartKind.CHIP, ["VA", "GND", *rng.sample(NETS, 4)]),
        _wide("U2", PartKind.CHIP, ["VB", "VC", "GND", *rng.sample(NETS, 3)]),
        _wide("J1", PartKind.CONNECTOR, rng.sample(nets, 8)),
        _wide("Q1", PartKind.TRANSISTOR, [rng.choice(NETS), "GND", rng.choice(NETS)]),
    ]
    for number in range(12):
        prefix = rng.choice(list(TWO_PIN))
        kind, values = TWO_PIN[prefix]
        first, second = rng.sample(nets, 2)
        pins = Pin("1", first), Pin("2", second)
        note = rng.choice(["", "unidirectional"])
        parts.append(Part(f"{prefix}{number + 1}", kind, pins, rng.choice(values), note))
    roles = {net: rng.choice(SIGNAL_ROLES) for net in NETS}
    roles |= {"VA": Role.RAIL, "VB": Role.RAIL, "VC": Role.CORE_RAIL}
    return Board("random", tuple(parts), roles)


def _wide(reference: str, kind: PartKind, nets: list[str]) -> Part:
    pins = tuple(Pin(str(place + 1), net) for place, net in enumerate(nets))
    return Part(reference, kind, pins)
