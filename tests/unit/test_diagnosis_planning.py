"""The diagnosis as a problem for the planner: plans, leaves, bounds, recommendations."""

from __future__ import annotations

import numpy as np
import pytest
from diagnosis_cases import (
    LATE,
    demo_case,
    fails,
    fit,
    fresh_case,
    look,
    pannier,
    probe,
    refit,
    refresh,
    small_case,
    work,
    works,
)

from nextprobe.board import Reading
from nextprobe.diagnosis import Act, Case, Check, Look, Move, Refresh
from nextprobe.diagnosis.acts import DONE, FAILS, FINISHED, NOTHING, WORKS
from nextprobe.diagnosis.grouping import grouping
from nextprobe.diagnosis.leaf import handing_over
from nextprobe.diagnosis.measuring import Measurement
from nextprobe.diagnosis.options import TERMINAL, acts_of
from nextprobe.planning import Option, best_plan, best_values, perfect_information

STATES: dict[str, tuple[Move, ...]] = {
    "as it came in": (),
    "opened": (work("restart", "scanner"), look("look at J1", "nothing")),
    "donor in": (fit(), fails()),
    "donor known": (fit(), refresh(), fails()),
    "works with a donor": (fit(), refresh(), works()),
    "original back": (fit(), refresh(), works(), refit(), fails()),
    "a low reading": (probe("J1.1", 0.25), probe("J1.1", 0.25)),
    "viewfinder works": (works("viewfinder"),),
    "reseated, works": (work("reseat", "J1"), works()),
    "verified": (work("reseat", "J1"), works(), works(times=5)),
}
IN_VAIN = [name for name in STATES if "works" not in name and name != "verified"]


def in_state(name: str) -> Case:
    return small_case(STATES[name], board=True)


def value(case: Case, state, also: tuple[str, ...] = ()) -> float:  # type: ignore[no-untyped-def]
    return best_plan(case.problem.plan_table(state), (also,)).value


def after(case: Case, option: Option, also: tuple[str, ...]) -> float:
    """Return what is still to be paid on average once an option is done."""
    return sum(
        branch.probability
        * (branch.cost + (0.0 if branch.state is None else value(case, branch.state, also)))
        for branch in case.problem.outcomes(case.situation, option)
    )


@pytest.mark.parametrize("name", STATES)
def test_the_outcomes_of_every_option_have_the_mass_one(name: str) -> None:
    case = in_state(name)
    for option in case.problem.options(case.situation):
        branches = case.problem.outcomes(case.situation, option)
        if option.id in TERMINAL:
            assert branches == ()
        else:
            total = sum(branch.probability for branch in branches)
            assert total == pytest.approx(1.0, abs=1e-6), option.id


@pytest.mark.parametrize("name", IN_VAIN)
def test_information_is_never_worth_less_than_nothing(name: str) -> None:
    """A leaf may follow the plan that was best before; only the price can make asking dear."""
    case = in_state(name)
    plan = best_plan(case.problem.plan_table(case.situation))
    for option in case.problem.options(case.situation):
        other = option.kind == "check" and option.id != "check:scanner"
        if option.kind == "look" or other:
            assert after(case, option, plan.order) <= plan.value + 1e-9, option.id


@pytest.mark.parametrize("name", IN_VAIN)
def test_nor_is_a_touch_beside_the_plan_whose_runs_leave_its_point_out(name: str) -> None:
    case = in_state(name)
    plan = best_plan(case.problem.plan_table(case.situation))
    for option in case.problem.options(case.situation):
        if option.kind == "reading":
            batch = case.problem.leaf_batch(case.situation, option)
            assert batch is not None
            weights = case.problem.plan_table(case.situation).weights[None, :]
            without = best_values(weights, batch.table, (plan.order,))[0]
            assert after(case, option, plan.order) <= without + 1e-9, option.id


@pytest.mark.parametrize("name", IN_VAIN)
def test_nor_is_a_run_but_for_its_own_place_in_the_plan(name: str) -> None:
    case = in_state(name)
    table = case.problem.plan_table(case.situation)
    plan = best_plan(table)
    for option in case.problem.options(case.situation):
        if option.kind == "run":
            order = tuple(step for step in plan.order if step != option.id)
            without = best_values(table.weights[None, :], table, (order,))[0]
            assert after(case, option, order) <= without + 1e-9, option.id


def batch_and_outcomes(case: Case, option: Option) -> tuple[float, float]:
    """Return what is still to be paid by the batch of an option and by its outcomes."""
    plan = best_plan(case.problem.plan_table(case.situation))
    batch = case.problem.leaf_batch(case.situation, option)
    assert batch is not None
    values = best_values(batch.weights, batch.table, (plan.order,))
    total = batch.ending_cost + float(batch.probabilities @ values)
    return total, after(case, option, plan.order)


