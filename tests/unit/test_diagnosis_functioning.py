"""Whether a function works in each possible world."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from diagnosis_cases import LATE, PROMPT, candidate_of, small_case

from nextprobe.diagnosis import Case
from nextprobe.diagnosis.acts import DONOR, FAILS, SECOND, WORKS, Check
from nextprobe.diagnosis.functioning import (
    failing,
    fault_failing,
    instance_failing,
    unrecognised,
    with_manifestation,
)
from nextprobe.diagnosis.situation import ACTIVE, ALWAYS, HYPOTHESIS, SOMETIMES, WAYS, shows
from nextprobe.diagnosis.transitions import accept
from nextprobe.planning import Configuration


def fitted(case: Case, slot: str, instance: str = DONOR) -> Configuration:
    return case.situation.configuration.with_(fitted={slot: instance})


def of(case: Case, key: str) -> np.ndarray:  # type: ignore[type-arg]
    """Return which worlds have a fault."""
    index = case.model.listed.index(candidate_of(case, key))
    return case.situation.ensemble.columns[HYPOTHESIS] == index


def test_at_the_start_the_complaint_shows_always_or_now_and_then() -> None:
    case = small_case()
    codes = case.situation.ensemble.columns[shows("scanner")]
    assert set(codes) == {ALWAYS, SOMETIMES}
    share = case.situation.ensemble.marginal(shows("scanner"))[SOMETIMES]
    assert share == pytest.approx(case.model.function.intermittent)
    duty = case.model.function.duty
    chances = failing(case.model, case.situation.ensemble, case.situation.configuration, "scanner")
    np.testing.assert_allclose(chances[:, 0], np.where(codes == ALWAYS, 1.0, duty))


def test_whether_it_shows_is_drawn_once() -> None:
    case = small_case()
    once = with_manifestation(case.model, case.situation.ensemble, "viewfinder")
    assert with_manifestation(case.model, once, "viewfinder") is once
    assert len(once) == len(case.situation.ensemble)


def test_drawing_it_does_not_change_the_mean() -> None:
    case = small_case(board=True)
    ensemble, configuration = case.situation.ensemble, case.situation.configuration
    drawn = with_manifestation(case.model, ensemble, "viewfinder")
    before = failing(case.model, ensemble, configuration, "viewfinder")[:, 0]
    by_way = failing(case.model, drawn, configuration, "viewfinder")
    after = (by_way * drawn.within[shows("viewfinder")]).sum(axis=1)
    np.testing.assert_allclose(after, before, atol=1e-12)


def test_checks_of_another_function_weigh_as_if_every_way_to_show_were_a_world() -> None:
    case = small_case()
    checks = [
        (Check("viewfinder"), WORKS),
        (Check("viewfinder"), FAILS),
        (Check("viewfinder", 3), WORKS),
    ]
    within = case.situation
    for act, result in checks:
        within = accept(case.model, within, act, result)
    drawn = with_manifestation(case.model, case.situation.ensemble, "viewfinder")
    ways = drawn.within[shows("viewfinder")]
    worlds = case.situation.ensemble.split(shows("viewfinder"), range(WAYS), ways)
    expanded = replace(case.situation, ensemble=worlds)
    for act, result in checks:
        expanded = accept(case.model, expanded, act, result)
    np.testing.assert_allclose(
        within.ensemble.marginal(HYPOTHESIS), expanded.ensemble.marginal(HYPOTHESIS), atol=1e-12
    )


def test_a_fault_that_is_gone_does_not_show() -> None:
    case = small_case()
    gone = case.situation.ensemble.assign(ACTIVE, 0)
    assert not fault_failing(case.model, gone, case.situation.configuration, "scanner").any()


def test_a_bad_module_goes_with_the_module() -> None:
    case = small_case()
    chances = fault_failing(case.model, case.situation.ensemble, fitted(case, LATE), "scanner")
    bad = of(case, f"module-bad:{LATE}")
    assert not chances[bad].any()
    assert chances[~bad].all()


def test_an_original_is_never_to_blame_as_an_instance() -> None:
    case = small_case()
    for slot in (LATE, PROMPT):
        assert not instance_failing(
            case.model, case.situation.ensemble, case.situation.configuration, slot
        ).any()


def test_what_is_recognised_at_once_needs_no_refresh() -> None:
    case = small_case()
    assert unrecognised(case.model, fitted(case, PROMPT), PROMPT) == 0.0
    assert unrecognised(case.model, fitted(case, LATE), LATE) > 0.95


def test_recognition_belongs_to_one_instance() -> None:
    case = small_case()
    known = fitted(case, LATE).with_(recognised={(LATE, DONOR)})
    assert unrecognised(case.model, known, LATE) == 0.0
    assert unrecognised(case.model, known.with_(fitted={LATE: SECOND}), LATE) > 0.95


def test_causes_combine_as_a_noisy_or() -> None:
    case = small_case()
    configuration = fitted(case, LATE)
    ensemble = case.situation.ensemble
    fault = fault_failing(case.model, ensemble, configuration, "scanner")
    instance = instance_failing(case.model, ensemble, configuration, LATE)
    both = failing(case.model, ensemble, configuration, "scanner")
    np.testing.assert_allclose(both[:, 0], 1.0 - (1.0 - fault) * (1.0 - instance))


def test_a_module_of_another_function_does_not_matter() -> None:
    case = small_case()
    before = failing(case.model, case.situation.ensemble, case.situation.configuration, "scanner")
    after = failing(case.model, case.situation.ensemble, fitted(case, PROMPT), "scanner")
    np.testing.assert_allclose(after, before)


def test_before_it_is_drawn_a_donor_is_bad_with_the_chance_of_the_pack() -> None:
    case = small_case()
    known = fitted(case, LATE).with_(recognised={(LATE, DONOR)})
    chances = instance_failing(case.model, case.situation.ensemble, known, LATE)
    np.testing.assert_allclose(chances, case.model.pack.modules[LATE].donor_bad)
