"""A fault table is the same whatever was computed before it, and in however many pieces."""

from __future__ import annotations

import numpy as np
import pytest
from circuit_small import BOARD

from nextprobe.board import BenchSetup, Meter, MeterMode
from nextprobe.circuit import Deviations, FaultTable, cells, driven, effects, fault_table

OHMS = Meter().range_for(MeterMode.OHMS)
SETUPS = [
    BenchSetup(MeterMode.OHMS),
    BenchSetup(MeterMode.OHMS, removed=frozenset({"R1"})),
    BenchSetup(MeterMode.OHMS, clamped="SDA"),
    BenchSetup(MeterMode.OHMS, temperature=320.0),
]


def forget() -> None:
    cells._kept.cache_clear()
    effects._kept.cache_clear()


def built(setup: BenchSetup, deviations: Deviations | None = None) -> FaultTable:
    more = {} if deviations is None else {"deviations": deviations}
    table, findings = fault_table(BOARD, setup, OHMS, **more)
    assert not [item for item in findings if "no solution" in item.what]
    return table


def same(one: FaultTable, other: FaultTable) -> bool:
    return (
        np.array_equal(one.healthy_values, other.healthy_values)
        and np.array_equal(one.shifts.toarray(), other.shifts.toarray())
        and np.array_equal(one.over_range_changes.toarray(), other.over_range_changes.toarray())
    )


@pytest.mark.parametrize("setup", SETUPS, ids=["plain", "lifted", "between", "warm"])
def test_what_was_computed_before_changes_nothing(setup: BenchSetup) -> None:
    forget()
    alone = built(setup)
    forget()
    for other in SETUPS:
        built(other)
    assert same(built(setup), alone)


def test_a_board_of_its_own_deviations_is_not_taken_for_the_nominal_one() -> None:
    forget()
    plain = built(SETUPS[0])
    shifted = built(SETUPS[0], Deviations({"Is:U1:logic": 0.5, "Rs:U1": 0.3, "leak:V18": 0.4}))
    assert not same(plain, shifted)
    assert same(built(SETUPS[0]), plain)


def test_pieces_make_the_same_table(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = built(SETUPS[0])
    monkeypatch.setattr(driven, "MOST_NODES", 3)
    pieces = built(SETUPS[0])
    # Problems that are solved together are iterated together: the last digits may differ.
    assert np.allclose(pieces.shifts.toarray(), whole.shifts.toarray(), rtol=1e-7, atol=1e-7)
    assert (pieces.over_range_changes != whole.over_range_changes).nnz == 0
