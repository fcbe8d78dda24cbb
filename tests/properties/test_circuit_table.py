"""The fault table against plain prediction, on random small boards.

A few boards each time, many with the slow tests.
"""

from __future__ import annotations

import numpy as np
import pytest
from circuit_random import random_board
from hypothesis import given, settings
from hypothesis import strategies as st

from nextprobe.board import BenchSetup, Meter, MeterMode, OverRange
from nextprobe.circuit import (
    Deviations,
    FaultTable,
    enumerate_faults,
    fault_table,
    predict_many,
)

seeds = st.integers(0, 10_000)
MODES = [MeterMode.DIODE, MeterMode.OHMS, MeterMode.LOW_OHMS, MeterMode.CAPACITANCE]


def stored(table: FaultTable, point: str, column: int) -> bool:
    row = table.index(point)
    return column in table.shifts.indices[table.shifts.indptr[row] : table.shifts.indptr[row + 1]]


def check_table(seed: int, mode: MeterMode, usual: bool) -> None:
    board = random_board(seed)
    setup = BenchSetup(mode, clamped_is_positive=usual)
    meter_range = Meter().range_for(mode)
    every = enumerate_faults(board)
    rng = np.random.default_rng(seed)
    faults = [every[index] for index in rng.choice(len(every), 30, replace=False)]
    table, findings = fault_table(board, setup, meter_range, faults=faults)
    assert not findings
    for column, fault in enumerate(table.faults):
        expected = predict_many(board, setup, meter_range, table.points, (fault,))
        for point in table.points:
            value, plain = table.value(point, fault), expected[point]
            if isinstance(value, OverRange) or isinstance(plain, OverRange):
                assert value is plain, (point, fault.key)
                continue
            least = 0.5e-3 if mode is MeterMode.DIODE else 1.1e-3 * abs(plain)
            exact = stored(table, point, column)
            allowed = 1e-7 + 1e-5 * abs(plain) if exact else least
            assert abs(value - plain) <= allowed, (point, fault.key, value, plain)


@settings(max_examples=8)
@given(seeds, st.sampled_from(MODES), st.booleans())
def test_table_equals_prediction(seed: int, mode: MeterMode, usual: bool) -> None:
    check_table(seed, mode, usual)


@pytest.mark.slow
@settings(max_examples=60)
@given(seeds, st.sampled_from(MODES), st.booleans())
def test_table_equals_prediction_on_many_boards(seed: int, mode: MeterMode, usual: bool) -> None:
    check_table(seed, mode, usual)


def check_pairs(seed: int) -> None:
    board = random_board(seed)
    clamped = sorted(board.nets)[seed % len(board.nets)]
    setup, meter_range = BenchSetup(clamped=clamped), Meter().range_for(MeterMode.DIODE)
    every = enumerate_faults(board)
    faults = every[:: max(1, len(every) // 20)]
    table, findings = fault_table(board, setup, meter_range, faults=faults)
    assert not findings
    for fault in faults:
        expected = predict_many(board, setup, meter_range, table.points, (fault,))
        for point in table.points:
            value, plain = table.value(point, fault), expected[point]
            assert isinstance(value, OverRange) == isinstance(plain, OverRange)
            if not isinstance(value, OverRange) and not isinstance(plain, OverRange):
                assert abs(value - plain) < 0.5e-3


@settings(max_examples=4)
@given(seeds)
def test_pairs_of_points_other_than_ground(seed: int) -> None:
    check_pairs(seed)


@pytest.mark.slow
@settings(max_examples=40)
@given(seeds)
def test_pairs_of_points_other_than_ground_on_many_boards(seed: int) -> None:
    check_pairs(seed)


def check_sensitivities(seed: int, mode: MeterMode) -> None:
    board, setup = random_board(seed), BenchSetup(mode)
    meter_range = Meter().range_for(mode)
    table, _ = fault_table(board, setup, meter_range, faults=())
    step = 1e-4
    for column, name in enumerate(table.parameters):
        rows = np.argsort(-np.abs(table.sensitivities[:, column]))[:2]
        points = [table.points[row] for row in rows]
        up, down = (
            predict_many(
                board, setup, meter_range, points, deviations=Deviations({name: sign * step})
            )
            for sign in (1, -1)
        )
        for row, point in zip(rows, points, strict=True):
            above, below = up[point], down[point]
            if isinstance(above, OverRange) or isinstance(below, OverRange):
                continue
            numeric = (above - below) / (2 * step)
            size = 1e-3 * abs(numeric) + 1e-6 * abs(table.healthy_values[row]) + 1e-7
            assert abs(table.sensitivities[row, column] - numeric) < size


@settings(max_examples=5)
@given(seeds, st.sampled_from([MeterMode.DIODE, MeterMode.OHMS]))
def test_sensitivities_are_derivatives(seed: int, mode: MeterMode) -> None:
    check_sensitivities(seed, mode)


@pytest.mark.slow
@settings(max_examples=40)
@given(seeds, st.sampled_from([MeterMode.DIODE, MeterMode.OHMS]))
def test_sensitivities_are_derivatives_on_many_boards(seed: int, mode: MeterMode) -> None:
    check_sensitivities(seed, mode)


@settings(max_examples=6)
@given(seeds)
def test_classes_hold_every_fault_once_and_read_alike(seed: int) -> None:
    board = random_board(seed)
    table, _ = fault_table(board, BenchSetup(), Meter().range_for(MeterMode.DIODE))
    members = [fault for each in table.classes for fault in each.members]
    assert sorted(members) == sorted(table.faults)
    for each in table.classes:
        for point in table.points[:5]:
            values, over = table.row(point)
            columns = [table.column(fault) for fault in each.members]
            assert np.ptp(values[columns]) < 1e-6
            assert len(set(over[columns])) == 1
