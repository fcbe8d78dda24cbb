"""Strategies: each ends its jobs by the same rules, and static orders are tuned honestly."""

from __future__ import annotations

import numpy as np
import pytest
from diagnosis_cases import LATE, TABLES, fails, fit, pannier, refit, small_board, works

from nextprobe.diagnosis import Case
from nextprobe.diagnosis.options import CLOSE, DECLINE, ESCALATE, VERIFY
from nextprobe.errors import MisuseError
from nextprobe.trials.outcome import outcome_of
from nextprobe.trials.play import Played, play
from nextprobe.trials.ready import Shelf
from nextprobe.trials.rehearsal import TRAINING, Plan, Roots, drawn
from nextprobe.trials.score import mean_of
from nextprobe.trials.strategies import (
    GROUPS,
    FixedOrder,
    InformationGain,
    PerfectKnowledge,
    POverC,
    ProbeAll,
    StaticOrder,
    Strategy,
)
from nextprobe.trials.strategies.order_words import PROVES
from nextprobe.trials.strategies.rules import giving_up, offered, proven_slots, settled
from nextprobe.trials.strategies.tuning import STARTS, Order, neighbours, tune

BOARDLESS = Shelf(pannier(), None, tables=TABLES)
SMALL = Shelf(pannier(), small_board(), tables=TABLES)
SIMPLE: list[Strategy] = [
    FixedOrder(), ProbeAll(), POverC(), InformationGain(), StaticOrder(("swap", "clean")),
]  # fmt: skip


def played(shelf: Shelf, strategy: Strategy, number: int) -> Played:
    each = drawn(Roots(shelf), Plan(("scanner",), 1, 2), number)
    return play(each.case, each.device(), strategy)


@pytest.mark.parametrize("strategy", SIMPLE, ids=lambda strategy: strategy.name)
@pytest.mark.parametrize("shelf", [BOARDLESS, SMALL], ids=["no board", "board"])
def test_every_job_ends_and_nothing_is_handed_over_unverified(
    strategy: Strategy, shelf: Shelf
) -> None:
    for number in range(4):
        job = played(shelf, strategy, number)
        assert job.ending in (CLOSE, DECLINE, ESCALATE)
        assert len(job.steps) < 60
        if job.ending == CLOSE:
            assert job.steps[-1].option == VERIFY
            assert job.steps[-1].moves[-1].result == "works"


def test_who_knows_better_takes_a_good_original_back() -> None:
    case = BOARDLESS.case("viewfinder").after(fit("viewfinder"), works("viewfinder"))
    assert PerfectKnowledge("poor-seating:J2").choose(case) == "trial:viewfinder:refit"
    assert PerfectKnowledge("module-bad:viewfinder").choose(case) == VERIFY


def check_the_bound(shelf: Shelf, devices: int) -> None:
    plan, roots = Plan(("scanner",), 1, 5), Roots(shelf)
    prices: dict[str, list[float]] = {}
    for number in range(devices):
        each = drawn(roots, plan, number)
        families = [fault.family for fault in each.device().truths]
        for strategy in (*SIMPLE, PerfectKnowledge(*families)):
            job = play(each.case, each.device(), strategy)
            prices.setdefault(strategy.name, []).append(job.price)
    known = prices.pop("perfect knowledge")
    for name, others in prices.items():
        assert np.mean(known) < np.mean(others), name


def test_perfect_knowledge_is_cheapest_on_average() -> None:
    check_the_bound(BOARDLESS, 10)


@pytest.mark.slow
def test_perfect_knowledge_is_cheapest_on_average_where_there_is_a_board() -> None:
    check_the_bound(SMALL, 16)


def test_probing_everything_first_measures_before_it_does_anything() -> None:
    job = played(SMALL, ProbeAll(), 1)
    names = [step.option for step in job.steps]
    first = next(place for place, name in enumerate(names) if name.startswith(("work", "trial")))
    assert "run:J1" in names[:first]
    assert all(name.startswith(("look", "run", "current", "probe")) for name in names[:first])


def test_the_p_over_c_order_asks_nothing() -> None:
    for number in range(4):
        names = [step.option for step in played(SMALL, POverC(), number).steps]
        asks = [name for name in names if name.startswith(("look", "run", "probe", "current"))]
        assert asks == []


def test_information_gain_asks_before_it_repairs() -> None:
    job = played(SMALL, InformationGain(), 0)
    assert not job.steps[0].option.startswith("work")


# Rules.


def test_a_module_is_proven_bad_once_the_original_fails_again() -> None:
    start = BOARDLESS.case("viewfinder")
    swap = [fit("viewfinder"), works("viewfinder")]
    back = [refit("viewfinder"), fails("viewfinder")]
    assert proven_slots(start.after(*swap)) == []
    assert proven_slots(start.after(*swap, *back)) == ["viewfinder"]
    case = start.after(*swap, *back)
    assert settled(case, offered(case)) == "trial:viewfinder:fit"
    again = start.after(*swap, *back, *swap)
    assert proven_slots(again) == []
    unhelpful = start.after(fit("viewfinder"), fails("viewfinder"), *back)
    assert proven_slots(unhelpful) == []


