"""A hash of everything that a fault table depends on."""

from __future__ import annotations

from hashlib import sha256

from nextprobe.board import BenchSetup, Board, MeterRange
from nextprobe.circuit.deviations import Deviations


def content_key(
    board: Board, setup: BenchSetup, meter_range: MeterRange, deviations: Deviations
) -> str:
    """Return a hash in which the order of parts and names of sets does not matter."""
    pieces = [board.name]
    pieces += sorted(
        repr((p.reference, p.kind.value, p.pins, p.value, p.note, p.implied)) for p in board.parts
    )
    pieces += sorted(f"{net}={role.value}" for net, role in board.roles.items())
    pieces.append(repr((setup.mode.value, setup.clamped, setup.clamped_is_positive)))
    pieces.append(repr((sorted(setup.plugged), sorted(setup.removed), setup.temperature)))
    pieces.append(repr(meter_range))
    pieces += sorted(f"{name}={value!r}" for name, value in deviations.of.items())
    return sha256("\n".join(pieces).encode()).hexdigest()
