"""Whole jobs on simulated devices: taken honestly, counted honestly, ended rightly."""

from __future__ import annotations

import numpy as np
import pytest
from diagnosis_cases import (
    LATE,
    TABLES,
    demo,
    demo_references,
    pannier,
    small_board,
)

from nextprobe.diagnosis import Case, Check, Probe, Work
from nextprobe.diagnosis.options import CLOSE, ESCALATE, WIPE
from nextprobe.errors import MisuseError
from nextprobe.planning import Cost
from nextprobe.trials.play import Played, Step, conduct, play, step_cost
from nextprobe.trials.ready import (
    Shelf,
    candidate_for,
    drawn_candidate,
    job_device,
    open_job,
    ready_job,
)
from nextprobe.trials.strategies import Advised, FixedOrder, PerfectKnowledge, Strategy

BOARDLESS = Shelf(pannier(), None, tables=TABLES)
SMALL = Shelf(pannier(), small_board(), tables=TABLES)


def demo_shelf() -> Shelf:
    return Shelf(demo().pack, demo().board, demo_references(), TABLES)


def candidate(case: Case, key: str):  # type: ignore[no-untyped-def]
    return next(item for item in case.model.listed if item.fault.key == key)


def play_on(shelf: Shelf, key: str, strategy: Strategy, seed: int) -> Played:
    case = shelf.case("scanner")
    return play(case, shelf.device(case, candidate(case, key), seed, steady=True), strategy)


# The ready-made jobs.


def test_a_ready_job_ends_right() -> None:
    shelf = demo_shelf()
    case = open_job(shelf, "stale")
    played = play(case, job_device(shelf, case, "stale", 2), Advised(3))
    assert played.right_repair, [step.option for step in played.steps]


@pytest.mark.slow
@pytest.mark.parametrize("name", ["pending", "stale", "leaky"])
def test_ready_jobs_end_right_in_all_but_at_most_one_of_five(name: str) -> None:
    shelf, adviser = demo_shelf(), Advised(30)
    found = []
    for seed in range(5):
        case = open_job(shelf, name)
        found.append(play(case, job_device(shelf, case, name, seed), adviser))
    assert sum(played.right_repair for played in found) >= 4
    assert not any(played.wiped for played in found)


def test_a_ready_job_keeps_the_data_unless_it_may_wipe() -> None:
    case = open_job(demo_shelf(), "pending")
    assert WIPE in case.brief.limits.forbidden
    assert case.brief.limits.ceiling == demo().pack.costs.ceiling
    assert case.brief.history == ("drop",)
    assert WIPE not in BOARDLESS.case("scanner", may_wipe=True).brief.limits.forbidden


def test_unknown_jobs_and_faults_are_refused() -> None:
    with pytest.raises(MisuseError, match="pending"):
        ready_job(demo().pack, "no such job")
    case = BOARDLESS.case("scanner")
    fault = candidate(BOARDLESS.case("viewfinder"), "module-bad:viewfinder").fault
    with pytest.raises(MisuseError, match="does not explain"):
        candidate_for(case, fault)


def test_faults_are_drawn_by_their_rates() -> None:
    case = BOARDLESS.case("scanner")
    rng = np.random.default_rng(0)
    drawn = [drawn_candidate(case, rng).fault.key for _ in range(2000)]
    for item, prior in zip(case.model.listed, case.model.prior, strict=True):
        spread = 4.5 * np.sqrt(prior * (1.0 - prior) / 2000)
        assert drawn.count(item.fault.key) / 2000 == pytest.approx(prior, abs=spread)


# Strategies.


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("key", ["poor-seating:J1", "settings:scanner", "external:scanner"])
def test_the_trades_order_finds_what_is_simple(key: str, seed: int) -> None:
    played = play_on(BOARDLESS, key, FixedOrder(), seed)
    assert played.ending == CLOSE
    assert len(played.steps) < 20


@pytest.mark.parametrize(
    ("key", "shelf"),
    [(f"module-bad:{LATE}", BOARDLESS), ("dirt:J1", BOARDLESS), ("leaky:D1@330", SMALL)],
)
def test_every_job_ends_and_costs_something(key: str, shelf: Shelf) -> None:
    strategies: tuple[Strategy, ...] = (
        Advised(0), FixedOrder(), PerfectKnowledge(key.partition("@")[0])
    )  # fmt: skip
    for strategy in strategies:
        played = play_on(shelf, key, strategy, 1)
        assert 0 < len(played.steps) < 60
        assert played.price > 0.0
        assert played.ending in ("close", "decline", "escalate")


