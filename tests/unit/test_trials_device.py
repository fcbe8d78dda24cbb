"""A simulated device answers by its truth, at the rates of the pack, and gives nothing away."""

from __future__ import annotations

import inspect
from collections.abc import Callable

import numpy as np
import pytest
from diagnosis_cases import (
    LATE,
    PROMPT,
    TABLES,
    candidate_of,
    pannier,
    small_board,
    small_case,
)
from scipy.stats import binomtest

from nextprobe.board import Fault, FaultKind, Meter, MeterMode, OverRange
from nextprobe.circuit import predict
from nextprobe.diagnosis import Act, Case, Check, Fit, Look, Move, Probe, Refresh, Work
from nextprobe.diagnosis.acts import (
    DONE,
    DONOR,
    FAILED,
    FAILS,
    FINISHED,
    NOTHING,
    ORIGINAL,
    SECOND,
    WORKS,
)
from nextprobe.diagnosis.measuring import BENCH
from nextprobe.packs import Pack
from nextprobe.trials.device import SimulatedDevice
from nextprobe.trials.ready import Shelf, candidate_for
from nextprobe.trials.truth import Hidden, Truth

DRAWS = 500
DIODE = Meter().range_for(MeterMode.DIODE)
LISTED: dict[tuple[int, bool], tuple[Pack, Case]] = {}


def device(
    key: str, seed: int = 0, *, duty: float = 1.0, pack: Pack | None = None, board: bool = False
) -> SimulatedDevice:
    """Return a device whose habits are exactly those of the pack."""
    pack = pack or pannier()
    listed = LISTED.setdefault((id(pack), board), (pack, small_case(pack=pack, board=board)))
    candidate = candidate_of(listed[1], key)
    shows = {name: duty if chance else 0.0 for name, chance in candidate.stops.items()}
    drawn = small_board() if board else None
    truth = Truth((Hidden(candidate, candidate.fault, shows),))
    return SimulatedDevice(pack, drawn, truth, np.random.default_rng(seed))


def agrees(successes: int, chance: float, draws: int = DRAWS) -> bool:
    """Tell whether a count is not improbable: 1 in 10,000 (Clopper-Pearson interval)."""
    interval = binomtest(successes, draws).proportion_ci(0.9999, "exact")
    return bool(interval.low <= chance <= interval.high)


def rate(make: Callable[[int], SimulatedDevice], *acts: Act, result: str) -> int:
    """Count how often the last of some acts gives a result, each time on a new device."""
    return sum(make(seed).answer_all(acts)[-1].result == result for seed in range(DRAWS))


BAD = f"module-bad:{LATE}"
STALE = f"recognition-stale:{LATE}"


def test_checks_of_what_fails_pass_as_often_as_the_pack_says() -> None:
    check = pannier().functions["scanner"].check
    broken = device(BAD)
    passed = sum(broken.answer(Check("scanner")).result == WORKS for _ in range(DRAWS))
    assert agrees(passed, check.false_pass)


def test_checks_of_what_works_fail_as_often_as_the_pack_says() -> None:
    check = pannier().functions["viewfinder"].check
    broken = device(BAD)
    failed = sum(broken.answer(Check("viewfinder")).result == FAILS for _ in range(DRAWS))
    assert agrees(failed, check.false_fail)


def test_a_fault_that_comes_and_goes_shows_by_its_duty() -> None:
    check = pannier().functions["scanner"].check
    flickering = device(BAD, duty=0.4)
    failed = sum(flickering.answer(Check("scanner")).result == FAILS for _ in range(DRAWS))
    assert agrees(failed, 0.4 * (1.0 - check.false_pass) + 0.6 * check.false_fail)


def test_a_check_of_several_fails_if_one_of_them_does() -> None:
    flickering = [device(BAD, seed, duty=0.4) for seed in range(DRAWS)]
    passed = sum(each.answer(Check("scanner", 5)).result == WORKS for each in flickering)
    assert agrees(passed, (0.6 * 0.99 + 0.4 * 0.02) ** 5)


