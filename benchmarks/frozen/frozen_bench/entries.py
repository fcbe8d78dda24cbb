"""Entries: how they are read, scored and made from a few lines of Python."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import Any

from frozen_bench.device_score import CHECKPOINTS, device_scores, judged_devices, prior_of, worst
from frozen_bench.files import DEVICES, PACKS, PROBLEMS, VERSION, EntryError, read
from frozen_bench.planning_score import costed, planning_scores
from frozen_bench.policies import History, Rule, graph_of, graph_of_histories
from frozen_bench.problems import Problem, problem_from

BENCHMARK = "frozen diagnosis benchmark"
Entry = dict[str, Any]
Chances = Mapping[str, float]
Seen = list[tuple[dict[str, Any], Any]]
Choose = Callable[[dict[str, Any], History], str]
Believe = Callable[[dict[str, Any], dict[str, Any], Seen], Chances]


def entry_of(method: str, **sections: Any) -> Entry:
    """Return an entry with a section on ``planning``, on ``devices``, or on both."""
    return {"benchmark": BENCHMARK, "version": VERSION, "method": method, **sections}


def read_entry(path: Path) -> Entry:
    """Return the entry in a file: JSON, or Python with the functions of the protocol.

    Raises
    ------
    EntryError
        If it is no entry to this version.
    """
    if path.suffix == ".py":
        return _from_python(path)
    try:
        found = json.loads(path.read_text("utf-8"))
        named = found["benchmark"], found["version"]
    except (ValueError, KeyError, TypeError) as error:
        raise EntryError(f"{path} is no entry: {error}") from None
    if named != (BENCHMARK, VERSION):
        raise EntryError(f"{path} is an entry to {named}, not to {(BENCHMARK, VERSION)}")
    checked: Entry = found
    return checked


def _from_python(path: Path) -> Entry:
    spec = spec_from_file_location("entered_method", path)
    if spec is None or spec.loader is None:
        raise EntryError(f"{path} can not be loaded")
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    sections: dict[str, Any] = {}
    if hasattr(module, "choose"):
        sections["planning"] = planning_by_histories(module.choose)
    if hasattr(module, "chances"):
        sections["devices"] = devices_by(module.chances)
    if not sections:
        raise EntryError(f"{path} has neither a function 'choose' nor a function 'chances'")
    return entry_of(getattr(module, "METHOD", path.stem), **sections)


def planning_by_histories(choose: Choose) -> dict[str, Any]:
    """Return the policies of a function of the problem and of what was done and seen."""
    problems = read(PROBLEMS)
    return {data["id"]: graph_of_histories(problem_from(data), data, choose) for data in problems}


def planning_by(rule_for: Callable[[Problem], Rule]) -> dict[str, Any]:
    """Return the policies of a rule that looks at where a job stands."""
    problems = [problem_from(data) for data in read(PROBLEMS)]
    return {problem.id: graph_of(problem, rule_for(problem)) for problem in problems}


def devices_by(believe: Believe) -> dict[str, Any]:
    """Return the forecasts of a function of the pack, the device and what has been observed."""
    packs, found = read(PACKS), {}
    for device in read(DEVICES):
        pack = packs[device["pack"]]
        shown = known_of(pack, device)
        stages = observed(pack, device)
        found[device["id"]] = {name: dict(believe(pack, shown, seen)) for name, seen in stages}
    return found


def known_of(pack: Mapping[str, Any], device: Mapping[str, Any]) -> dict[str, Any]:
    """Return what is known of a device at intake."""
    names = ("id", "pack", "complaint", "history")
    known = device.get("known_good", pack["known_good"])
    return {**{name: device[name] for name in names}, "known_good": known}


def observed(pack: Mapping[str, Any], device: Mapping[str, Any]) -> Iterator[tuple[str, Seen]]:
    """Yield each checkpoint with the acts done so far and what came of them."""
    acts = pack["complaints"][device["complaint"]]["acts"]
    seen: Seen = [(acts[place], result) for place, result in device["observations"]]
    seen += [(act, result) for act, result in device["swap"]]
    for name in CHECKPOINTS:
        yield name, seen[: device["checkpoints"][name]]


def uniform(pack: Mapping[str, Any], device: Mapping[str, Any], seen: Sequence[Any]) -> Chances:
    """Believe every repair alike, whatever was seen."""
    del seen
    names = [each["id"] for each in pack["complaints"][device["complaint"]]["candidates"]]
    return dict.fromkeys(names, 1.0 / len(names))


def prior_only(pack: Mapping[str, Any], device: Mapping[str, Any], seen: Sequence[Any]) -> Chances:
    """Believe the rates, whatever was seen."""
    del seen
    return prior_of(pack["complaints"][device["complaint"]], device["history"])


def scored(entry: Entry, most: int = 0) -> dict[str, Any]:
    """Return the scores of an entry, with so many of the worst devices at each checkpoint.

    Raises
    ------
    EntryError
        If it has nothing to score, or what it has can not be scored.
    """
    found: dict[str, Any] = {}
    if "planning" in entry:
        found["planning"] = planning_scores(costed(entry["planning"]))
    if "devices" in entry:
        judged = judged_devices(entry["devices"])
        found["devices"] = device_scores(judged)
        if most:
            found["worst"] = {name: worst(judged, name, most) for name in CHECKPOINTS[2:]}
    if not found:
        raise EntryError("an entry has a section 'planning', or 'devices', or both")
    return found
