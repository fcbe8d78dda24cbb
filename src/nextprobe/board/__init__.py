"""Nouns of the bench: boards, parts, faults, meters and readings."""

from nextprobe.board.board import GROUND, Board, Net, Part, Pin
from nextprobe.board.fault import Fault, FaultClass, fault_from_key
from nextprobe.board.kinds import ELECTRICAL, FaultKind, MeterMode, PartKind, Role
from nextprobe.board.meter import Meter, MeterRange
from nextprobe.board.reading import (
    OVER_RANGE,
    ROOM_TEMPERATURE,
    BenchSetup,
    OverRange,
    Reading,
)

__all__ = [
    "ELECTRICAL",
    "GROUND",
    "OVER_RANGE",
    "ROOM_TEMPERATURE",
    "BenchSetup",
    "Board",
    "Fault",
    "FaultClass",
    "FaultKind",
    "Meter",
    "MeterMode",
    "MeterRange",
    "Net",
    "OverRange",
    "Part",
    "PartKind",
    "Pin",
    "Reading",
    "Role",
    "fault_from_key",
]