@pytest.mark.parametrize(
    ("key", "name", "outcome"),
    [
        (BAD, "scanner self-test", "no answer"),
        (BAD, "scanner self-test", NOTHING),
        (STALE, "scanner self-test", "answers, not accepted"),
        ("dirt:J1", "look at J1", "dirt or residue"),
        ("dirt:J1", "liquid indicator", "changed colour"),
        (BAD, "look at J1", "dirt or residue"),
        (BAD, "viewfinder self-test", "no answer"),
        ("open:?passive open/scanner@0.1", "board under the microscope", "part missing or cracked"),
    ],
)
def test_looks_show_things_as_often_as_the_inference_believes(
    key: str, name: str, outcome: str
) -> None:
    model = small_case().model
    index = [item.fault.key for item in model.listed].index(key)
    rows = {what: chances[index] for what, chances in model.look_rows[name].items()}
    expected = 1.0 - sum(rows.values()) if outcome == NOTHING else rows[outcome]
    seen = rate(lambda seed: device(key, seed), Look(name), result=outcome)
    assert agrees(seen, float(expected))


def test_a_connector_is_not_taken_for_one_with_a_longer_name() -> None:
    look = pannier().looks["look at J1"].model_dump()
    pack = pannier(modules={LATE: {"connector": "J10"}}, looks={"look at J1": look})
    chances = look["outcomes"]["dirt or residue"]
    seen = rate(
        lambda seed: device("dirt:J10", seed, pack=pack), Look("look at J1"),
        result="dirt or residue",
    )  # fmt: skip
    assert agrees(seen, chances["otherwise"])


def test_a_second_look_shows_the_same() -> None:
    for seed in range(30):
        one = device("dirt:J1", seed)
        first = one.answer(Look("look at J1")).result
        assert {one.answer(Look("look at J1")).result for _ in range(5)} == {first}


@pytest.mark.parametrize(
    ("key", "act"),
    [
        ("poor-seating:J1", Work("reseat", "J1")),
        ("dirt:J1", Work("clean", "J1")),
        ("settings:scanner", Work("restart", "scanner")),
        ("poor-seating:J1", Fit(LATE, ORIGINAL)),
    ],
)
def test_work_cures_as_often_as_the_pack_says(key: str, act: Act) -> None:
    pack = pannier()
    name = act.name if isinstance(act, Work) else "reseat"
    cured = 0
    for seed in range(DRAWS):
        one = device(key, seed)
        one.answer(act)
        cured += one.cured
    assert agrees(cured, pack.work[name].success)


def test_work_elsewhere_or_of_another_kind_cures_nothing() -> None:
    for seed in range(50):
        one = device("dirt:J1", seed)
        one.answer_all([Work("clean", "J2"), Work("reseat", "J1"), Fit(LATE, DONOR)])
        one.answer(Fit(LATE, ORIGINAL))
        assert not one.cured


def test_refreshes_finish_and_cure_as_often_as_the_pack_says() -> None:
    data = pannier().refreshes["update"]
    finished = rate(lambda seed: device(BAD, seed), Refresh("update"), result=FINISHED)
    assert agrees(finished, data.success)
    cured = 0
    for seed in range(DRAWS):
        one = device(STALE, seed)
        one.answer(Refresh("update"))
        cured += one.cured
    assert agrees(cured, data.success * data.cures_recognition)


def test_donors_are_bad_as_often_as_the_pack_says_and_stay_so() -> None:
    pack = pannier(modules={PROMPT: {"donor_bad": 0.3}})
    bad = 0
    for seed in range(DRAWS):
        one = device(STALE, seed, pack=pack)
        one.answer(Fit(PROMPT, DONOR))
        results = [one.answer(Check("viewfinder")).result for _ in range(9)]
        failed = results.count(FAILS)
        assert failed < 4 or failed > 5, "neither good nor bad"
        bad += failed > 5
    assert agrees(bad, 0.3)


def test_asking_for_the_score_changes_no_answer() -> None:
    acts = [Fit(LATE, DONOR), Refresh("update"), *[Check("scanner")] * 5, Look("look at J1")]
    plain, watched = device(BAD, 8), device(BAD, 8)
    told = []
    for act in acts:
        told.append(watched.answer(act))
        assert isinstance(watched.cured, bool)
        assert isinstance(watched.sold_in_vain, tuple)
    assert [plain.answer(act) for act in acts] == told


def test_the_same_seed_gives_the_same_device() -> None:
    acts = [Check("scanner"), Look("look at J1"), Fit(LATE, DONOR), Refresh("update"),
            *[Check("scanner")] * 3]  # fmt: skip
    assert device(BAD, 3).answer_all(acts) == device(BAD, 3).answer_all(acts)


# The trap: a good donor that is not recognised yet.


def good_donor(key: str) -> SimulatedDevice:
    pack = pannier(modules={LATE: {"donor_bad": 0.0}})
    return device(key, pack=pack)


