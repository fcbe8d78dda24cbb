"""Probing runs and single touches: bins, stop rule, what they tell and cost."""

from __future__ import annotations

import numpy as np
import pytest
from diagnosis_cases import demo_case, probe, refresh, small_case, work

from nextprobe.board import OVER_RANGE, Meter, MeterMode, OverRange
from nextprobe.diagnosis import Case, Expectation
from nextprobe.diagnosis.acts import FAILED
from nextprobe.diagnosis.measuring import BENCH
from nextprobe.diagnosis.running import (
    ALL_AS_EXPECTED,
    BIN_WORDS,
    HIGH,
    LOW,
    NORMAL,
    OVER,
    SHORTED,
    bin_chances,
    bin_of,
    edges_of,
)

DIODE = Meter().range_for(MeterMode.DIODE)


def expecting(healthy: float | OverRange, spread: float = 0.02, *others: float) -> Expectation:
    """Return an expectation by hand: other candidates first, then the healthy board."""
    is_over = isinstance(healthy, OverRange)
    mean = np.array([*others, 0.0 if isinstance(healthy, OverRange) else healthy])
    over = np.zeros(len(mean), dtype=np.bool_)
    over[-1] = is_over
    deviation = np.full(len(mean), spread)
    step, disturbed = np.zeros((2, len(mean))), np.zeros((3, len(mean)))
    return Expectation(
        mean, deviation, step, np.zeros_like(mean), over, disturbed, DIODE, 0.02, "by hand"
    )


@pytest.mark.parametrize(
    ("value", "word"),
    [
        (0.0, SHORTED),
        (0.029, SHORTED),
        (0.031, LOW),
        (0.43, LOW),
        (0.45, NORMAL),
        (0.50, NORMAL),
        (0.55, NORMAL),
        (0.57, HIGH),
        (OVER_RANGE, OVER),
    ],
)
def test_words_for_readings_of_a_signal(value: float | OverRange, word: str) -> None:
    assert bin_of(expecting(0.5), value) == word


@pytest.mark.parametrize(
    ("value", "word"),
    [(OVER_RANGE, NORMAL), (0.0, SHORTED), (0.02, SHORTED), (0.5, LOW), (1.99, LOW)],
)
def test_words_where_over_range_is_healthy(value: float | OverRange, word: str) -> None:
    assert bin_of(expecting(OVER_RANGE), value) == word


def test_a_core_rail_of_a_few_millivolts_is_not_a_short() -> None:
    rail = expecting(0.02, 0.004)
    assert bin_of(rail, 0.02) == NORMAL
    assert bin_of(rail, 0.012) == NORMAL
    assert bin_of(rail, 0.001) == SHORTED
    assert bin_of(rail, 0.5) == HIGH


@pytest.mark.parametrize("healthy", [0.0, 0.0004, 0.002])
def test_where_next_to_nothing_is_healthy_nothing_is_too_low(healthy: float) -> None:
    expectation = expecting(healthy, 0.0005)
    assert bin_of(expectation, healthy) == NORMAL
    assert bin_of(expectation, 0.4) == HIGH


@pytest.mark.parametrize("healthy", [0.0, 0.0004, 0.003, 0.02, 0.5, 1.9, OVER_RANGE])
def test_edges_rise(healthy: float | OverRange) -> None:
    assert (np.diff(edges_of(expecting(healthy))) > 0.0).all()


@pytest.mark.parametrize("healthy", [0.0, 0.0004, 0.003, 0.02, 0.5, 1.9, OVER_RANGE])
def test_chances_of_the_words_are_those_of_drawn_readings(healthy: float | OverRange) -> None:
    """The words given to values and their predicted chances must mean the same."""
    expectation = expecting(healthy, 0.01, 0.0, 0.3, 0.6)
    chances = bin_chances(expectation)
    np.testing.assert_allclose(chances.sum(axis=1), 1.0, atol=1e-9)
    rng = np.random.default_rng(5)
    for row in range(len(chances)):
        drawn = rng.normal(expectation.mean[row], expectation.deviation[row], 4000)
        shown = [
            OVER_RANGE if expectation.over[row] or value > DIODE.full_scale else max(0.0, value)
            for value in drawn
        ]
        words = [bin_of(expectation, value) for value in shown]
        counted = [words.count(word) / len(words) for word in BIN_WORDS]
        # Four standard deviations of a share of 4000 draws are at most 0.032.
        np.testing.assert_allclose(counted, chances[row], atol=0.033)


def run_of(case: Case, name: str):  # type: ignore[no-untyped-def]
    return case.problem.probing.runs[name]


def test_a_run_goes_over_the_pins_that_carry_something() -> None:
    points = run_of(small_case(board=True), "run:J1").points
    assert points == ("J1.1", "J1.2", "J1.3", "J1.4", "J1.5", "J1.6")


