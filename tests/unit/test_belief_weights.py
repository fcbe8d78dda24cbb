"""Weights of evidence."""

import math

import numpy as np
import pytest

from nextprobe.belief import evidence_weights, weights_for
from nextprobe.errors import MisuseError


def test_two_hypotheses_weigh_by_the_likelihood_ratio():
    weights = evidence_weights(np.log([[0.9, 0.3], [0.2, 0.4]]), np.log([0.5, 0.5]))
    assert weights[:, 0] == pytest.approx([math.log(3.0), -math.log(2.0)])
    assert weights[:, 1] == pytest.approx([-math.log(3.0), math.log(2.0)])


def test_what_the_rest_predicts_depends_on_earlier_evidence():
    likelihoods = np.log([[0.9, 0.9, 0.001], [0.9, 0.1, 0.9]])
    first, second = weights_for(0, ["a", "b"], likelihoods, np.log([1 / 3] * 3))
    assert first.source == "a"
    assert first.nats == pytest.approx(math.log(0.9 / 0.4505))
    mixed = (0.9 * 0.1 + 0.001 * 0.9) / 0.901
    assert second.nats == pytest.approx(math.log(0.9 / mixed))


def test_nearly_certain_hypotheses_do_not_cancel():
    weights = evidence_weights([[0.0, -50.0], [0.0, -50.0]], [0.0, 0.0])
    assert weights[:, 0] == pytest.approx([50.0, 50.0], rel=1e-12)


def test_evidence_that_rules_out_has_infinite_weight():
    weights = evidence_weights([[0.0, -math.inf], [-1.0, 0.0]], [0.0, 0.0])
    assert weights.tolist() == [[math.inf, -math.inf], [0.0, 0.0]]


def test_shapes_are_checked():
    with pytest.raises(MisuseError):
        evidence_weights([[0.0]], [0.0])
    with pytest.raises(MisuseError):
        evidence_weights([0.0, 0.0], [0.0, 0.0])