def mostly(one: SimulatedDevice, function: str = "scanner") -> str:
    results = [one.answer(Check(function)).result for _ in range(9)]
    return max(set(results), key=results.count)


def test_a_good_donor_stays_dead_until_the_refresh() -> None:
    one = good_donor(BAD)
    one.answer(Fit(LATE, DONOR))
    assert mostly(one) == FAILS
    assert not one.cured
    while one.answer(Refresh("update")).result == FAILED:
        pass
    assert mostly(one) == WORKS
    assert one.cured
    assert one.sold_in_vain == ()


def test_another_instance_has_to_be_recognised_by_itself() -> None:
    one = good_donor(BAD)
    one.answer(Fit(LATE, DONOR))
    while one.answer(Refresh("update")).result == FAILED:
        pass
    one.answer(Fit(LATE, SECOND))
    assert mostly(one) == FAILS
    one.answer(Fit(LATE, DONOR))
    assert mostly(one) == WORKS


def test_the_original_works_again_where_only_recognition_was_stale() -> None:
    one = good_donor(STALE)
    one.answer(Fit(LATE, DONOR))
    while not one.cured:
        one.answer(Refresh("update"))
    assert one.sold_in_vain == (LATE,)
    one.answer(Fit(LATE, ORIGINAL))
    assert mostly(one) == WORKS
    assert one.sold_in_vain == ()


def test_a_bad_original_fails_again_when_it_is_refitted() -> None:
    one = good_donor(BAD)
    one.answer(Fit(LATE, DONOR))
    while not one.cured:
        one.answer(Refresh("update"))
    one.answer(Fit(LATE, ORIGINAL))
    assert mostly(one) == FAILS


def test_the_log_tells_a_donor_that_is_unknown_from_one_that_is_bad() -> None:
    pack = pannier(modules={LATE: {"donor_bad": 1.0}})
    outcomes = pack.looks["scanner self-test"].outcomes

    def seen(*acts: Act, result: str) -> int:
        return rate(
            lambda seed: device(BAD, seed, pack=pack), *acts, Look("scanner self-test"),
            result=result,
        )  # fmt: skip

    unknown = seen(Fit(LATE, DONOR), result="answers, not accepted")
    assert agrees(unknown, outcomes["answers, not accepted"]["recognition stale"])
    sure = pannier(modules={LATE: {"donor_bad": 1.0}}, refreshes={"update": {"success": 1.0}})
    bad = rate(
        lambda seed: device(BAD, seed, pack=sure),
        Fit(LATE, DONOR), Refresh("update"), Look("scanner self-test"), result="no answer",
    )  # fmt: skip
    assert agrees(bad, outcomes["no answer"]["module"])


def test_a_restore_wipes_and_an_update_does_not() -> None:
    one = device(BAD)
    while one.answer(Refresh("update")).result == FAILED:
        pass
    assert not one.wiped
    while one.answer(Refresh("restore")).result == FAILED:
        pass
    assert one.wiped


def test_acts_stop_at_a_refresh_that_failed() -> None:
    never = pannier(refreshes={"update": {"success": 0.0}})
    moves = device(BAD, pack=never).answer_all(
        [Fit(LATE, DONOR), Refresh("update"), Check("scanner")]
    )
    assert [move.result for move in moves] == [DONE, FAILED]


# Nothing leaks.


def test_scores_are_all_that_is_public_beside_answers() -> None:
    public = {n for n, _ in inspect.getmembers(SimulatedDevice) if not n.startswith("_")}
    assert public <= {"answer", "answer_all", "cured", "sold_in_vain", "truth", "truths"}
    one = device(BAD)
    assert {n for n in vars(one) if not n.startswith("_")} == {"wiped"}


@pytest.mark.parametrize("key", [BAD, "leaky:D1@330", "short:C4", "chip-dead:U1"])
def test_answers_hold_what_was_asked_and_words_that_everybody_may_see(key: str) -> None:
    one = device(key, board=True)
    words = {WORKS, FAILS, FINISHED, FAILED, DONE, NOTHING, ""}
    looks = pannier().looks
    acts: list[Act] = [Check("scanner"), Check("viewfinder", 3), Fit(LATE, DONOR),
                       Refresh("update"), Work("clean", "J1"), *map(Look, looks),
                       Probe("J1.1"), Probe("J1.5"), Probe("J1.1", DONOR)]  # fmt: skip
    for act in acts:
        move = one.answer(act)
        assert type(move) is Move
        assert move.act == act
        seen = set(looks[act.name].outcomes) if isinstance(act, Look) else set()
        assert move.result in words | seen
        assert (move.reading is not None) is isinstance(act, Probe)
        if isinstance(act, Probe) and move.reading is not None:
            assert move.reading.point == act.point
            assert move.reading.setup == BENCH
            assert (move.reading.touch, move.reading.time) == ("", 0.0)
            assert isinstance(move.reading.value, float | OverRange)


