"""Pins that are predicted before the rest of the board is solved read as they do after it."""

from __future__ import annotations

from threading import Thread
from time import sleep

import numpy as np
import pytest
from diagnosis_cases import demo, pannier, probe, small_board

from nextprobe.board import BenchSetup, Board, MeterMode
from nextprobe.circuit import FaultTable
from nextprobe.diagnosis import Brief, Case, Expectation, FaultTables
from nextprobe.errors import MisuseError
from nextprobe.workbench.plain import plain
from nextprobe.workbench.reading_spread import pin_expectation

SETUP = BenchSetup()
WHOLE = "whole board"


class Watching:
    """A place for tables that keeps none, and tells what was built."""

    def __init__(self) -> None:
        self.built: list[object] = []

    def load(self, key: str) -> FaultTable | None:
        sleep(0.01)  # whoever else asks has time to come
        return None

    def save(self, key: str, table: FaultTable) -> None:
        whole = {point for point in table.points if "." not in point}
        self.built.append(WHOLE if whole else table.points)


def pins_of(board: Board, reference: str) -> list[str]:
    return [f"{reference}.{pin.number}" for pin in board.by_reference[reference].pins]


def about(said: object) -> object:
    """Return what a record should say, its numbers up to their last digits."""
    if isinstance(said, dict):
        return {name: about(value) for name, value in said.items()}
    if isinstance(said, list):
        return [about(value) for value in said]
    return pytest.approx(said, rel=1e-6, abs=1e-9) if isinstance(said, float) else said


def same(one: Expectation, other: Expectation) -> None:
    for name in ("mean", "deviation", "step", "between", "disturbed", "inherit"):
        left, right = getattr(one, name), getattr(other, name)
        np.testing.assert_allclose(left, right, rtol=1e-7, atol=1e-9, err_msg=name)
    assert (one.over == other.over).all()
    assert (one.meter, one.slip, one.source) == (other.meter, other.slip, other.source)


def small_brief() -> tuple[Brief, str]:
    return Brief(pannier(), "scanner", small_board()), "J1"


def demo_brief() -> tuple[Brief, str]:
    folder = demo()
    return Brief(folder.pack, "imaging", folder.board), "J4"


@pytest.mark.parametrize("made", [small_brief, demo_brief])
def test_foreseen_pins_are_those_of_the_whole_board(made: object) -> None:
    brief, reference = made()  # type: ignore[operator]
    pins = pins_of(brief.board, reference)
    keeper = Watching()
    early = Case(brief, tables=FaultTables(keeper))
    early.foresee(pins, SETUP)
    found = [pin_expectation(early, pin, MeterMode.DIODE) for pin in pins]
    assert keeper.built == [tuple(pins)]
    late = Case(brief, tables=FaultTables(keeper))
    solve = late.solve_board()
    assert solve is not None
    solve()
    assert keeper.built[1:] == [WHOLE]
    for pin, one in zip(pins, found, strict=True):
        same(early.usual(pin, SETUP), late.usual(pin, SETUP))
        assert plain(one) == about(plain(pin_expectation(late, pin, MeterMode.DIODE)))
    assert keeper.built[1:] == [WHOLE]
    assert late.solve_board() is None


def test_after_a_reading_the_whole_board_counts() -> None:
    brief, reference = small_brief()
    board = brief.board
    assert board is not None
    early, whole = Case(brief, tables=FaultTables()), Case(brief, tables=FaultTables())
    early.foresee(pins_of(board, reference), SETUP)
    assert not early.usual("J1.2", SETUP).common.any()
    early, whole = (case.after(probe("J1.1", 0.5)) for case in (early, whole))
    assert early.usual("J1.2", SETUP).common.any()
    one, other = (pin_expectation(case, "J1.2", MeterMode.DIODE) for case in (early, whole))
    assert one == other


def test_a_pin_that_is_not_there_is_misuse() -> None:
    brief, _ = small_brief()
    with pytest.raises(MisuseError):
        Case(brief).foresee(("J1.99",), SETUP)
    with pytest.raises(MisuseError):
        Case(Brief(brief.pack, "scanner")).usual("J1.1", SETUP)


def test_who_asks_for_a_board_that_is_being_solved_waits_for_it() -> None:
    brief, _ = small_brief()
    keeper = Watching()
    case = Case(brief, tables=FaultTables(keeper))
    solve = case.solve_board()
    assert solve is not None
    threads = [Thread(target=solve) for _ in range(3)]
    for thread in threads:
        thread.start()
    assert case.model.expectations is not None
    case.model.expectations.table(SETUP)
    for thread in threads:
        thread.join()
    assert keeper.built == [WHOLE]
