"""A replay in the order in which moves came takes from another order what is the same."""

from __future__ import annotations

import numpy as np
import pytest
from diagnosis_cases import FAILS, check, look, probe, small_case

from nextprobe.diagnosis import Move
from nextprobe.diagnosis.acts import WORKS
from nextprobe.diagnosis.replay import as_they_came, in_order, replay, started
from nextprobe.diagnosis.situation import HYPOTHESIS

FIRST = [probe("J1.1", 0.3), check("sound", WORKS)]
THEN = [look("liquid indicator", "changed colour"), probe("J1.2", 0.4), probe("J1.4", 0.45)]


def both(moves: list[Move]) -> tuple[int, int]:
    """Return from where on situations are shared, and how many moves were gone through."""
    model = small_case(board=True)._alone
    other = started(model).with_moves(in_order(moves))
    gone, trail = as_they_came(started(model), moves, other)
    count = len(model.listed)
    for place, (one, plain) in enumerate(zip(trail, replay(model, moves), strict=True)):
        assert one.certain == plain.certain, place
        assert one.spent == pytest.approx(plain.spent)
        chances = [each.ensemble.marginal(HYPOTHESIS, count) for each in (one, plain)]
        np.testing.assert_allclose(*chances, atol=1e-4)
    same = [one is two for one, two in zip(trail, other.trail, strict=True)]
    return len(same) - same[::-1].index(False), len(gone.moves)


def test_readings_after_the_last_look_are_gone_through_once() -> None:
    assert both([*FIRST, *THEN]) == (4, 3)


def test_what_a_check_said_last_is_not_taken_from_another_order() -> None:
    # In order "fails" comes before "works", and then the device would be thought to work.
    moves = [check("scanner", WORKS), check("scanner", FAILS), probe("J1.2", 0.4)]
    model = small_case(board=True)._alone
    assert in_order(moves)[0].result == FAILS
    other = started(model).with_moves(in_order(moves))
    gone, trail = as_they_came(started(model), moves, other)
    assert len(gone.moves) == len(moves)
    assert trail[-1].working is False and other.trail[-1].working is True
