"""What is drawn for a simulated device: wider than the inference assumes, never outside."""

from __future__ import annotations

import numpy as np
import pytest
from diagnosis_cases import LATE, candidate_of, pannier, small_board, small_case

from nextprobe.circuit import NOMINAL
from nextprobe.trials.truth import Truth, draw_deviations, draw_truth


def truths(key: str, count: int = 400, *, steady: bool = False, board: bool = True) -> list[Truth]:
    case = small_case(board=board)
    drawn = small_board() if board else None
    return [
        draw_truth(
            pannier(), drawn, "scanner", candidate_of(case, key), np.random.default_rng(seed),
            steady=steady,
        )
        for seed in range(count)
    ]  # fmt: skip


def test_the_complaint_always_shows_and_a_steady_fault_at_every_check() -> None:
    for truth in truths(f"module-bad:{LATE}", board=False):
        assert truth.hidden[0].shows["scanner"] > 0.0
        assert truth.hidden[0].shows["viewfinder"] == 0.0
    for truth in truths(f"module-bad:{LATE}", 50, steady=True, board=False):
        assert truth.hidden[0].shows["scanner"] == 1.0


def test_now_and_then_a_fault_comes_and_goes_about_as_often_as_the_pack_says() -> None:
    function = pannier().functions["scanner"]
    duties = [
        truth.hidden[0].shows["scanner"] for truth in truths(f"module-bad:{LATE}", board=False)
    ]
    flickering = [duty for duty in duties if duty < 1.0]
    # The share is drawn between half and twice the pack's.
    assert 0.5 * function.intermittent < len(flickering) / len(duties) < 2 * function.intermittent
    assert all(0.05 <= duty <= 0.95 for duty in flickering)


def test_magnitudes_lie_off_the_grid_around_the_candidate() -> None:
    sizes = [truth.hidden[0].fault.magnitude or 0.0 for truth in truths("leaky:D1@330", 200)]
    assert len(set(sizes)) > 150
    assert min(sizes) >= 330.0 / 1.81
    assert max(sizes) <= 330.0 * 1.81
    assert {truth.hidden[0].fault.family for truth in truths("leaky:D1@330", 20)} == {"leaky:D1"}


def test_habits_differ_by_up_to_twofold_from_what_is_assumed() -> None:
    for truth in truths("dirt:J1", 100):
        for factor in (truth.false_pass, truth.false_fail, truth.success, truth.slip):
            assert 0.5 <= factor <= 2.0
        assert truth.meter_gain == pytest.approx(1.0, abs=0.008)


def test_boards_differ_more_than_is_assumed_and_by_chip_not_by_pin() -> None:
    rng = np.random.default_rng(2)
    drawn = np.array([list(draw_deviations(small_board(), rng).of.values()) for _ in range(300)])
    middle = np.median(np.abs(drawn))
    assert 0.1 < middle < 0.25
    assert np.abs(drawn).max() > 3 * 0.25
    names = draw_deviations(small_board(), rng).of
    assert "Is:U1:lane" in names
    assert not any("." in name for name in names)


def test_without_a_board_there_is_nothing_to_differ() -> None:
    assert draw_deviations(None, np.random.default_rng(0)) is NOMINAL
