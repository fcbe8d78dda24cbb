"""What was done, in words, readings with their unit."""

from __future__ import annotations

from nextprobe.diagnosis import Move, Probe, say_move
from nextprobe.diagnosis.acts import PATIENT
from nextprobe.workbench.phrases import say_value


def say_done(move: Move) -> str:
    """Return a move in a few words."""
    if not isinstance(move.act, Probe) or move.reading is None:
        return say_move(move)
    whose = "" if move.act.device == PATIENT else f"{move.act.device}: "
    mode = move.reading.setup.mode
    return f"{whose}{move.act.point} reads {say_value(move.reading.value, mode)} ({mode.value})"