def test_a_verification_that_fails_is_checked_once_more() -> None:
    case = BOARDLESS.case("scanner").after(fit(LATE), works(), fails(times=5))
    assert settled(case, offered(case)) == "check:scanner"
    sure = case.after(fails())
    assert settled(sure, offered(sure)) != "check:scanner"


def test_giving_up_takes_the_cheaper_way() -> None:
    case = BOARDLESS.case("scanner")
    costs = pannier().costs
    cheaper = ESCALATE if costs.escalation <= costs.lost_job else DECLINE
    assert giving_up(case, offered(case)) == cheaper
    assert giving_up(case, {}) == ESCALATE


# Static orders.


def test_an_order_has_known_words_once() -> None:
    for order in (("swap", "swap"), ("dance",)):
        with pytest.raises(MisuseError, match="at most once"):
            StaticOrder(order)


def test_an_order_is_kept() -> None:
    case = BOARDLESS.case("scanner")
    assert StaticOrder(("swap", "clean")).choose(case) == "trial:scan-head:fit"
    assert StaticOrder(("clean", "swap")).choose(case) == "work:clean:J1"
    after = case.after(fit(LATE), fails())
    assert StaticOrder(("swap", "clean")).choose(after) == "work:clean:J1"


def test_an_order_may_try_the_original_again_before_a_module_is_sold() -> None:
    case = BOARDLESS.case("viewfinder").after(fit("viewfinder"), works("viewfinder"))
    assert StaticOrder(("swap",)).choose(case) == VERIFY
    assert StaticOrder(("swap", PROVES)).choose(case) == "trial:viewfinder:refit"
    back = case.after(refit("viewfinder"), fails("viewfinder"))
    assert StaticOrder(("swap", PROVES)).choose(back) == "trial:viewfinder:fit"
    sure = back.after(fit("viewfinder"), works("viewfinder"))
    assert StaticOrder(("swap", PROVES)).choose(sure) == VERIFY


def test_neighbours_are_one_move_away() -> None:
    found = set(neighbours(("swap", "clean", "probe")))
    assert ("clean", "swap", "probe") in found
    assert ("swap", "probe") in found
    assert ("swap", "clean", "probe", "reseat") in found
    assert ("swap", "clean", "probe") not in found
    assert [order for order in found if PROVES in order] == [(PROVES, "swap", "clean", "probe")]
    assert all(len(set(order)) == len(order) for order in found)
    assert {word for order in found for word in order} == set(GROUPS)


def test_tuning_finds_an_order_that_is_known_to_be_best() -> None:
    wanted = ("clean", "probe", "swap")

    def cost(order: Order, device: int) -> float:
        spot = {word: place for place, word in enumerate(order)}
        misplaced = sum(abs(spot.get(word, 9) - place) for place, word in enumerate(wanted))
        return 10.0 + misplaced + 3.0 * len(set(order) - set(wanted)) + 0.1 * device

    found = tune(cost, 5, 2000, starts=[("swap", "reseat", "clean")])
    assert found.order == wanted
    assert found.mean_cost == pytest.approx(10.2)
    assert found.devices == 5
    assert found.tried <= 2000


def test_tuning_keeps_to_its_tries_and_never_gets_worse_than_its_starts() -> None:
    asked: set[Order] = set()

    def cost(order: Order, device: int) -> float:
        asked.add(order)
        return float(np.random.default_rng([len(order), device]).random())

    found = tune(cost, 4, 12)
    assert found.tried == len(asked) == 12
    starts = [mean_of([cost(start, device) for device in range(4)]).value for start in STARTS]
    assert found.mean_cost <= min(starts)


def test_devices_of_training_are_others_than_those_that_are_scored() -> None:
    roots, plan = Roots(BOARDLESS), Plan(("scanner",), 20, 0)
    seeds = [
        {drawn(roots, plan, number, stream).seed for number in range(20)}
        for stream in (0, TRAINING)
    ]
    assert not seeds[0] & seeds[1]
    assert len(seeds[0]) == len(seeds[1]) == 20


def test_a_played_job_is_the_same_when_it_is_played_again() -> None:
    first, second = (outcome_of(played(SMALL, FixedOrder(), 3)) for _ in range(2))
    assert first == second


def test_a_strategy_sees_a_case_and_nothing_else() -> None:
    case = BOARDLESS.case("scanner")
    assert isinstance(case, Case)
    for strategy in SIMPLE:
        assert strategy.choose(case) in offered(case)