def test_who_knows_the_fault_is_cheaper_on_average() -> None:
    keys = ["poor-seating:J1", "dirt:J1", f"module-bad:{LATE}", f"recognition-stale:{LATE}"]
    known, order = (
        np.mean([play_on(BOARDLESS, key, make(key), seed).price for key in keys for seed in (1, 2)])
        for make in (PerfectKnowledge, lambda _: FixedOrder())
    )
    assert known < order


def test_nobody_closes_before_the_verification() -> None:
    for key in ("poor-seating:J1", f"module-bad:{LATE}"):
        for seed in range(4):
            played = play_on(BOARDLESS, key, FixedOrder(), seed)
            if played.ending == CLOSE:
                last = [move for step in played.steps for move in step.moves][-1]
                assert last.act == Check("scanner", 5)
                assert last.result == "works"


def test_an_adviser_thinks_only_once_over_jobs_that_began_alike() -> None:
    adviser = Advised(0)
    case = BOARDLESS.case("scanner")
    first = adviser.choose(case)
    adviser._known = dict.fromkeys(adviser._known, "told before")
    assert first != "told before"
    assert adviser.choose(BOARDLESS.case("scanner")) == "told before"


# The bench.


class Scripted:
    """Takes given steps, then hands over or gives up."""

    name = "scripted"

    def __init__(self, *steps: str, ending: str = ESCALATE) -> None:
        self._steps = [*steps, ending]

    def choose(self, case: Case) -> str:
        return self._steps.pop(0)


def test_costs_of_steps_add_up_to_the_price() -> None:
    steps = ("check:viewfinder", "work:reseat:J1", "trial:scan-head:fit")
    played = play_on(BOARDLESS, "dirt:J1", Scripted(*steps), 0)
    assert [step.option for step in played.steps] == list(steps)
    costs = pannier().costs
    total = sum((step.cost for step in played.steps), Cost(harms=costs.escalation))
    assert played.cost == total
    assert played.price == pytest.approx(BOARDLESS.case("scanner").model.tariff.price(total))
    assert not played.cured
    assert not played.right_repair


def test_closing_what_is_not_cured_is_paid_as_a_comeback() -> None:
    steps = ("work:reseat:J1",)
    closed = play_on(BOARDLESS, f"module-bad:{LATE}", Scripted(*steps, ending=CLOSE), 0)
    assert not closed.right_repair
    assert closed.cost.harms >= pannier().costs.comeback


def test_a_module_sold_in_vain_is_no_right_repair() -> None:
    steps = ("trial:scan-head:fit-refresh",)
    for seed in range(6):
        played = play_on(
            BOARDLESS, f"recognition-stale:{LATE}", Scripted(*steps, ending=CLOSE), seed
        )
        assert played.sold_in_vain == (LATE,)
        assert not played.right_repair
        assert played.cost.harms >= pannier().costs.needless


def test_a_run_stops_at_a_confirmed_surprise_and_costs_by_its_touches() -> None:
    clean = pannier(readings={"slip": 0.0})
    shelf = Shelf(clean, small_board(), tables=TABLES)
    case = shelf.case("scanner")
    device = shelf.device(case, candidate(case, "short:D1"), 3, steady=True)
    moves = conduct(case, device, "run:J1")
    assert [move.act for move in moves] == [Probe("J1.1")] * 3
    sound = shelf.device(case, candidate(case, "settings:scanner"), 3)
    whole = conduct(case, sound, "run:J1")
    assert len({move.act for move in whole}) == 6
    costs = [step_cost(case, "run:J1", done).attended for done in (moves, whole)]
    each = 60.0 * clean.readings.minutes_per_pin
    assert costs[1] - costs[0] == pytest.approx(each * (len(whole) - len(moves)))


def test_a_watcher_sees_every_step_with_the_case_before_it() -> None:
    seen: list[tuple[int, str]] = []

    def watch(case: Case, step: Step) -> None:
        seen.append((len(case.moves), step.option))

    case = BOARDLESS.case("scanner")
    device = BOARDLESS.device(case, candidate(case, "dirt:J1"), 0)
    play(case, device, Scripted("check:viewfinder", "work:clean:J1"), watch)
    assert seen == [(0, "check:viewfinder"), (1, "work:clean:J1")]


def test_a_step_is_the_acts_of_its_option() -> None:
    case = BOARDLESS.case("scanner")
    device = BOARDLESS.device(case, candidate(case, "dirt:J1"), 0)
    acts = [move.act for move in conduct(case, device, "work:clean:J1")]
    assert acts == [Work("clean", "J1"), Check("scanner")]
    assert conduct(SMALL.case("scanner"), device, "probe:J1.1")[0].act == Probe("J1.1")
