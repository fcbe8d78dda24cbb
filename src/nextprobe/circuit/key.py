"""Hashes of everything that predicted readings depend on."""

from __future__ import annotations

from collections.abc import Iterable
from hashlib import sha256

from nextprobe.board import BenchSetup, Board, Fault, MeterRange
from nextprobe.circuit.deviations import NOMINAL, Deviations

ENGINE = 1
"""Version of the models and of their solution; raised whenever a prediction changes."""


def content_key(
    board: Board, setup: BenchSetup, meter_range: MeterRange, deviations: Deviations = NOMINAL
) -> str:
    """Return a hash in which the order of parts and names of sets does not matter."""
    pieces = (
        ENGINE,
        board.content,
        (setup.mode.value, setup.clamped, setup.clamped_is_positive),
        (sorted(setup.plugged), sorted(setup.removed), setup.temperature),
        meter_range,
        sorted(deviations.of.items()),
    )
    return sha256(repr(pieces).encode()).hexdigest()


def table_key(
    board: Board, setup: BenchSetup, meter_range: MeterRange, faults: Iterable[Fault]
) -> str:
    """Return a hash that tells fault tables of all points apart before they are built.

    The order of faults matters, because it is that of the table's columns.
    """
    columns = [(fault.kind.value, fault.place, fault.magnitude) for fault in faults]
    return sha256(repr((content_key(board, setup, meter_range), columns)).encode()).hexdigest()
