"""Moves and readings as JSON, and exactly the same back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from nextprobe.board import OVER_RANGE, BenchSetup, MeterMode, OverRange, Reading
from nextprobe.diagnosis import Act, Check, Fit, Gauge, Look, Move, Probe, Refresh, Work
from nextprobe.workbench.canonical import JsonValue

_ACTS: Mapping[str, type[Act]] = {
    "fit": Fit,
    "refresh": Refresh,
    "work": Work,
    "check": Check,
    "look": Look,
    "probe": Probe,
    "gauge": Gauge,
}
_WORDS = {kind: word for word, kind in _ACTS.items()}


def act_to_json(act: Act) -> dict[str, JsonValue]:
    """Return an act as JSON: what to ``do``, and the fields of its class."""
    found: dict[str, JsonValue] = {"do": _WORDS[type(act)]}
    for item in fields(act):
        value = getattr(act, item.name)
        found[item.name] = value.value if isinstance(value, MeterMode) else value
    return found


def act_from_json(data: Mapping[str, Any]) -> Act:
    """Return the act that `act_to_json` has written."""
    particulars = {name: value for name, value in data.items() if name != "do"}
    if "mode" in particulars:
        particulars["mode"] = MeterMode(particulars["mode"])
    return _ACTS[data["do"]](**particulars)


def move_to_json(move: Move) -> JsonValue:
    """Return an act with its result as JSON."""
    reading = None if move.reading is None else reading_to_json(move.reading)
    written = {"act": act_to_json(move.act), "result": move.result, "reading": reading}
    return {**written, "code": move.code} if move.code else written


def move_from_json(data: Mapping[str, Any]) -> Move:
    """Return the move that `move_to_json` has written."""
    reading = None if data["reading"] is None else reading_from_json(data["reading"])
    return Move(act_from_json(data["act"]), data["result"], reading, data.get("code", ""))


def value_to_json(value: float | OverRange) -> float | str:
    """Return a reading's value; over-range is a word, never a number."""
    return value.value if isinstance(value, OverRange) else value


def value_from_json(data: float | str) -> float | OverRange:
    """Return the value that `value_to_json` has written."""
    return OVER_RANGE if data == OVER_RANGE.value else float(data)


def reading_to_json(reading: Reading) -> JsonValue:
    """Return a reading with its set-up as JSON."""
    return {
        "point": reading.point,
        "value": value_to_json(reading.value),
        "touch": reading.touch,
        "time": reading.time,
        "setup": setup_to_json(reading.setup),
    }


def reading_from_json(data: Mapping[str, Any]) -> Reading:
    """Return the reading that `reading_to_json` has written."""
    setup = setup_from_json(data["setup"])
    return Reading(
        data["point"], value_from_json(data["value"]), setup, data["touch"], data["time"]
    )


def setup_to_json(setup: BenchSetup) -> JsonValue:
    """Return how the bench stood as JSON."""
    return {
        "mode": setup.mode.value,
        "clamped": setup.clamped,
        "clamped_is_positive": setup.clamped_is_positive,
        "plugged": sorted(setup.plugged),
        "removed": sorted(setup.removed),
        "cleaned": setup.cleaned,
        "temperature": setup.temperature,
    }


def setup_from_json(data: Mapping[str, Any]) -> BenchSetup:
    """Return the set-up that `setup_to_json` has written."""
    return BenchSetup(
        MeterMode(data["mode"]),
        data["clamped"],
        data["clamped_is_positive"],
        frozenset(data["plugged"]),
        frozenset(data["removed"]),
        data["cleaned"],
        data["temperature"],
    )
