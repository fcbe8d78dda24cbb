"""Nouns of the bench: boards, parts, faults, meters and readings."""

from nextprobe.board.board import GROUND, Board, Net, Part, Pin
from nextprobe.board.clamps import Clamp, PinClamps
from nextprobe.board.classify import Classified, KindGuess, classify
from nextprobe.board.fault import Fault, FaultClass, fault_from_key
from nextprobe.board.geometry import Pad, Path, Point, Side
from nextprobe.board.grounding import main_ground, with_named_ground
from nextprobe.board.kinds import ELECTRICAL, FaultKind, MeterMode, PartKind, Role
from nextprobe.board.meter import Meter, MeterRange
from nextprobe.board.naming import (
    class_letters,
    kind_from_designator,
    natural_order,
    unit_of_kind,
)
from nextprobe.board.net_names import RoleGuess
from nextprobe.board.pinout import PinRow, PinTable
from nextprobe.board.reading import (
    OVER_RANGE,
    ROOM_TEMPERATURE,
    ZERO_CELSIUS,
    BenchSetup,
    OverRange,
    Reading,
)
from nextprobe.board.roles import infer_roles, with_inferred_roles
from nextprobe.board.shown import say_value
from nextprobe.board.sketch import sketch_from_pinout, stand_in_reference
from nextprobe.board.understanding import Understanding, understand

__all__ = [
    "ELECTRICAL",
    "GROUND",
    "OVER_RANGE",
    "ROOM_TEMPERATURE",
    "ZERO_CELSIUS",
    "BenchSetup",
    "Board",
    "Clamp",
    "Classified",
    "Fault",
    "FaultClass",
    "FaultKind",
    "KindGuess",
    "Meter",
    "MeterMode",
    "MeterRange",
    "Net",
    "OverRange",
    "Pad",
    "Part",
    "PartKind",
    "Path",
    "Pin",
    "PinClamps",
    "PinRow",
    "PinTable",
    "Point",
    "Reading",
    "Role",
    "RoleGuess",
    "Side",
    "Understanding",
    "class_letters",
    "classify",
    "fault_from_key",
    "infer_roles",
    "kind_from_designator",
    "main_ground",
    "natural_order",
    "say_value",
    "sketch_from_pinout",
    "stand_in_reference",
    "understand",
    "unit_of_kind",
    "with_inferred_roles",
    "with_named_ground",
]
