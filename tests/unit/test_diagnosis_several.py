"""Jobs with more than one fault: when sets are listed, and what follows."""

from dataclasses import replace

import numpy as np
import pytest
from diagnosis_cases import (
    TABLES,
    chance,
    demo,
    demo_references,
    fails,
    look,
    pannier,
    probe,
    small_board,
    small_case,
    work,
    works,
)

from nextprobe.board import BenchSetup, FaultKind, Meter, fault_from_key
from nextprobe.circuit import predict_many
from nextprobe.diagnosis import Brief, Case
from nextprobe.diagnosis.leaf import work_pairs
from nextprobe.diagnosis.priors import prior_chances
from nextprobe.diagnosis.suspects import explanations
from nextprobe.planning import Limits

WET = ("liquid",)
RESIDUE_SEEN = [look("look at J1", "dirt or residue"), look("liquid indicator", "changed colour")]
CLEANED = [*RESIDUE_SEEN, work("ultrasonic", "J1"), fails()]


def wet(moves=(), largest_set=3):
    brief = Brief(pannier(), "scanner", small_board(), WET, Limits(), largest_set=largest_set)
    return Case(brief, tuple(moves), TABLES)


def sets_of(case):
    return {found.keys: found.probability for found in explanations(case.model, case.situation)}


def test_a_plain_job_lists_single_faults_only():
    case = small_case([look("look at J1", "dirt or residue")], board=True)
    assert case.chosen.sets == ()
    assert len(case.model.sets) == len(case.model.listed)
    assert case.chosen.omitted < 0.05


def test_a_cleaning_that_did_not_cure_after_liquid_brings_up_pairs():
    case = wet(CLEANED)
    assert case.chosen.sets
    pairs = {keys: p for keys, p in sets_of(case).items() if len(keys) > 1}
    assert any("liquid-residue:J1" in keys for keys in pairs)
    assert sum(sets_of(case).values()) == pytest.approx(1.0)
    assert sum(pairs.values()) > 0.05
    assert 0.0 <= case.chosen.omitted < 0.2


def test_a_suspect_has_the_probability_of_all_its_sets():
    case = wet(CLEANED)
    for suspect in case.suspects(12):
        behind = sum(p for keys, p in sets_of(case).items() if suspect.key in keys)
        assert suspect.probability == pytest.approx(behind)
        for found in suspect.sets:
            assert suspect.key in found.keys
            assert " together with " in found.title


def test_with_one_fault_at_most_nothing_changes():
    """The single faults are weighed the same whether sets are thought of or not."""
    case, alone = wet(CLEANED), wet(CLEANED, largest_set=1)
    assert alone.chosen.sets == ()
    singles = {keys: p for keys, p in sets_of(case).items() if len(keys) == 1}
    share = sum(singles.values())
    for suspect in alone.suspects():
        assert singles[(suspect.key,)] / share == pytest.approx(suspect.probability, abs=1e-12)


def test_when_one_of_two_is_repaired_the_other_is_left():
    case = wet(CLEANED)
    residue = next(s for s in case.suspects() if s.key == "liquid-residue:J1")
    assert residue.remaining < residue.probability
    pair = next(found for found in residue.sets)
    other = next(key for key in pair.keys if key != residue.key)
    left = next(s for s in case.suspects() if s.key == other)
    assert left.remaining == pytest.approx(left.probability)


def test_the_order_of_evidence_does_not_change_which_sets_are_listed():
    readings = [probe("J1.1", 0.2), probe("J1.2", 0.45), probe("J1.5", 0.3)]
    one = wet([*RESIDUE_SEEN, *readings, work("ultrasonic", "J1"), fails()])
    other = wet([*readings[::-1], *RESIDUE_SEEN[::-1], work("ultrasonic", "J1"), fails()])
    assert one.chosen.sets == other.chosen.sets
    assert sets_of(one) == pytest.approx(sets_of(other), abs=1e-12)


def test_replaying_gives_the_same_sets_as_living():
    lived = wet()
    for move in CLEANED:
        lived = lived.after(move)
    assert lived.chosen.sets == wet(CLEANED).chosen.sets


def test_what_a_pair_reads_is_solved_where_both_members_move_the_reading():
    case = wet()
    listed = [item.fault.key for item in case.model.listed]
    pair = tuple(sorted((listed.index("leaky:D1@330"), listed.index("open:C1"))))
    near = tuple(sorted((listed.index("leaky:D1@330"), listed.index("leaky:D2@330"))))
    model = case.model.with_sets([pair, near], np.array([1e-3, 1e-3]))
    assert model.expectations is not None
    assert case.model.expectations is not None
    setup, meter = BenchSetup(), Meter()
    for row, chosen in enumerate((pair, near), start=len(listed)):
        faults = tuple(fault_from_key(listed[member]) for member in chosen)
        for point in ("J1.1", "J1.2", "U1.A1"):
            found = model.expectations.at(point, setup)
            diode = meter.range_for(setup.mode)
            exact = predict_many(small_board(), setup, diode, (point,), faults)[point]
            if isinstance(exact, float):
                assert not found.over[row]
                assert found.mean[row] == pytest.approx(exact, abs=1e-3)
            else:
                assert found.over[row]
            alone = case.model.expectations.at(point, setup)
            assert found.mean[-1] == alone.mean[-1]
            assert (found.mean[: len(listed)] == alone.mean[:-1]).all()