@pytest.mark.parametrize("name", IN_VAIN)
def test_batches_of_touches_are_no_cheaper_than_their_outcomes(name: str) -> None:
    """The batch may charge again for opening, which a plan after the outcome need not."""
    case = in_state(name)
    for option in case.problem.options(case.situation):
        if option.kind == "reading":
            batch, outcomes = batch_and_outcomes(case, option)
            assert batch >= outcomes - 1e-6, option.id


@pytest.mark.parametrize("name", IN_VAIN)
def test_batches_of_runs_are_cheaper_than_their_outcomes_by_little(name: str) -> None:
    """A batch takes the run to be still open afterwards: cheaper by what it seems to find."""
    case = in_state(name)
    for option in case.problem.options(case.situation):
        if option.kind == "run":
            batch, outcomes = batch_and_outcomes(case, option)
            assert batch >= 0.97 * outcomes, option.id


@pytest.mark.parametrize("name", STATES)
def test_no_plan_beats_perfect_information(name: str) -> None:
    case = in_state(name)
    table = case.problem.plan_table(case.situation)
    assert case.problem.lower_bound(case.situation) <= perfect_information(table) + 1e-9
    assert perfect_information(table) <= best_plan(table).value + 1e-9


@pytest.mark.parametrize("name", STATES)
def test_the_recommendation_lies_above_the_lower_bound(name: str) -> None:
    advice = in_state(name).recommend(4)
    assert advice.lower_bound <= advice.cost + 1e-9
    costs = [ranked.cost for ranked in advice.alternatives]
    assert costs[0] == advice.cost
    assert costs[0] <= 1.01 * min(costs)
    assert costs[1:] == pytest.approx(sorted(costs[1:]), rel=1e-8)


def test_so_it_does_for_the_demo() -> None:
    advice = demo_case().recommend(12)
    assert 0.0 < advice.lower_bound <= advice.cost


def test_the_same_question_gets_the_same_answer() -> None:
    first, second = (
        fresh_case(STATES["a low reading"], board=True).recommend(12) for _ in range(2)
    )
    assert first.option == second.option
    assert first.cost == second.cost


@pytest.mark.parametrize("name", STATES)
def test_steps_of_plans_are_options_or_lead_to_them(name: str) -> None:
    case = in_state(name)
    table = case.problem.plan_table(case.situation)
    assert len(set(table.names)) == len(table.names)
    assert (table.ends >= 0.0).all()
    assert (table.ends <= 1.0 + 1e-12).all()
    assert (table.prices > 0.0).all()


@pytest.mark.parametrize("name", STATES)
def test_groups_keep_the_mass_and_what_repairs_do(name: str) -> None:
    case = in_state(name)
    ensemble = case.situation.ensemble
    groups = grouping(case.model, ensemble)
    assert groups.sums(ensemble.probabilities).sum() == pytest.approx(1.0)
    cures = case.model.cure_chances[:, ensemble.columns["hypothesis"]]
    sizes = np.diff(np.append(groups.starts, len(groups.order)))
    spread = cures[:, groups.order] - np.repeat(cures[:, groups.first], sizes, axis=1)
    assert np.abs(spread).max() == 0.0


def test_equal_states_share_all_of_a_table_but_its_weights() -> None:
    one, other = (fresh_case(board=True) for _ in range(2))
    first = one.problem.plan_table(one.situation)
    again = one.after(look("liquid indicator", "nothing"))
    assert again.problem.plan_table(again.situation).grouped is not None
    assert first.names == other.problem.plan_table(other.situation).names


# What the recommendation does.


def test_what_costs_little_and_clears_much_comes_before_hot_air() -> None:
    advice = in_state("as it came in").recommend(12)
    assert advice.option.kind in ("check", "look", "trial", "refresh")


def test_what_is_verified_is_handed_over() -> None:
    assert in_state("verified").recommend(0).option.id == "close"


def test_what_works_is_verified_first() -> None:
    assert in_state("reseated, works").recommend(0).option.id == "verify"


def test_a_clear_low_reading_leads_to_the_part() -> None:
    moves = [works("viewfinder"), look("board under the microscope", "nothing")]
    moves += [*[probe("J1.1", 0.25)] * 3, *[probe("U1.A1", 0.66)] * 2]
    moves += [fit(), refresh(), fails(), refit(), fails()]
    case = small_case(moves, board=True)
    steps = [ranked.option.id for ranked in case.recommend(20).alternatives]
    work_steps = [step for step in steps if step.startswith("work:")]
    assert any(step.endswith(":D1") for step in work_steps[:2])


