"""What was done and read, in words."""

from __future__ import annotations

from nextprobe.board import GROUND, say_value
from nextprobe.diagnosis.acts import (
    FAILS,
    PATIENT,
    Check,
    Fit,
    Gauge,
    Look,
    Move,
    Probe,
    Refresh,
    Work,
)
from nextprobe.diagnosis.ids import between


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
        case Probe(_, device):
            whose = "" if device == PATIENT else f"{device}: "
            return f"{whose}{_between(move.act)} {_reads(move)}"
        case Gauge(stage):
            return f"supply current {stage}: {say_current(move.result)}"


def say_current(amperes: str) -> str:
    """Return a current in words, as in ``0.182 A`` or ``4.1 mA``."""
    value = float(amperes)
    return f"{value:.3g} A" if value >= 0.1 else f"{value * 1e3:.3g} mA"


def _between(probe: Probe) -> str:
    if probe.clamped == GROUND:
        return probe.point
    return between(probe.point, probe.clamped).replace("~", " to ")


def _reads(move: Move) -> str:
    if move.reading is None:
        return "not read"
    mode = move.reading.setup.mode
    return f"reads {say_value(move.reading.value, mode)} ({mode.value})"
