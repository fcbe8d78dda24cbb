"""The kinds of parts, nets and faults that the rest of Nextprobe speaks of."""

from __future__ import annotations

from enum import StrEnum


class PartKind(StrEnum):
    """What a part is, as far as a meter is concerned."""

    RESISTOR = "resistor"
    FERRITE = "ferrite"
    INDUCTOR = "inductor"
    CAPACITOR = "capacitor"
    DIODE = "diode"
    PROTECTION = "protection"
    TRANSISTOR = "transistor"
    CHIP = "chip"
    CONNECTOR = "connector"
    CRYSTAL = "crystal"
    SWITCH = "switch"
    TEST_POINT = "test point"
    OTHER = "other"


class Role(StrEnum):
    """What a net is for."""

    GROUND = "ground"
    RAIL = "rail"
    CORE_RAIL = "core rail"
    LANE = "lane"
    OPEN_DRAIN = "open drain"
    LOGIC = "logic"
    CLOCK = "clock"
    ANALOGUE = "analogue"
    RADIO = "radio"
    NOT_CONNECTED = "not connected"
    UNKNOWN = "unknown"

    @property
    def is_supply(self) -> bool:
        """Whether the net carries power rather than a signal."""
        return self in (Role.RAIL, Role.CORE_RAIL)


class FaultKind(StrEnum):
    """How something can fail.

    The first block changes the circuit that a meter sees; the second does not.
    """

    OPEN = "open"
    SHORT = "short"
    LEAKY = "leaky"
    DRIFTED = "drifted"
    HIGH_RESISTANCE = "high resistance"
    JOINT_OPEN = "joint open"
    CLAMP_SHORT = "clamp short"
    CLAMP_OPEN = "clamp open"
    LEAK_TO_GROUND = "leak to ground"
    LEAK_TO_RAIL = "leak to rail"
    BRIDGE = "bridge"
    BROKEN_NET = "broken net"

    MODULE_BAD = "module bad"
    SEATING = "poor seating"
    DIRT = "dirt"
    RECOGNITION_STALE = "recognition stale"
    FIRMWARE_CORRUPT = "firmware corrupt"
    SETTINGS = "settings"
    EXTERNAL = "external"
    RESIDUE = "liquid residue"
    NO_OUTPUT = "no output"
    CHIP_DEAD = "chip dead"
    UNLISTED = "unlisted"

    @property
    def is_electrical(self) -> bool:
        """Whether an unpowered DC reading can, in principle, change."""
        return self in ELECTRICAL


ELECTRICAL = frozenset(
    {
        FaultKind.OPEN,
        FaultKind.SHORT,
        FaultKind.LEAKY,
        FaultKind.DRIFTED,
        FaultKind.HIGH_RESISTANCE,
        FaultKind.JOINT_OPEN,
        FaultKind.CLAMP_SHORT,
        FaultKind.CLAMP_OPEN,
        FaultKind.LEAK_TO_GROUND,
        FaultKind.LEAK_TO_RAIL,
        FaultKind.BRIDGE,
        FaultKind.BROKEN_NET,
    }
)


class MeterMode(StrEnum):
    """What the meter is set to measure."""

    DIODE = "diode"
    OHMS = "ohms"
    LOW_OHMS = "low ohms"
    CONTINUITY = "continuity"
    CAPACITANCE = "capacitance"
    DC_VOLTS = "dc volts"
