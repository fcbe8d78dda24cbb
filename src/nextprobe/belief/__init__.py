"""Beliefs over hypotheses and what evidence does to them; knows no electronics."""

from nextprobe.belief.boards import BoardReadings, learned_type, next_board
from nextprobe.belief.ensemble import Ensemble
from nextprobe.belief.enumeration import SetPosterior, enumerate_sets
from nextprobe.belief.hypothesis import Hypothesis
from nextprobe.belief.joint_many import JointBranches, filter_strays
from nextprobe.belief.joint_model import JointModel
from nextprobe.belief.joint_normal import joint_log_densities, joint_posterior
from nextprobe.belief.joint_scale import Scales
from nextprobe.belief.joint_shared import SharedDeviation
from nextprobe.belief.joint_slips import EnumeratedStrays, enumerate_strays
from nextprobe.belief.joint_state import JointState
from nextprobe.belief.joint_stray import Stray
from nextprobe.belief.manifestation import ImperfectCheck, Manifestation, Shows
from nextprobe.belief.outlier import interval_probabilities, log_likelihood
from nextprobe.belief.state import BeliefState, Branch

__all__ = [
    "BeliefState",
    "BoardReadings",
    "Branch",
    "Ensemble",
    "EnumeratedStrays",
    "Hypothesis",
    "ImperfectCheck",
    "JointBranches",
    "JointModel",
    "JointState",
    "Manifestation",
    "Scales",
    "SetPosterior",
    "SharedDeviation",
    "Shows",
    "Stray",
    "enumerate_sets",
    "enumerate_strays",
    "filter_strays",
    "interval_probabilities",
    "joint_log_densities",
    "joint_posterior",
    "learned_type",
    "log_likelihood",
    "next_board",
]
