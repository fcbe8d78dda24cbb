"""Statistics of boards that are known to be good."""

from nextprobe.reference.compare import Difference, DifferenceKind, compare
from nextprobe.reference.spread import Predictive, SpreadPrior, predictive

__all__ = [
    "Difference",
    "DifferenceKind",
    "Predictive",
    "SpreadPrior",
    "compare",
    "predictive",
]
