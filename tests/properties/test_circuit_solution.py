"""Laws that every solution keeps, on random small boards."""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
from circuit_random import random_board
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.special import lambertw

from nextprobe.board import (
    BenchSetup,
    Board,
    Fault,
    FaultKind,
    Meter,
    MeterMode,
    OverRange,
    Pin,
)
from nextprobe.circuit import Circuit, enumerate_faults, predict, predict_many
from nextprobe.circuit.problem import Problem
from nextprobe.circuit.region import region_of
from nextprobe.circuit.solve import LEAST_CONDUCTANCE, solve
from nextprobe.circuit.stack import Stack

seeds = st.integers(0, 10_000)
polarities = st.booleans()
DIODE = Meter().range_for(MeterMode.DIODE)


def problems_of(board: Board, setup: BenchSetup) -> list[Problem]:
    circuit = Circuit(board, setup, DIODE)
    found = [circuit.problem(net) for net in board.nets]
    return [problem for problem in found if problem is not None]


def unbalanced(problem: Problem, volts: np.ndarray) -> np.ndarray:
    """Return what does not balance at each node, by the Lambert W function."""
    each = problem.elements
    flow = LEAST_CONDUCTANCE * volts
    flow[0] -= problem.injected
    for place in range(len(each.start)):
        start, end = int(each.start[place]), int(each.end[place])
        drop = (volts[start] if start >= 0 else 0.0) - (volts[end] if end >= 0 else 0.0)
        ohms, saturation, emission = each.ohms[place], each.saturation[place], each.emission[place]
        if saturation:
            inner = saturation * ohms / emission
            grown = inner * np.exp((drop + saturation * ohms) / emission)
            current = emission / ohms * lambertw(grown).real - saturation
        else:
            current = drop / ohms
        if start >= 0:
            flow[start] += current
        if end >= 0:
            flow[end] -= current
    return flow


@settings(max_examples=30)
@given(seeds, polarities)
def test_currents_balance_at_every_node(seed: int, usual: bool) -> None:
    problems = problems_of(random_board(seed), BenchSetup(clamped_is_positive=usual))
    for problem, volts in zip(problems, solve(problems), strict=True):
        assert volts is not None
        assert np.abs(unbalanced(problem, volts)).max() < 1e-11


@settings(max_examples=30)
@given(seeds, st.floats(-2.0, 0.0))
def test_jacobian_is_the_derivative(seed: int, level: float) -> None:
    rng = np.random.default_rng(seed)
    for problem in problems_of(random_board(seed), BenchSetup())[:4]:
        stack = Stack([problem], LEAST_CONDUCTANCE)
        volts = level * rng.random((1, stack.size))
        _, (diagonal, links, arms) = stack.equations(volts)
        parents = stack._parent[0]
        dense = np.diag(diagonal[0])
        dense[: stack.core, : stack.core] += links[0]
        for leaf, parent in enumerate(parents):
            if parent < stack.core:
                dense[stack.core + leaf, parent] = dense[parent, stack.core + leaf] = -arms[0, leaf]
        step = 1e-6
        for node in range(stack.size):
            shift = np.zeros_like(volts)
            shift[0, node] = step
            up, down = stack.equations(volts + shift)[0], stack.equations(volts - shift)[0]
            numeric = (up - down)[0] / (2 * step)
            np.testing.assert_allclose(dense[:, node], numeric, rtol=1e-4, atol=1e-8)


@settings(max_examples=30)
@given(seeds)
def test_leaf_elimination_solves_the_same_system(seed: int) -> None:
    for problem in problems_of(random_board(seed), BenchSetup()):
        plain = replace(problem, core=problem.size)
        first, second = solve([problem, plain])
        assert first is not None
        assert second is not None
        np.testing.assert_allclose(first, second, atol=1e-9)


@settings(max_examples=25)
@given(seeds, polarities)
def test_names_and_order_do_not_matter(seed: int, usual: bool) -> None:
    board = random_board(seed)
    setup = BenchSetup(clamped_is_positive=usual)
    rng = random.Random(seed)
    names = {net: net if net == "GND" else f"X{rng.random()}" for net in board.nets}
    parts = [
        replace(part, pins=tuple(Pin(pin.number, names[pin.net]) for pin in part.pins))
        for part in board.parts
    ]
    rng.shuffle(parts)
    roles = {names[net]: role for net, role in board.roles.items() if net in names}
    other = Board("renamed", tuple(parts), roles)
    before = predict_many(board, setup, DIODE, board.nets)
    after = predict_many(other, setup, DIODE, names.values())
    for net, name in names.items():
        assert alike(before[net], after[name], 1e-9)


@settings(max_examples=30)
@given(seeds, polarities)
def test_what_the_current_can_not_reach_does_not_matter(seed: int, usual: bool) -> None:
    circuit = Circuit(random_board(seed), BenchSetup(clamped_is_positive=usual), DIODE)
    network = circuit.network
    everything = np.ones(network.size + 1, dtype=np.bool_)
    for net in circuit.board.nets:
        if network.numbers[net] < 0:
            continue
        everything[-1] = False
        region = region_of(network.elements, network.numbers[net], everything)
        whole = solve([region.problem(circuit.drive, np.zeros(len(region.nodes)))])[0]
        assert whole is not None
        values, over = circuit.drive.shown(whole[:1])
        shown = circuit.readings([net])[net]
        assert isinstance(shown, OverRange) == bool(over[0])
        if not isinstance(shown, OverRange):
            assert abs(shown - values[0]) < 50e-6


@settings(max_examples=30)
@given(seeds, st.floats(10.0, 1e6))
def test_a_leak_never_raises_a_reading(seed: int, ohms: float) -> None:
    board, setup = random_board(seed), BenchSetup()
    rng = random.Random(seed)
    point = rng.choice(sorted(board.nets))
    leaks = [f for f in enumerate_faults(board) if f.kind is FaultKind.LEAK_TO_GROUND]
    assume(leaks)
    leak = Fault(FaultKind.LEAK_TO_GROUND, rng.choice(leaks).place, ohms)
    healthy = predict(board, setup, DIODE, point)
    leaky = predict(board, setup, DIODE, point, leak)
    if not isinstance(healthy, OverRange):
        assert not isinstance(leaky, OverRange)
        assert leaky <= healthy + 1e-9


def alike(a: float | OverRange, b: float | OverRange, tolerance: float) -> bool:
    if isinstance(a, OverRange) or isinstance(b, OverRange):
        return a is b
    return abs(a - b) <= tolerance
