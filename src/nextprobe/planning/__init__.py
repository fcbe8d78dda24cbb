"""What to do next; sees only beliefs, configurations and costs."""

from nextprobe.belief import Branch
from nextprobe.planning.configuration import Configuration
from nextprobe.planning.cost import Cost, Tariff
from nextprobe.planning.lookahead import recommend
from nextprobe.planning.option import Limits, Option
from nextprobe.planning.plan_table import PlanTable
from nextprobe.planning.plans import (
    Plan,
    best_plan,
    best_values,
    evaluate,
    known_values,
    option_of,
    perfect_information,
)
from nextprobe.planning.problem import Batched, LeafBatch, Problem
from nextprobe.planning.recommendation import Forecast, Ranked, Reason, Recommendation

__all__ = [
    "Batched",
    "Branch",
    "Configuration",
    "Cost",
    "Forecast",
    "LeafBatch",
    "Limits",
    "Option",
    "Plan",
    "PlanTable",
    "Problem",
    "Ranked",
    "Reason",
    "Recommendation",
    "Tariff",
    "best_plan",
    "best_values",
    "evaluate",
    "known_values",
    "option_of",
    "perfect_information",
    "recommend",
]
