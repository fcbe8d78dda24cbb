"""Orders of steps that are fixed before the job; the trade's order among them.

A word of an order stands for a group of steps. The words are taken from left to right, again
after every step; whoever comes to the end follows the plan of repairs that the evidence so far
makes cheapest, as long as it pays. Among these orders are the trade's order (common practice, no
published source) and probing everything first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from nextprobe.diagnosis.acts import ORIGINAL, Refresh
from nextprobe.diagnosis.attempts import attempts
from nextprobe.diagnosis.case import Case
from nextprobe.diagnosis.ids import slug
from nextprobe.errors import MisuseError
from nextprobe.packs.schema import Access
from nextprobe.planning import best_plan
from nextprobe.trials.strategies.rules import (
    Offered,
    first_of,
    first_repair,
    follow_plan,
    not_refitted,
    offered,
    settled,
    surprised,
    swapped,
)

TRADE_ORDER = (
    "outside", "settings", "look inside", "reseat", "clean", "look outside", "swap", "probe",
    "swap and refresh", "update", "current", "probe more", "look at the board",
)  # fmt: skip
"""Look, reseat, clean, self-test and logs; swap; probe the connector and follow a surprise; refresh
with the good module fitted; the supplies; then the chips, as the plan of repairs has them."""

PROBE_ALL = (
    "look outside", "look inside", "look at the board", "current", "probe", "probe more", "touch",
)  # fmt: skip
"""Everything is measured before anything is done."""

PROVES = "prove modules"
"""A word of no step: wherever it stands, no module is sold before the original is tried again."""

# A surprise is followed where it makes one fault this likely.
_WORTH_FOLLOWING = 0.3


class StaticOrder:
    """Take groups of steps in an order that is fixed before the job.

    Parameters
    ----------
    order : sequence of str
        Words of GROUPS, each at most once.
    name : str
        For people.
    follows : bool
        Whether a surprising reading is followed at once by the repair that it points at.

    Raises
    ------
    MisuseError
        If a word is not known or occurs twice.
    """

    def __init__(
        self, order: Sequence[str], name: str = "static order", *, follows: bool = True
    ) -> None:
        unknown = [word for word in order if word not in GROUPS]
        if unknown or len(set(order)) < len(order):
            raise MisuseError(f"an order has each of these at most once: {', '.join(GROUPS)}")
        self.order = tuple(order)
        self.name = name
        self._follows = follows

    def choose(self, case: Case) -> str:
        """Return the first step of the order that is still open."""
        open_now = offered(case)
        if PROVES in self.order and case.situation.working:
            back = first_of([f"trial:{slug(slot)}:refit" for slot in not_refitted(case)], open_now)
            if back is not None:
                return back
        must = settled(case, open_now)
        if must is not None:
            return must
        if self._follows and surprised(case):
            led = _pointed_at(case, open_now)
            if led is not None:
                return led
        for word in self.order:
            chosen = first_of(_fresh(case, GROUPS[word](case, open_now)), open_now)
            if chosen is not None:
                return chosen
        return follow_plan(case, open_now)


class FixedOrder(StaticOrder):
    """The trade's order, played well."""

    def __init__(self) -> None:
        super().__init__(TRADE_ORDER, "fixed order")


class ProbeAll(StaticOrder):
    """Measure everything first, then repair what is likeliest for its price."""

    def __init__(self) -> None:
        super().__init__(PROBE_ALL, "probe all", follows=False)


def _fresh(case: Case, wanted: Iterable[str]) -> list[str]:
    """Return the steps that have not been taken yet: an order takes none twice."""
    tried = case.situation.tried
    return [name for name in wanted if name not in tried and not attempts(tried, name)]


def _pointed_at(case: Case, open_now: Offered) -> str | None:
    """Return the repair of the leading suspect, where it leads by enough."""
    leading = case.suspects(1)[0]
    if leading.remaining < _WORTH_FOLLOWING:
        return None
    order = best_plan(case.problem.plan_if(case.situation, leading.key)).order
    work = _fresh(case, [name for name in order if name.startswith("work:")])
    return first_repair(work, open_now)


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
