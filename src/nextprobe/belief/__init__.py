"""Beliefs over hypotheses and what evidence does to them; knows no electronics."""

from nextprobe.belief.ensemble import Ensemble
from nextprobe.belief.hypothesis import Hypothesis
from nextprobe.belief.state import BeliefState, Branch

__all__ = ["BeliefState", "Branch", "Ensemble", "Hypothesis"]
