"""What was done and read, in words."""

from __future__ import annotations

from nextprobe.board import say_value
from nextprobe.diagnosis.acts import FAILS, PATIENT, Check, Fit, Look, Move, Probe, Refresh, Work


def say_move(move: Move) -> str:
    """Return a move in a few words, a reading with its unit."""
    match move.act:
        case Check(function, times, confirmed):
            often = f" {times} times" if times > 1 else ""
            twice = " twice" if confirmed and move.result == FAILS else ""
            return f"check {function}{often}: {move.result}{twice}"
        case Look(name):
            return f"{name}: {move.result}"
        case Fit(slot, instance):
            return f"{instance} {slot} fitted"
        case Refresh(name):
            return f"{name}: {move.result}"
        case Work(name, place):
            return f"{name} {place}"
        case Probe(point, device):
            whose = "" if device == PATIENT else f"{device}: "
            return f"{whose}{point} {_reads(move)}"


def _reads(move: Move) -> str:
    if move.reading is None:
        return "not read"
    mode = move.reading.setup.mode
    return f"reads {say_value(move.reading.value, mode)} ({mode.value})"
