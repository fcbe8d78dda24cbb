"""From evidence about a device to suspects and next steps: joins belief and planning to it."""

from nextprobe.diagnosis.acts import Act, Check, Fit, Look, Move, Probe, Refresh, Work
from nextprobe.diagnosis.case import Brief, Case, say_move
from nextprobe.diagnosis.expectation import Expectation, FaultTables, Reference
from nextprobe.diagnosis.suspects import Suspect

__all__ = [
    "Act",
    "Brief",
    "Case",
    "Check",
    "Expectation",
    "FaultTables",
    "Fit",
    "Look",
    "Move",
    "Probe",
    "Reference",
    "Refresh",
    "Suspect",
    "Work",
    "say_move",
]
