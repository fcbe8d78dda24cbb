"""Two entries side by side, device by device and problem by problem."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from frozen_bench.device_score import CHECKPOINTS, judged_devices
from frozen_bench.planning_score import costed
from nextprobe.trials.score import Mean, mean_of


def differences(ours: Mapping[str, Any], theirs: Mapping[str, Any]) -> dict[str, Mean]:
    """Return by how much another entry is worse than ours, where both have something to score.

    Of devices it is the log score [nat], at each checkpoint; of problems the excess over the best
    that is known [1].

    Raises
    ------
    EntryError
        If one of them can not be scored.
    """
    found = {}
    if "devices" in ours and "devices" in theirs:
        pairs = list(
            zip(judged_devices(ours["devices"]), judged_devices(theirs["devices"]), strict=True)
        )
        for name in CHECKPOINTS:
            found[f"log score, {name}"] = mean_of(
                [
                    their.every.log_score - our.every.log_score
                    for our, their in pairs
                    if our.checkpoint == name
                ]
            )
    if "planning" in ours and "planning" in theirs:
        both = zip(costed(ours["planning"]), costed(theirs["planning"]), strict=True)
        found["planning, excess"] = mean_of([their.excess - our.excess for our, their in both])
    return found


def say_differences(found: Mapping[str, Mean]) -> str:
    """Return the differences in lines, each with its 95 % interval (Student t)."""
    return "\n".join(
        f"{name}: {each.value:+.4f} ({each.low:+.4f} to {each.high:+.4f})"
        for name, each in found.items()
    )
