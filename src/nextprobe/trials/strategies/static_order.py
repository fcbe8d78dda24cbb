"""Orders of steps that are fixed before the job; the trade's order among them.

A word of an order stands for a group of steps. The words are taken from left to right, again
after every step. What the order does not say is left to judgement: what a surprise leads to, and
what comes at its end. Among these orders are the trade's order (common practice, no published
source) and probing everything first.
"""

from __future__ import annotations

from collections.abc import Sequence

from nextprobe.diagnosis.case import Case
from nextprobe.diagnosis.ids import slug
from nextprobe.errors import MisuseError
from nextprobe.trials.strategies.judgement import Habit, Judgement, Weighing, fresh
from nextprobe.trials.strategies.order_words import GROUPS, PROVES
from nextprobe.trials.strategies.rules import first_of, not_refitted, offered, settled

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


class StaticOrder:
    """Take groups of steps in an order that is fixed before the job.

    Parameters
    ----------
    order : sequence of str
        Words of GROUPS, each at most once.
    name : str
        For people.
    judgement : Judgement
        Decides what the order does not say.
    follows : bool
        Whether a surprising reading is followed at once by the work that it leads to.

    Raises
    ------
    MisuseError
        If a word is not known or occurs twice.
    """

    def __init__(
        self,
        order: Sequence[str],
        name: str = "static order",
        judgement: Judgement | None = None,
        *,
        follows: bool = True,
    ) -> None:
        unknown = [word for word in order if word not in GROUPS]
        if unknown or len(set(order)) < len(order):
            raise MisuseError(f"an order has each of these at most once: {', '.join(GROUPS)}")
        self.order = tuple(order)
        self.name = name
        self._judgement = judgement or Habit()
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
        led = self._judgement.led(case, open_now) if self._follows else None
        if led is not None:
            return led
        for word in self.order:
            chosen = first_of(fresh(case, GROUPS[word](case, open_now)), open_now)
            if chosen is not None:
                return chosen
        return self._judgement.rest(case, open_now)


class FixedOrder(StaticOrder):
    """The trade's order, played well."""

    def __init__(self, judgement: Judgement | None = None) -> None:
        super().__init__(TRADE_ORDER, "fixed order", judgement)


class ProbeAll(StaticOrder):
    """Measure everything first, then repair what is likeliest for its price."""

    def __init__(self) -> None:
        super().__init__(PROBE_ALL, "probe all", Weighing(), follows=False)
