"""Statistics of boards that are known to be good, and of clamps that makers publish."""

from nextprobe.reference.clamp_priors import ClampClass, ClampPrior, clamp_prior
from nextprobe.reference.compare import Difference, DifferenceKind, compare
from nextprobe.reference.published import published_spread
from nextprobe.reference.spread import Predictive, SpreadPrior, predictive

__all__ = [
    "ClampClass",
    "ClampPrior",
    "Difference",
    "DifferenceKind",
    "Predictive",
    "SpreadPrior",
    "clamp_prior",
    "compare",
    "predictive",
    "published_spread",
]
