"""What is done to a device and what comes of it, as plain data and back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from frozen_bench.packs import reading_data, reading_from
from nextprobe.board import GROUND, BenchSetup, MeterMode, Reading
from nextprobe.diagnosis import Act, Case, Check, Fit, Gauge, Look, Move, Probe, Refresh


def act_data(act: Act) -> dict[str, Any]:
    """Return an act as plain data."""
    match act:
        case Check(function, times, confirmed):
            more = {"times": times} if times > 1 else {}
            return {"do": "check", "function": function, **more, **_if(confirmed=confirmed)}
        case Look(name):
            return {"do": "look", "at": name}
        case Gauge(stage):
            return {"do": "current", "stage": stage}
        case Probe(point, _, mode, clamped):
            return {"do": "probe", "point": point, "mode": mode.value, "clamped": clamped}
        case Fit(slot, instance):
            return {"do": "fit", "module": slot, "instance": instance}
        case Refresh(name):
            return {"do": "refresh", "name": name}
    raise ValueError(f"{act} is not part of the benchmark")


def _if(**flags: bool) -> dict[str, bool]:
    return {name: True for name, flag in flags.items() if flag}


def act_from(data: Mapping[str, Any]) -> Act:
    """Return the act again."""
    match data["do"]:
        case "check":
            return Check(data["function"], data.get("times", 1), data.get("confirmed", False))
        case "look":
            return Look(data["at"])
        case "current":
            return Gauge(data["stage"])
        case "probe":
            mode = MeterMode(data["mode"])
            return Probe(data["point"], mode=mode, clamped=data.get("clamped", GROUND))
        case "fit":
            return Fit(data["module"], data["instance"])
        case "refresh":
            return Refresh(data["name"])
    raise ValueError(f"'{data['do']}' is not part of the benchmark")


def result_data(move: Move) -> Any:
    """Return what came of an act: a word, a current [A], or a reading [V, ohm or F]."""
    if move.reading is not None:
        return reading_data(move.reading.value)
    if isinstance(move.act, Gauge):
        return float(f"{float(move.result):.6g}")
    return f"{move.result}: {move.code}" if move.code else move.result


def move_from(act: Act, result: Any) -> Move:
    """Return an act with its result again."""
    match act:
        case Probe(point, _, mode, clamped):
            return Move(act, "", Reading(point, reading_from(result), BenchSetup(mode, clamped)))
        case Gauge():
            return Move(act, repr(float(result)))
    word, _, code = str(result).partition(": ") if isinstance(act, Refresh) else (result, "", "")
    return Move(act, word, code=code)


def acts_offered(case: Case) -> list[Act]:
    """Return all that can be observed of a device without changing it."""
    pack = case.brief.pack
    supply = pack.supply_current
    return [
        *(Look(name) for name in pack.looks),
        *(Check(name) for name in pack.functions),
        *(Gauge(stage) for stage in (supply.stages() if supply is not None else ())),
        *(item.act() for item in case.problem.probing.touches.values()),
    ]
