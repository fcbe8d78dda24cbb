"""Scores as tables in Markdown, for the terminal and for the documentation."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from frozen_bench.device_score import CHECKPOINTS

Scores = Mapping[str, Mapping[str, Any]]
LARGE = "large: over best known"


def table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """Return a table in Markdown."""
    names = list(head)
    lines = [names, ["---"] * len(names), *(list(row) for row in rows)]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def planning_table(scores: Scores) -> str:
    """Return the excess of each method, in all and by family."""
    entered = {name: each["planning"] for name, each in scores.items() if "planning" in each}
    families = dict.fromkeys(name for each in entered.values() for name in each["families"])
    head = ["method", "mean", "median", "worst", "worst problem", *families, LARGE]
    rows = (
        [
            name,
            *(_percent(each["exact"][part]) for part in ("mean", "median", "worst")),
            each["exact"]["worst_problem"],
            *(_percent(each["families"][family]["mean"]) for family in families),
            _percent(each["bounded"]["over_best_known"]),
        ]
        for name, each in entered.items()
    )
    return table(head, rows)


def devices_table(scores: Scores) -> str:
    """Return the measures of each method at all checkpoints together, and in other worlds."""
    rows = []
    for name, each in scores.items():
        if "devices" in each:
            found = each["devices"]
            parts = {"all": found["all"], **found["worlds"]}
            rows += [[name, where, *_measures(part)] for where, part in parts.items()]
    return table(["method", "devices", *_HEAD], rows)


def checkpoints_table(scores: Scores) -> str:
    """Return the measures of each method at each checkpoint, where they are not as before it."""
    rows, before = [], dict[str, list[str]]()
    for checkpoint in CHECKPOINTS:
        for name, each in scores.items():
            if "devices" in each:
                found = _measures(each["devices"]["checkpoints"][checkpoint])
                if before.get(name) != found:
                    rows.append([name, checkpoint, *found])
                before[name] = found
    return table(["method", "checkpoint", *_HEAD], rows)


_HEAD = ["log score [nat]", "Brier skill", "calibration error (95 % band)",
         "of the leading one (95 % band)", "top 1", "top 3"]  # fmt: skip


def _measures(found: Mapping[str, Any]) -> list[str]:
    return [
        f"{found['log_score']:.3f}",
        f"{found['brier_skill']:.3f}",
        _banded(found["calibration_error"], found["calibration_band95"]),
        _banded(found["leading_calibration_error"], found["leading_band95"]),
        _percent(found["top1"], 0),
        _percent(found["top3"], 0),
    ]


def _banded(value: float, band: Iterable[float]) -> str:
    low, high = band
    return f"{value:.4f} ({low:.4f} to {high:.4f})"


def _percent(share: float, digits: int = 2) -> str:
    return f"{100.0 * share:.{digits}f} %"


def worst_table(scores: Mapping[str, Any], checkpoint: str) -> str:
    """Return the devices that a method did worst on at a checkpoint."""
    rows = (
        [each["device"], f"{each['log_score']:.2f}", _chances(each["needed"]),
         _chances(each["first"])]
        for each in scores["worst"][checkpoint]
    )  # fmt: skip
    return table(["device", "log score [nat]", "needed", "believed first"], rows)


def _chances(found: Mapping[str, float]) -> str:
    return "; ".join(f"{name} ({_percent(chance, 1)})" for name, chance in found.items())


def all_tables(scores: Scores) -> str:
    """Return all tables that have rows."""
    found = []
    if any("planning" in each for each in scores.values()):
        found += [f"Excess over the optimum:\n\n{planning_table(scores)}"]
    if any("devices" in each for each in scores.values()):
        found += [f"All checkpoints:\n\n{devices_table(scores)}"]
        found += [f"By checkpoint:\n\n{checkpoints_table(scores)}"]
    return "\n\n".join(found)
