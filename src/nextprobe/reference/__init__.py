"""Statistics of boards that are known to be good, and of clamps that makers publish."""

from nextprobe.reference.clamp_priors import ClampClass, ClampPrior, clamp_prior
from nextprobe.reference.compare import Difference, DifferenceKind, compare
from nextprobe.reference.good_board import GoodBoard, same_bench
from nextprobe.reference.good_boards import GoodBoards
from nextprobe.reference.measured import MeasuredSpread, measured_spread
from nextprobe.reference.misfits import Fit, fits, misfits
from nextprobe.reference.published import published_spread
from nextprobe.reference.spread import Predictive, SpreadPrior, predictive
from nextprobe.reference.tightening import Tightness, tightening

__all__ = [
    "ClampClass",
    "ClampPrior",
    "Difference",
    "DifferenceKind",
    "Fit",
    "GoodBoard",
    "GoodBoards",
    "MeasuredSpread",
    "Predictive",
    "SpreadPrior",
    "Tightness",
    "clamp_prior",
    "compare",
    "fits",
    "measured_spread",
    "misfits",
    "predictive",
    "published_spread",
    "same_bench",
    "tightening",
]