def test_where_two_faults_look_alike_so_do_their_devices() -> None:
    """Faults of two shunt capacitors of one rail can not be told apart by answers."""
    acts = [Check("scanner"), Check("viewfinder"), Probe("J1.6"), Probe("J1.4"),
            Look("scanner self-test"), Fit(LATE, DONOR), Check("scanner")]  # fmt: skip
    shorts = [device(key, 5, board=True).answer_all(acts) for key in ("short:C5", "short:U1.C1")]
    values = [[m.reading.value for m in moves if m.reading] for moves in shorts]
    assert [m.result for m in shorts[0]] == [m.result for m in shorts[1]]
    assert values[0] == pytest.approx(values[1], abs=0.005)


# Readings.


@pytest.mark.parametrize("key", ["leaky:D1@330", "short:C4", "open:R1"])
def test_readings_lie_within_millivolts_of_the_circuit(key: str) -> None:
    pack = pannier(readings={"slip": 0.0})
    one = device(key, board=True, pack=pack)
    fault = next(
        item.fault for item in small_case(board=True).model.listed if item.fault.key == key
    )
    for point in ("J1.1", "J1.2", "J1.4", "J1.5", "J1.6", "U1.A1"):
        expected = predict(small_board(), BENCH, DIODE, point, fault)
        good = predict(small_board(), BENCH, DIODE, point)
        for _ in range(3):
            for where, value in ((Probe(point), expected), (Probe(point, DONOR), good)):
                reading = one.answer(where).reading
                assert reading is not None
                assert reading.value == pytest.approx(value, abs=0.004)


def test_a_repaired_board_reads_as_a_good_one() -> None:
    pack = pannier(readings={"slip": 0.0})
    one = device("leaky:D1@330", board=True, pack=pack)
    while not one.cured:
        one.answer(Work("protection replace", "D1"))
    reading = one.answer(Probe("J1.1")).reading
    assert reading is not None
    assert reading.value == pytest.approx(predict(small_board(), BENCH, DIODE, "J1.1"), abs=0.004)


def test_slips_come_as_often_as_the_pack_says() -> None:
    pack = pannier(readings={"slip": 0.2})
    one = device(BAD, board=True, pack=pack)
    good = predict(small_board(), BENCH, DIODE, "J1.5")
    assert isinstance(good, float)
    odd = 0
    for _ in range(DRAWS):
        reading = one.answer(Probe("J1.5")).reading
        assert reading is not None
        value = reading.value
        odd += isinstance(value, OverRange) or abs(value - good) > 0.01
    # A slip reads over-range in 4 of 10, else one of 7 pins; one of them is the right one.
    expected = 0.2 * (0.4 + 0.6 * 6 / 7)
    assert agrees(odd, expected)


def test_a_slip_on_a_known_good_board_touches_that_board() -> None:
    pack = pannier(readings={"slip": 1.0})
    one = device("short:C4", board=True, pack=pack)
    shown = {one.answer(Probe("J1.5", DONOR)).reading.value for _ in range(200)}  # type: ignore[union-attr]
    pins = [f"J1.{number}" for number in range(1, 8) if number != 7]
    good = [predict(small_board(), BENCH, DIODE, pin) for pin in pins]
    for value in shown:
        if isinstance(value, float) and value > 0.01:
            assert any(isinstance(g, float) and abs(g - value) < 0.01 for g in good), value
    low = [value for value in shown if isinstance(value, float) and value < 0.01]
    assert max(low, default=0.0) < 0.005  # the ground pin of the connector alone


def test_without_a_board_a_probe_shows_over_range() -> None:
    reading = device(BAD).answer(Probe("J1.1")).reading
    assert reading is not None
    assert isinstance(reading.value, OverRange)


def test_a_candidate_keeps_the_magnitude_of_the_fault_itself() -> None:
    case = small_case(board=True)
    found = candidate_for(case, Fault(FaultKind.LEAKY, "D1", 250.0))
    assert found.fault.magnitude == 250.0
    shelf = Shelf(case.brief.pack, small_board(), tables=TABLES)
    one = shelf.device(case, found, 4, steady=True)
    assert one.truth.family == "leaky:D1"
