"""What is seen by eye, in a log or by a self-test."""

from __future__ import annotations

import numpy as np
import pytest
from diagnosis_cases import (
    LATE,
    PROMPT,
    candidate_of,
    chance,
    fit,
    look,
    option_ids,
    pannier,
    refresh,
    small_case,
    work,
)

from nextprobe.board import FaultKind
from nextprobe.diagnosis.acts import NOTHING
from nextprobe.diagnosis.looking import heard_modules, look_chances, look_key
from nextprobe.diagnosis.sightings import sightings

SELF_TEST = "scanner self-test"
AT_J1 = "look at J1"


def under(name: str, outcome: str, key: str | None, *, board: bool = True) -> float:
    """Return the chance of an outcome under a fault; None stands for nothing wrong."""
    case = small_case(board=board)
    row = sightings(case.model.pack.looks[name], case.model.listed)[outcome]
    if key is None:
        return float(row[-1])
    return float(row[case.model.listed.index(candidate_of(case, key))])


def test_the_kind_of_fault_goes_before_its_cause() -> None:
    given = pannier().looks[SELF_TEST].outcomes["no answer"]
    assert under(SELF_TEST, "no answer", f"module-bad:{LATE}") == given["module"]
    assert under(SELF_TEST, "no answer", "dirt:J1") == given["seating"]
    stale = under(SELF_TEST, "no answer", f"recognition-stale:{LATE}")
    assert stale == given["recognition stale"] != given["firmware"]


def test_with_nothing_wrong_it_is_the_rest() -> None:
    for name, data in pannier().looks.items():
        for outcome, chances in data.outcomes.items():
            assert under(name, outcome, None) == chances.get("otherwise", 0.0)


def test_a_look_at_a_connector_is_about_what_is_there() -> None:
    given = pannier().looks[AT_J1].outcomes
    assert under(AT_J1, "dirt or residue", "dirt:J1") == given["dirt or residue"]["dirt"]
    assert under(AT_J1, "bent pin", "bridge:J1.1~J1.2") == given["bent pin"]["bridge"]
    elsewhere = under(AT_J1, "bent pin", "bridge:U2.1~U2.2")
    assert elsewhere == given["bent pin"]["otherwise"]


def test_a_connector_is_not_taken_for_one_with_a_longer_name() -> None:
    looks = {"look at J1": {"connector": "J"}}
    case = small_case(pack=pannier(looks=looks))
    row = sightings(case.model.pack.looks["look at J1"], case.model.listed)["dirt or residue"]
    dirt = case.model.listed.index(candidate_of(case, "dirt:J1"))
    assert row[dirt] == row[-1]


def test_the_self_test_of_one_function_says_nothing_of_another() -> None:
    other = "viewfinder self-test"
    assert under(other, "no answer", f"module-bad:{LATE}") == under(other, "no answer", None)
    assert f"look:{other.replace(' ', '-')}" not in option_ids(small_case())


@pytest.mark.parametrize("name", [SELF_TEST, AT_J1, "liquid indicator"])
def test_the_chances_of_all_outcomes_sum_to_one(name: str) -> None:
    case = small_case(board=True)
    results, chances = look_chances(case.model, case.situation, name)
    assert results[-1] == NOTHING
    np.testing.assert_allclose(np.sum(chances, axis=0), 1.0, atol=1e-12)


def test_what_is_seen_speaks_for_what_shows_it() -> None:
    plain = small_case()
    seen = small_case([look(AT_J1, "dirt or residue")])
    clean = small_case([look(AT_J1, NOTHING)])
    assert chance(seen, FaultKind.DIRT) > 3 * chance(plain, FaultKind.DIRT)
    assert chance(clean, FaultKind.DIRT) < 0.5 * chance(plain, FaultKind.DIRT)


def test_a_log_that_knows_no_module_speaks_for_stale_recognition() -> None:
    seen = small_case([look(SELF_TEST, "answers, not accepted")])
    assert seen.suspects(1)[0].key == f"recognition-stale:{LATE}"


@pytest.mark.parametrize("name", [SELF_TEST, AT_J1])
def test_a_second_look_tells_nothing_new(name: str) -> None:
    outcome = next(iter(pannier().looks[name].outcomes))
    once, often = small_case([look(name, outcome)]), small_case([look(name, outcome)] * 5)
    for suspect in once.suspects():
        assert chance(often, suspect.key) == pytest.approx(suspect.probability, abs=1e-12)
    assert f"look:{name.replace(' ', '-')}" not in option_ids(once)


def test_a_log_may_say_something_else_once_another_module_is_in() -> None:
    case = small_case([look(SELF_TEST, "no answer"), fit()])
    assert "look:scanner-self-test" in option_ids(case)
    again = small_case([look(SELF_TEST, "no answer"), fit(), refresh()])
    keys = [look_key(c.model, c.situation, SELF_TEST) for c in (small_case(), case, again)]
    assert len(set(keys)) == 3


def test_with_a_donor_that_is_not_recognised_the_log_says_so() -> None:
    case = small_case([fit()])
    results, chances = look_chances(case.model, case.situation, SELF_TEST)
    stale = chances[results.index("answers, not accepted")]
    assert stale.min() > 0.8
    known = small_case([fit(), refresh()])
    _, chances = look_chances(known.model, known.situation, SELF_TEST)
    expected = known.situation.ensemble.expectation(chances[results.index("answers, not accepted")])
    assert expected < 0.1


def test_what_is_seen_at_a_connector_changes_by_cleaning_and_not_by_other_work() -> None:
    plain = small_case()
    keys = [
        look_key(case.model, case.situation, AT_J1)
        for case in (plain, small_case([work("restart", "scanner")]),
                     small_case([work("clean", "J1")]))
    ]  # fmt: skip
    assert keys[0] == keys[1] != keys[2]


def test_the_eye_sees_dirt_whatever_module_is_fitted() -> None:
    case = small_case([fit(), look(AT_J1, "dirt or residue")])
    assert chance(case, FaultKind.DIRT) > 3 * chance(small_case(), FaultKind.DIRT)


def test_a_log_hears_from_the_modules_of_its_function_only() -> None:
    pack = pannier()
    assert heard_modules(pack, pack.looks[SELF_TEST]) == (LATE,)
    assert heard_modules(pack, pack.looks["viewfinder self-test"]) == (PROMPT,)
    assert heard_modules(pack, pack.looks[AT_J1]) == ()
