"""What the tests of a pack can tell: whole distributions, by family, for a complaint."""

from __future__ import annotations

import numpy as np
import pytest
from diagnosis_cases import LATE, TABLES, pannier, small_board

from nextprobe.trials.ready import Shelf
from nextprobe.trials.testability import (
    available_tests,
    confusions,
    repairs_by_family,
)
from nextprobe.trials.testability import testability as told

BOARDLESS = Shelf(pannier(), None, tables=TABLES)
SMALL = Shelf(pannier(), small_board(), tables=TABLES)


@pytest.mark.parametrize("shelf", [BOARDLESS, SMALL], ids=["no board", "board"])
def test_every_test_shows_something_under_every_fault(shelf: Shelf) -> None:
    case = shelf.case("scanner")
    names, _ = case.model.families
    tests = list(available_tests(case))
    assert len({test.name for test in tests}) == len(tests)
    for test in tests:
        assert test.chances.shape[1] == len(names) + 1
        assert test.chances.min() >= 0.0
        assert test.chances.sum(axis=0) == pytest.approx(np.ones(len(names) + 1), abs=1e-6)
    kinds = {test.kind for test in tests}
    assert kinds == {"look", "check", "trial"} | ({"reading"} if shelf is SMALL else set())


def test_a_board_makes_more_faults_known() -> None:
    without = told(BOARDLESS.case("scanner"))
    found = told(SMALL.case("scanner"))
    assert found.faults > without.faults
    assert found.tests["reading"] > 10
    assert 0.0 < found.detected < 1.0
    shares = list(found.isolated.values())
    assert shares == sorted(shares)
    assert found.isolated[1] <= found.one_repair + 1e-12
    assert sum(share for _, share in found.undetected) == pytest.approx(1.0 - found.detected)
    assert sum(group.share for group in found.groups) == pytest.approx(1.0 - found.isolated[1])


def test_a_swap_tells_a_bad_module_from_settings_and_a_reading_a_short_from_both() -> None:
    case = SMALL.case("scanner")
    names, _ = case.model.families
    tests = list(available_tests(case))
    bad, settings, short = (
        names.index(name) for name in (f"module-bad:{LATE}", "settings:scanner", "short:C4")
    )
    swap = [test.chances for test in tests if test.name == f"trial:{LATE}"]
    looks = [test.chances for test in tests if test.kind == "look"]
    readings = [test.chances for test in tests if test.kind == "reading"]
    assert confusions(swap)[bad, settings] < 0.1 < confusions(looks)[bad, settings]
    assert confusions(readings)[short, bad] < 0.05
    assert confusions(readings)[bad, settings] == pytest.approx(0.5, abs=1e-6)
    assert confusions([])[()].size == 0


def test_repairs_are_those_of_the_pack() -> None:
    case = SMALL.case("scanner")
    names, _ = case.model.families
    repairs = repairs_by_family(case.model)
    assert repairs.shape[1] == len(names)
    assert repairs[:, names.index(f"module-bad:{LATE}")].sum() == 1
    assert not repairs[:, names.index("unlisted:scanner")].any()
    # A capacitor to ground that is shorted may be replaced or taken off.
    assert repairs[:, names.index("short:C4")].sum() == 2
