"""Beliefs over hypotheses and what evidence does to them; knows no electronics."""

from nextprobe.belief.ensemble import Ensemble
from nextprobe.belief.enumeration import SetPosterior, enumerate_sets
from nextprobe.belief.hypothesis import Hypothesis
from nextprobe.belief.manifestation import ImperfectCheck, Manifestation, Shows
from nextprobe.belief.outlier import interval_probabilities, log_likelihood
from nextprobe.belief.state import BeliefState, Branch
from nextprobe.belief.weights import EvidenceWeight, evidence_weights, weights_for

__all__ = [
    "BeliefState",
    "Branch",
    "Ensemble",
    "EvidenceWeight",
    "Hypothesis",
    "ImperfectCheck",
    "Manifestation",
    "SetPosterior",
    "Shows",
    "enumerate_sets",
    "evidence_weights",
    "interval_probabilities",
    "log_likelihood",
    "weights_for",
]