def test_a_plan_may_do_one_piece_of_work_and_then_another():
    case = wet(CLEANED[:2])
    listed = [item.fault.key for item in case.model.listed]
    pair = tuple(sorted((listed.index("liquid-residue:J1@0.15"), listed.index("leaky:D1@330"))))
    model = case.model.with_sets([pair], np.array([0.1]))
    every = range(len(model.work))
    ((first, second),) = work_pairs(model, list(every))
    assert {model.work[first].place, model.work[second].place} == {"J1", "D1"}


def test_looks_see_what_either_member_shows():
    case = wet()
    listed = [item.fault.key for item in case.model.listed]
    pair = tuple(sorted((listed.index("liquid-residue:J1@0.15"), listed.index("open:C1"))))
    model = case.model.with_sets([pair], np.array([0.1]))
    rows = model.look_rows["board under the microscope"]
    base = case.model.look_rows["board under the microscope"]
    row = len(listed)
    for outcome in ("residue", "part missing or cracked"):
        best = max(base[outcome][member] for member in pair)
        assert 0.8 * best < rows[outcome][row]
        assert rows[outcome][row] > 5.0 * base[outcome][-1]
    assert sum(chances[row] for chances in rows.values()) == pytest.approx(1.0)


def test_faults_near_the_entry_of_liquid_are_likelier():
    plain, near = pannier(), pannier(nearby={"liquid": ["D1"]})
    listed = small_case(board=True).model.listed
    keys = [item.fault.key for item in listed]

    def ratio(pack):
        chances = prior_chances(pack, small_board(), "scanner", WET, listed)
        return chances[keys.index("short:D1")] / chances[keys.index("short:D2")]

    assert ratio(plain) == pytest.approx(1.0)
    assert ratio(near) == pytest.approx(3.0)
    far = prior_chances(near, small_board(), "scanner", (), listed)
    assert far[keys.index("short:D1")] == pytest.approx(far[keys.index("short:D2")])


def test_a_common_cause_makes_pairs_likelier_than_coincidence():
    dry, drenched = small_case(board=True).model, wet().model
    keys = [item.fault.key for item in dry.listed]
    pair = np.array([sorted((keys.index("liquid-residue:J1@0.15"), keys.index("short:D1")))])
    assert dry.together is not None
    assert drenched.together is not None
    by_rates = drenched.prior[pair].prod()
    coincidence = drenched.pack.coincidence
    assert drenched.together.priors(pair)[0] > 5.0 * 2.0 * coincidence * by_rates
    assert dry.together.priors(pair)[0] == pytest.approx(
        2.0 * coincidence * dry.prior[pair].prod(), rel=0.1
    )


def test_a_drop_may_open_a_row_of_joints():
    dropped = small_case(board=True, history=("drop",)).model
    assert dropped.together is not None
    rows = [chosen for chosen, _ in dropped.together.rows]
    assert {len(chosen) for chosen in rows} == {2, 3}
    for chosen in rows:
        faults = [dropped.listed[index].fault for index in chosen]
        assert {fault.kind for fault in faults} == {FaultKind.JOINT_OPEN}
        assert len({fault.place.partition(".")[0] for fault in faults}) == 1
    two = np.array([next(chosen for chosen in rows if len(chosen) == 2)])
    without = replace(dropped.together, rows=())
    assert dropped.together.priors(two)[0] > 10.0 * without.priors(two)[0]


def test_a_bad_module_may_be_one_of_two():
    case = wet([*CLEANED, works("viewfinder")])
    assert any("module-bad:scan head" in keys and len(keys) > 1 for keys in sets_of(case))
    assert chance(case, FaultKind.MODULE_BAD) < 1.0


@pytest.mark.slow
def test_both_of_two_faults_after_liquid_are_named_together():
    folder = demo()
    brief = Brief(folder.pack, "imaging", folder.board, WET, Limits(), demo_references())
    keys = ("liquid-residue:J4", "leaky:D404@330")
    faults = tuple(fault_from_key(key) for key in keys)
    setup = BenchSetup()
    case = Case(brief, (), TABLES)
    points = [f"J4.{n}" for n in range(1, 25) if folder.board.has_point(f"J4.{n}")]
    diode = Meter().range_for(setup.mode)
    read = predict_many(folder.board, setup, diode, points, faults)
    good = predict_many(folder.board, setup, diode, points)
    moves = []
    for point in points:
        assert case.model.expectations is not None
        healthy = case.model.expectations.at(point, setup).healthy
        value, usual = read[point], good[point]
        if isinstance(value, float) and isinstance(usual, float) and isinstance(healthy, float):
            value = value * healthy / usual if usual > 1e-3 else value
        moves += [probe(point, value, touch=f"{point} {n}") for n in (1, 2)]
    moves += [look("look at J4", "dirt or residue"), work("ultrasonic", "J4"), fails("imaging")]
    case = Case(brief, tuple(moves), TABLES)
    named = next(suspect for suspect in case.suspects(3) if suspect.key == "leaky:D404")
    assert {"liquid-residue:J4", "leaky:D404"} in [set(found.keys) for found in named.sets]
    assert named.remaining == pytest.approx(named.probability)
