"""The words of an order: each stands for a group of steps, in order."""

from __future__ import annotations

from collections.abc import Callable

from nextprobe.diagnosis.acts import ORIGINAL, Refresh
from nextprobe.diagnosis.case import Case
from nextprobe.diagnosis.ids import slug
from nextprobe.packs.schema import Access
from nextprobe.trials.strategies.rules import Offered, swapped

PROVES = "prove modules"
"""A word of no step: wherever it stands, no module is sold before the original is tried again."""


def _work(*kinds: str) -> Callable[[Case, Offered], list[str]]:
    def steps(case: Case, open_now: Offered) -> list[str]:
        del case
        starts = tuple(f"work:{kind}" for kind in kinds)
        return [name for name in open_now if name.startswith(starts)]

    return steps


def _at_seats(work: str) -> Callable[[Case, Offered], list[str]]:
    def steps(case: Case, open_now: Offered) -> list[str]:
        del open_now
        return [repair.id for repair in case.model.work if repair.work == work]

    return steps


def _looks(access: Access) -> Callable[[Case, Offered], list[str]]:
    def steps(case: Case, open_now: Offered) -> list[str]:
        levels = {f"look:{slug(name)}": look.access
                  for name, look in case.brief.pack.looks.items()}  # fmt: skip
        return [name for name in open_now if levels.get(name) is access]

    return steps


def _of_kind(kind: str) -> Callable[[Case, Offered], list[str]]:
    def steps(case: Case, open_now: Offered) -> list[str]:
        del case
        return [name for name in open_now if name.startswith(f"{kind}:")]

    return steps


def _swap(case: Case, open_now: Offered) -> list[str]:
    del open_now
    slots = [slot for slot in case.model.slots if not swapped(case, slot)]
    return [f"trial:{slug(slot)}:fit" for slot in slots]


def _swap_and_refresh(case: Case, open_now: Offered) -> list[str]:
    refreshed = any(isinstance(move.act, Refresh) for move in case.moves)
    fitted = case.situation.configuration.fitted
    steps = []
    for slot in case.model.slots:
        steps += [f"trial:{slug(slot)}:refresh"] if fitted.get(slot) != ORIGINAL else []
        steps += [] if refreshed else [f"trial:{slug(slot)}:fit-refresh"]
    return [name for name in steps if name in open_now]


def _run(plain: bool) -> Callable[[Case, Offered], list[str]]:
    def steps(case: Case, open_now: Offered) -> list[str]:
        runs = [name for name in open_now if name.startswith("run:")]
        return [name for name in runs if (name in case.problem.probing.plain_runs) is plain]

    return steps


def _refreshes(keeps_data: bool) -> Callable[[Case, Offered], list[str]]:
    def steps(case: Case, open_now: Offered) -> list[str]:
        del open_now
        known = case.brief.pack.refreshes.items()
        return [f"refresh:{name}" for name, data in known if data.keeps_data is keeps_data]

    return steps


def _no_step(case: Case, open_now: Offered) -> list[str]:
    del case, open_now
    return []


GROUPS: dict[str, Callable[[Case, Offered], list[str]]] = {
    "outside": _work("try-external"),
    "settings": _work("restart"),
    "look outside": _looks(Access.CLOSED),
    "look inside": _looks(Access.OPEN),
    "look at the board": _looks(Access.BOARD_OUT),
    "checks": _of_kind("check"),
    "reseat": _at_seats("reseat"),
    "clean": _at_seats("clean"),
    "swap": _swap,
    "swap and refresh": _swap_and_refresh,
    "update": _refreshes(keeps_data=True),
    "restore": _refreshes(keeps_data=False),
    "probe": _run(plain=True),
    "probe more": _run(plain=False),
    "touch": _of_kind("probe"),
    "current": _of_kind("current"),
    "ultrasonic": _at_seats("ultrasonic"),
    PROVES: _no_step,
}
"""Words of an order, and the steps that each stands for, in order."""