class Hopeless:
    """Answers for a device that nothing helps and where nothing can be seen."""

    def __init__(self, case: Case) -> None:
        self.case = case

    def take(self, option: str) -> None:
        probing = self.case.problem.probing
        if not probing.owns(option):
            acts = acts_of(self.case.model, self.case.situation, option)
            self.case = self.case.after(*(self._answer(act) for act in acts))
            return
        run = probing.run_now(self.case.situation, option) if option in probing.runs else None
        measured = run.measurements if run else (probing.measured(option),)
        self.case = self.case.after(*(self._good(item) for item in measured))

    def _good(self, item: Measurement) -> Move:
        assert self.case.model.expectations is not None
        item = item.without(self.case.situation.configuration.removed)
        value = self.case.model.expectations.at(item.point, item.setup).healthy
        return Move(item.act(), "", Reading(item.point, value, item.setup))

    def _answer(self, act: Act) -> Move:
        if isinstance(act, Check):
            return Move(act, FAILS if act.function == "scanner" else WORKS)
        if isinstance(act, Refresh):
            return Move(act, FINISHED)
        return Move(act, NOTHING if isinstance(act, Look) else DONE)


@pytest.mark.parametrize("board", [False, True])
def test_a_job_without_hope_comes_to_an_end_and_no_step_is_taken_twice_over(board: bool) -> None:
    device = Hopeless(small_case(board=board))
    taken: list[str] = []
    while True:
        option = device.case.recommend(0).option.id
        if option in TERMINAL:
            break
        taken.append(option)
        assert len(taken) < 40, taken
        device.take(option)
    assert option == "escalate"
    assert all(taken.count(step) <= 2 for step in taken if step.startswith("work:"))
    for place, step in enumerate(taken):
        if step in taken[:place]:
            since = taken[:place][::-1].index(step)
            assert worth_doing_again(step, taken[place - since : place]), taken
    assert len(taken) > 5


def worth_doing_again(step: str, since: list[str]) -> bool:
    """Tell whether what was done since a step was last taken changes what it may show."""
    if step.startswith("run:"):
        place = step.split(":")[1]
        return any(done.startswith("work:") and done.endswith(f":{place}") for done in since)
    if step.startswith("work:"):
        # What has failed once may be done once more, but something else is likelier to help first.
        return bool(since)
    return not step.startswith("probe:")


def test_handing_over_what_is_not_cured_costs_a_comeback() -> None:
    case = in_state("verified")
    costs = case.model.pack.costs
    price = handing_over(case.model, case.situation.ensemble, case.situation.configuration)
    active = case.situation.ensemble.columns["active"] == 1
    assert price[active].min() >= costs.comeback
    assert price[~active].max() < costs.comeback


def test_keeping_a_donor_that_was_not_needed_costs_trust() -> None:
    case = in_state("works with a donor")
    ensemble, configuration = case.situation.ensemble, case.situation.configuration
    bad = case.model.module_faults[LATE][ensemble.columns["hypothesis"]]
    sound = (ensemble.columns["active"] == 0) & ~bad
    price = handing_over(case.model, ensemble, configuration)
    quality = ensemble.columns["quality:scan head:donor"] == 0
    needless = price[sound & quality].mean() - price[bad & quality].mean()
    assert needless == pytest.approx(case.model.pack.costs.needless)


def test_the_price_of_handing_over_is_its_mean_over_the_worlds() -> None:
    case = in_state("verified")
    (close,) = [o for o in case.problem.options(case.situation) if o.id == "close"]
    ending = handing_over(case.model, case.situation.ensemble, case.situation.configuration)
    expected = case.situation.ensemble.expectation(ending)
    assert case.problem.price(case.situation, close) == pytest.approx(expected)


def test_dearer_time_makes_everything_dearer() -> None:
    twice = pannier(costs={"attended_per_hour": 120, "elapsed_per_hour": 8})
    plain, dear = small_case(), small_case(pack=twice)
    assert dear.recommend(0).cost > plain.recommend(0).cost
    assert dear.recommend(0).lower_bound > plain.recommend(0).lower_bound


def test_who_knows_the_fault_pays_less() -> None:
    case = in_state("as it came in")
    table = case.problem.plan_if(case.situation, "poor-seating:J1")
    assert best_plan(table).value < best_plan(case.problem.plan_table(case.situation)).value
    assert best_plan(table).order[0].startswith(("work:reseat", "trial:"))
