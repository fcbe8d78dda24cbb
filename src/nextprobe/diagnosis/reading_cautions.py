"""What to beware of when the meter touches a board."""

from __future__ import annotations

from nextprobe.board import MeterMode
from nextprobe.diagnosis.costs import LIVE
from nextprobe.diagnosis.measuring import Measurement
from nextprobe.packs.schema import Pack

CAUTIONS = (
    "Unplug the battery and every charger before probing; let the rails discharge.",
    "Work earthed on a mat; a slipping probe can harm the board.",
)
IN_OHMS = (
    "Never measure ohms or continuity on a board under power: it harms the meter and the chips.",
)
IN_FARADS = (
    "Discharge the capacitor before the meter touches it; charge harms the meter.",
    "Test at a few tenths of a volt at most, so that no junction conducts.",
)
BY_MODE = {
    MeterMode.OHMS: IN_OHMS,
    MeterMode.LOW_OHMS: IN_OHMS,
    MeterMode.CONTINUITY: IN_OHMS,
    MeterMode.CAPACITANCE: IN_FARADS,
}


def reading_cautions(pack: Pack, measurement: Measurement) -> tuple[str, ...]:
    """Return what to beware of at a reading; under power that is quite another thing."""
    if measurement.live:
        return pack.work[LIVE].cautions
    return (*CAUTIONS, *BY_MODE.get(measurement.setup.mode, ()))
