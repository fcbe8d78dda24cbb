"""Ways to choose the next step, all played by the same rules; one module each."""

from nextprobe.trials.strategies.advised import Advised
from nextprobe.trials.strategies.information_gain import InformationGain
from nextprobe.trials.strategies.judgement import Habit, Weighing
from nextprobe.trials.strategies.order_words import GROUPS
from nextprobe.trials.strategies.p_over_c import POverC
from nextprobe.trials.strategies.perfect_knowledge import PerfectKnowledge
from nextprobe.trials.strategies.rules import Strategy
from nextprobe.trials.strategies.static_order import (
    PROBE_ALL,
    TRADE_ORDER,
    FixedOrder,
    ProbeAll,
    StaticOrder,
)

NEXTPROBE = "nextprobe"
FIXED_ORDER = "fixed_order"
BEST_STATIC = "best_static"
PERFECT_KNOWLEDGE = "perfect_knowledge"
PROBE_EVERYTHING = "probe_all"
STATIC = (BEST_STATIC, FIXED_ORDER)
"""Strategies whose order is fixed before the job."""
INFORMED_ORDER = "informed_order"
INFORMED_STATIC = "informed_static"
INFORMED = (INFORMED_STATIC, INFORMED_ORDER, PROBE_EVERYTHING)
"""The same, where our inference follows each surprise and chooses the repairs at the end."""
TUNED = frozenset({BEST_STATIC, INFORMED_STATIC})
"""Strategies that need an order which was tuned before."""
NAMES = (
    NEXTPROBE,
    FIXED_ORDER,
    BEST_STATIC,
    INFORMED_ORDER,
    INFORMED_STATIC,
    PROBE_EVERYTHING,
    "p_over_c",
    "information_gain",
    PERFECT_KNOWLEDGE,
)
"""All strategies that a rehearsal knows."""

__all__ = [
    "BEST_STATIC",
    "FIXED_ORDER",
    "GROUPS",
    "INFORMED",
    "INFORMED_ORDER",
    "INFORMED_STATIC",
    "NAMES",
    "NEXTPROBE",
    "PERFECT_KNOWLEDGE",
    "PROBE_ALL",
    "PROBE_EVERYTHING",
    "STATIC",
    "TRADE_ORDER",
    "TUNED",
    "Advised",
    "FixedOrder",
    "Habit",
    "InformationGain",
    "POverC",
    "PerfectKnowledge",
    "ProbeAll",
    "StaticOrder",
    "Strategy",
    "Weighing",
]