def test_behind_the_series_capacitors_is_a_run_of_its_own() -> None:
    points = run_of(small_case(board=True), "run:J1:beyond").points
    assert points == ("C1.2", "C2.2", "C3.2")


def test_without_a_board_there_is_nothing_to_probe() -> None:
    probing = small_case().problem.probing
    assert probing.runs == {}
    assert probing.touches == {}
    assert probing.options(small_case().situation) == []


@pytest.mark.parametrize("name", ["run:J1", "run:J1:beyond"])
def test_the_outcomes_of_a_run_have_the_mass_one_under_every_candidate(name: str) -> None:
    run = run_of(small_case(board=True), name)
    np.testing.assert_allclose(run.likelihoods.sum(axis=0), 1.0, atol=1e-9)
    assert len(run.labels) == len(run.likelihoods)
    assert run.labels[-1] == ALL_AS_EXPECTED


def test_a_run_stops_at_the_first_surprise() -> None:
    """The second point is reached only where the first is as expected."""
    run = run_of(small_case(board=True), "run:J1")
    np.testing.assert_allclose(run.reached[0], 1.0)
    np.testing.assert_allclose(run.reached[1], run.chances[0, :, 2])
    np.testing.assert_allclose(run.reached[2], run.chances[0, :, 2] * run.chances[1, :, 2])


def test_a_run_leaves_out_what_has_been_read() -> None:
    case = small_case([probe("J1.1", 0.66), probe("J1.4", 0.6)], board=True)
    left = case.problem.probing.run_now(case.situation, "run:J1")
    assert left is not None
    assert left.points == ("J1.2", "J1.3", "J1.5", "J1.6")


def test_a_run_that_was_made_whole_is_not_offered_again_until_work_was_done() -> None:
    read = [probe(f"C{n}.2", 0.5) for n in (1, 2, 3)]
    case = small_case(read, board=True)
    assert case.problem.probing.run_now(case.situation, "run:J1:beyond") is None
    assert "run:J1:beyond" not in {o.id for o in case.problem.options(case.situation)}
    worked = small_case([*read, work("small passive", "C1")], board=True)
    assert "run:J1:beyond" in {o.id for o in worked.problem.options(worked.situation)}


def test_a_refresh_that_failed_does_not_make_readings_stale() -> None:
    case = small_case([probe("J1.1", 0.66), refresh(FAILED)], board=True)
    assert "probe:J1.1" in case.situation.tried


def test_only_touches_that_tell_something_are_offered() -> None:
    case = small_case(board=True)
    names = [o.id for o in case.problem.options(case.situation) if o.kind == "reading"]
    assert names
    assert len(names) <= 6
    read = case.after(*[probe(name.partition(":")[2], 0.6) for name in names])
    left = [o.id for o in read.problem.options(read.situation) if o.kind == "reading"]
    assert not set(names) & set(left)


@pytest.mark.parametrize("name", ["run:J1", "run:J1:beyond", "probe:J1.1", "probe:C3.2"])
def test_branches_have_the_mass_one_and_keep_the_belief_on_average(name: str) -> None:
    case = small_case(board=True)
    state = case.situation
    branches = case.problem.probing.outcomes(state, name)
    assert sum(branch.probability for branch in branches) == pytest.approx(1.0, abs=1e-6)
    mean = np.zeros(len(case.model.listed))
    for branch in branches:
        assert branch.state is not None
        mean += branch.probability * branch.state.ensemble.marginal("hypothesis", len(mean))
    np.testing.assert_allclose(mean, state.ensemble.marginal("hypothesis", len(mean)), atol=1e-6)


def test_a_run_costs_by_how_far_it_is_expected_to_go() -> None:
    case = small_case(board=True)
    settings = case.model.pack.readings
    opened = small_case([probe("J2.1", 0.6)], board=True)
    cost = opened.problem.probing.cost(opened.situation, "run:J1")
    most = settings.minutes_run + 6 * settings.minutes_per_pin
    assert settings.minutes_run * 60.0 < cost.attended < most * 60.0
    closed = case.problem.probing.cost(case.situation, "run:J1")
    assert closed.attended > cost.attended + 60.0 * case.model.pack.work["open"].minutes * 0.99


def test_a_run_over_the_demo_connector_is_cheaper_than_all_its_touches() -> None:
    case = demo_case()
    probing = case.problem.probing
    run = probing.cost(case.situation, "run:J4").attended
    one = probing.cost(case.situation, "probe:J4.3").attended
    assert run < 10 * one
    assert len(probing.runs["run:J4"].points) > 20


def test_the_bench_of_a_run_is_bare_in_diode_mode_with_the_positive_lead_on_ground() -> None:
    assert BENCH.mode is MeterMode.DIODE
    assert BENCH.clamped_is_positive
    assert not BENCH.plugged
