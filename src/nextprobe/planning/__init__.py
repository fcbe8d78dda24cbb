"""What to do next; sees only beliefs, configurations and costs."""

from nextprobe.belief import Branch
from nextprobe.planning.configuration import Configuration
from nextprobe.planning.cost import Cost, Tariff
from nextprobe.planning.exact import Optimum, optimum
from nextprobe.planning.follow import expected_cost
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
    p_over_c_plan,
    perfect_information,
)
from nextprobe.planning.policy import Next, Policy, PolicyStep
from nextprobe.planning.problem import Batched, Bounded, Keyed, LeafBatch, Problem, Process
from nextprobe.planning.recommendation import Forecast, Ranked, Reason, Recommendation
from nextprobe.planning.tabular import TabularProblem, TabularState

__all__ = [
    "Batched",
    "Bounded",
    "Branch",
    "Configuration",
    "Cost",
    "Forecast",
    "Keyed",
    "LeafBatch",
    "Limits",
    "Next",
    "Optimum",
    "Option",
    "Plan",
    "PlanTable",
    "Policy",
    "PolicyStep",
    "Problem",
    "Process",
    "Ranked",
    "Reason",
    "Recommendation",
    "TabularProblem",
    "TabularState",
    "Tariff",
    "best_plan",
    "best_values",
    "evaluate",
    "expected_cost",
    "known_values",
    "optimum",
    "option_of",
    "p_over_c_plan",
    "perfect_information",
    "recommend",
]
