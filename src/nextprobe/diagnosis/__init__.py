"""From evidence about a device to suspects and next steps: joins belief and planning to it."""

from nextprobe.diagnosis.acts import Act, Check, Fit, Gauge, Look, Move, Probe, Refresh, Work
from nextprobe.diagnosis.case import LOOK_AHEADS, Brief, Case
from nextprobe.diagnosis.predicted import Expectation, Reference
from nextprobe.diagnosis.spoken import say_move
from nextprobe.diagnosis.suspects import Suspect
from nextprobe.diagnosis.tables import FaultTables, TableKeeper

__all__ = [
    "LOOK_AHEADS",
    "Act",
    "Brief",
    "Case",
    "Check",
    "Expectation",
    "FaultTables",
    "Fit",
    "Gauge",
    "Look",
    "Move",
    "Probe",
    "Reference",
    "Refresh",
    "Suspect",
    "TableKeeper",
    "Work",
    "say_move",
]
