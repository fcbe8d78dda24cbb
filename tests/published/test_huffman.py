"""Identifying a cause by perfect tests of unit cost is building a binary code.

Source: Huffman (1952), "A method for the construction of minimum-redundancy codes", Proceedings
of the IRE 40(9), 1098-1101: the least expected number of yes-no questions is the length of the
optimal code. Probabilities .4, .2, .2, .1, .1 give 2.2; all 15 ways to split them are available.
"""

import heapq

import numpy as np
import pytest

from nextprobe.planning import recommend
from nextprobe.planning.exact import optimum
from nextprobe.planning.tabular import TabularProblem, TabularState

PROBABILITIES = [0.4, 0.2, 0.2, 0.1, 0.1]
WRONG = 1000.0


def huffman_length(probabilities):
    heap = list(probabilities)
    heapq.heapify(heap)
    length = 0.0
    while len(heap) > 1:
        joined = heapq.heappop(heap) + heapq.heappop(heap)
        length += joined
        heapq.heappush(heap, joined)
    return length


def splits():
    members = np.array([[mask >> i & 1 for i in range(5)] for mask in range(1, 16)], dtype=float)
    return [np.stack((inside, 1.0 - inside)) for inside in members]


def identification():
    """Name the cause, at a price of nothing if right and far too much if wrong."""
    return TabularProblem(
        priors=np.array(PROBABILITIES),
        stop_prices=WRONG * (1.0 - np.eye(5)),
        test_prices=np.ones(15),
        likelihoods=splits(),
    )


def test_length_of_the_code():
    assert huffman_length(PROBABILITIES) == pytest.approx(2.2)


def test_optimum_is_the_length_of_the_code():
    problem = identification()
    best = optimum(problem, TabularState(), problem.key)
    assert best.cost == pytest.approx(2.2, abs=1e-9)
    assert best.option.kind == "test"


def test_everyday_planner_reaches_it_when_it_looks_as_deep_as_the_code():
    found = recommend(identification(), TabularState(), budget=2000, depth=4)
    assert found.cost == pytest.approx(2.2, abs=1e-9)
