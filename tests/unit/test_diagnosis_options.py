"""What is offered: forms of trials, hard limits, cautions, costs."""

from __future__ import annotations

import pytest
from diagnosis_cases import (
    LATE,
    PROMPT,
    demo_case,
    fails,
    fit,
    offered,
    option_ids,
    pannier,
    probe,
    refit,
    refresh,
    small_case,
    work,
    works,
)

from nextprobe.diagnosis import Case, Check, Fit, Look, Refresh, Work
from nextprobe.diagnosis.acts import DONOR, ORIGINAL, SECOND
from nextprobe.diagnosis.costs import (
    act_cost,
    acts_cost,
    charged,
    handover_cost,
    opened_for,
    way_in,
)
from nextprobe.diagnosis.ids import named, slug
from nextprobe.diagnosis.options import UNPAIR, VERIFICATIONS, WIPE, acts_of
from nextprobe.errors import UnknownStepError
from nextprobe.packs.schema import Access
from nextprobe.planning import Limits, option_of

NO_WIPE = Limits(frozenset({WIPE}))
NO_UNPAIR = Limits(frozenset({UNPAIR}))


def acts(case: Case, name: str):  # type: ignore[no-untyped-def]
    return acts_of(case.model, case.situation, name)


# Options are whole: each ends in a check.


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("check:viewfinder", (Check("viewfinder"),)),
        ("verify", (Check("scanner", VERIFICATIONS),)),
        ("look:scanner-self-test", (Look("scanner self-test"),)),
        ("refresh:update", (Refresh("update"), Check("scanner"))),
        ("trial:scan-head:fit", (Fit(LATE, DONOR), Check("scanner"))),
        (
            "trial:scan-head:fit-refresh",
            (Fit(LATE, DONOR), Refresh("update"), Check("scanner")),
        ),
        (
            "trial:scan-head:second",
            (Fit(LATE, SECOND), Refresh("update"), Check("scanner")),
        ),
        ("trial:viewfinder:second", (Fit(PROMPT, SECOND), Check("scanner"))),
        ("trial:scan-head:refit", (Fit(LATE, ORIGINAL), Check("scanner"))),
        ("work:small-passive:C4", (Work("small passive", "C4"), Check("scanner"))),
        ("close", ()),
    ],
)
def test_the_acts_of_an_option(name: str, expected: tuple[object, ...]) -> None:
    assert acts(small_case(board=True), name) == expected


@pytest.mark.parametrize("name", ["work:reseat:J1", "refresh:update"])
def test_originals_go_back_before_other_work(name: str) -> None:
    case = small_case([fit(), fails()])
    assert acts(case, name)[0] == Fit(LATE, ORIGINAL)


@pytest.mark.parametrize(
    "name",
    [
        "check:telephone",
        "look:no-such-look",
        "refresh:no-such",
        "trial:no-such-module:fit",
        "trial:scan-head:no-such-form",
        "work:reseat:J99",
    ],
)
def test_names_that_do_not_exist_are_refused(name: str) -> None:
    with pytest.raises(UnknownStepError):
        acts(small_case(board=True), name)


def test_ids_have_no_blanks_and_are_found_again() -> None:
    assert slug("front camera") == "front-camera"
    assert named(["sound", "front camera"], "front-camera") == "front camera"
    with pytest.raises(UnknownStepError):
        named(["sound"], "front-camera")
    for case in (small_case(board=True), demo_case()):
        names = option_ids(case)
        assert len(set(names)) == len(names)
        assert not any(" " in name for name in names)


def test_every_option_has_acts_or_is_a_reading_or_an_ending() -> None:
    case = small_case(board=True)
    for option in case.problem.options(case.situation):
        reading = case.problem.probing.owns(option.id)
        assert bool(acts(case, option.id)) is not (reading or option.kind == "end"), option.id


# The forms of trials.


def test_trials_in_each_state() -> None:
    first = ["trial:scan-head:fit", "trial:scan-head:fit-refresh"]
    assert option_ids(small_case(), "trial") == first
    assert option_ids(small_case([fit(), fails()]), "trial") == [
        "trial:scan-head:refit",
        "trial:scan-head:refresh",
    ]
    assert option_ids(small_case([fit(), refresh(), fails()]), "trial") == ["trial:scan-head:refit"]
    assert option_ids(small_case([fit(), refresh(), works()]), "trial") == ["trial:scan-head:refit"]
    assert option_ids(small_case([fit(), refit(), fails()]), "trial") == first


def test_a_module_that_is_recognised_at_once_needs_no_refresh() -> None:
    case = small_case(complaint="viewfinder")
    assert option_ids(case, "trial") == ["trial:viewfinder:fit"]


def test_where_every_refresh_wipes_none_is_part_of_a_trial() -> None:
    pack = pannier(refreshes={"update": {"keeps_data": False}, "restore": {}})
    assert option_ids(small_case(pack=pack), "trial") == ["trial:scan-head:fit"]
    assert option_ids(small_case([fit(), fails()], pack=pack), "trial") == ["trial:scan-head:refit"]


def test_what_works_is_left_alone() -> None:
    case = small_case([work("reseat", "J1"), works()], board=True)
    assert set(option_ids(case)) == {"verify", "escalate", "decline"}


# Hard limits.


def plan_steps(case: Case) -> set[str]:
    return {option_of(name) for name in case.problem.plan_table(case.situation).names}


def test_a_refresh_that_wipes_is_not_offered_where_data_must_stay() -> None:
    free, bound = small_case(), small_case(limits=NO_WIPE)
    assert "refresh:restore" in option_ids(free)
    assert "refresh:restore" in plan_steps(free)
    assert "refresh:restore" not in option_ids(bound)
    assert "refresh:restore" not in plan_steps(bound)
    assert "refresh:update" in option_ids(bound)


@pytest.mark.parametrize("moves", [(), (fit(), fails()), (refresh(), fails())])
def test_nor_is_it_in_any_plan_or_branch_of_a_recommendation(moves: tuple[object, ...]) -> None:
    advice = small_case(moves, limits=NO_WIPE).recommend(20)  # type: ignore[arg-type]
    plans = [name for branch in advice.branches for name in (*branch.plan, branch.then)]
    named_ones = [ranked.option.id for ranked in advice.alternatives]
    assert not any("restore" in name for name in (*plans, *named_ones))


def unpaired_pack():  # type: ignore[no-untyped-def]
    pairing = [{"part": "trigger", "grade": "lost for good", "lost": "the trigger"}]
    return pannier(modules={LATE: {"pairing": pairing}})


def test_a_trial_that_loses_a_pairing_for_good_is_not_offered_where_that_is_forbidden() -> None:
    free = small_case(pack=unpaired_pack())
    bound = small_case(pack=unpaired_pack(), limits=NO_UNPAIR)
    assert "trial:scan-head:fit" in option_ids(free)
    assert option_ids(bound, "trial") == []
    assert not any(name.startswith("trial:") for name in plan_steps(bound))


def test_a_pairing_that_comes_back_is_no_loss() -> None:
    assert option_ids(small_case(limits=NO_UNPAIR), "trial") == option_ids(small_case(), "trial")


def test_refitting_the_original_unpairs_nothing() -> None:
    case = small_case([fit(), refresh(), works()], pack=unpaired_pack(), limits=NO_UNPAIR)
    assert option_ids(case, "trial") == ["trial:scan-head:refit"]


@pytest.mark.parametrize("ceiling", [0.0, 10.0, 30.0, 60.0])
def test_nothing_is_offered_or_planned_that_crosses_the_ceiling(ceiling: float) -> None:
    case = small_case(board=True, limits=Limits(ceiling=ceiling))
    for option in case.problem.options(case.situation):
        if option.kind != "end":
            assert charged(case.model, case.problem.cost(case.situation, option)) <= ceiling
    for name in plan_steps(case):
        if not name.startswith("run:"):
            cost, _ = acts_cost(
                case.model,
                case.situation.configuration.with_(opened=Access.BOARD_OUT.value),
                acts(case, name),
            )
            assert charged(case.model, cost) <= ceiling + 1e-9, name


def test_what_was_spent_counts_towards_the_ceiling() -> None:
    pack = pannier()
    limits = Limits(ceiling=30.0)
    fresh = small_case(limits=limits, pack=pack)
    spent = small_case([work("clean", "J1"), work("clean", "J2")], limits=limits, pack=pack)
    assert fresh.situation.spent == 0.0
    assert spent.situation.spent == pytest.approx(
        charged(fresh.model, way_in(pack, fresh.situation.configuration, Access.OPEN))
        + 2 * charged(fresh.model, act_cost_inside(fresh))
    )
    assert "trial:scan-head:fit-refresh" in option_ids(fresh)
    assert len(option_ids(spent)) < len(option_ids(fresh))
    for option in spent.problem.options(spent.situation):
        if option.kind != "end":
            charge = charged(spent.model, spent.problem.cost(spent.situation, option))
            assert spent.situation.spent + charge <= 30.0 + 1e-9


def act_cost_inside(case: Case):  # type: ignore[no-untyped-def]
    opened = case.situation.configuration.with_(opened="open")
    return act_cost(case.model, opened, Work("clean", "J1"))


def test_a_ceiling_of_nothing_leaves_only_giving_up() -> None:
    assert option_ids(small_case(board=True, limits=Limits(ceiling=0.0))) == [
        "escalate",
        "decline",
    ]


# Cautions.


def cautions(case: Case, name: str) -> str:
    return " ".join(offered(case, name).cautions).lower()


def test_before_probing_the_battery_is_unplugged() -> None:
    case = small_case(board=True)
    names = [n for n in option_ids(case) if case.problem.probing.owns(n)]
    assert any(name.startswith("run:") for name in names)
    assert any(name.startswith("probe:") for name in names)
    for name in names:
        assert "unplug the battery" in cautions(case, name), name


def test_the_cautions_of_the_demo() -> None:
    case = demo_case()
    for option in case.problem.options(case.situation):
        text = " ".join(option.cautions).lower()
        if case.problem.probing.owns(option.id):
            live = option.id.endswith(":volts")
            assert ("never to ohms" if live else "unplug the battery") in text
        if option.kind == "work":
            data = case.model.pack.work[case.model.work_by_id[option.id].work]
            if data.heat:
                assert "hot air never near a lithium cell" in text, option.id
                assert "fumes" in text, option.id
            if "battery" in data.unplug and not data.heat:
                assert "battery" in text or "power" in text or "cell" in text, option.id


def test_hot_air_stays_away_from_the_cell_and_fumes_from_the_nose() -> None:
    case = small_case(board=True)
    for name, repair in case.model.work_by_id.items():
        if case.model.pack.work[repair.work].heat:
            text = " ".join(case.model.pack.work[repair.work].cautions).lower()
            assert "hot air never near a lithium cell" in text, name
            assert "fumes" in text, name
    hot = [n for n in option_ids(case, "work") if "small-passive" in n]
    assert hot
    for name in hot:
        assert "hot air never near a lithium cell" in cautions(case, name)


def test_a_restore_says_that_it_wipes() -> None:
    assert "wipes the customer's data" in cautions(small_case(), "refresh:restore")


def test_emitters_are_covered_at_checks_and_trials_of_a_camera() -> None:
    case = small_case()
    for name in ("check:scanner", "trial:scan-head:fit", "trial:scan-head:fit-refresh"):
        text = cautions(case, name)
        assert "laser" in text, name
        assert "never look into" in text, name


def test_so_they_are_at_the_verification_and_wherever_else_the_camera_is_started() -> None:
    working = small_case([work("reseat", "J1"), works()])
    assert "laser" in cautions(working, "verify")
    for name in ("work:reseat:J1", "refresh:update"):
        assert "laser" in cautions(small_case(), name), name


def test_the_laser_of_the_demo_is_named_at_its_trial() -> None:
    text = cautions(demo_case(), "trial:imaging:fit")
    assert "laser" in text
    assert "never look into it" in text
    assert "unplug the battery" in text


def test_a_paired_part_stays_with_its_board() -> None:
    text = cautions(demo_case(), "trial:imaging:fit")
    assert "fingerprint reader is paired" in text
    assert "keep the original flex with its board" in text
    assert "the trigger, meanwhile" in cautions(small_case(), "trial:scan-head:fit")


def test_a_trial_with_a_refresh_carries_the_cautions_of_both() -> None:
    text = cautions(small_case(), "trial:scan-head:fit-refresh")
    assert "back up first" in text
    assert "trigger" in text


def test_what_opens_the_device_warns_of_the_cell_and_only_what_opens_it() -> None:
    closed, opened = small_case(), small_case([work("clean", "J1"), fails()])
    for name in ("trial:scan-head:fit", "work:reseat:J1", "look:look-at-J1"):
        assert "never bend, pierce or pry at the cell" in cautions(closed, name), name
        assert "pry at the cell" not in cautions(opened, name), name
    assert "pry" not in cautions(closed, "refresh:update")


def test_so_does_probing_and_taking_the_board_out() -> None:
    case = small_case(board=True)
    assert "pry at the cell" in cautions(case, "run:J1")
    for part in ("pry at the cell", "unplug the battery first", "hot air never near"):
        assert part in cautions(case, "work:small-passive:FB1"), part


def test_closing_warns_of_what_presses_on_the_cell() -> None:
    done = small_case([work("reseat", "J1"), works(), works(times=5)])
    assert "presses on the cell" in cautions(done, "close")


def test_no_caution_is_said_twice() -> None:
    for case in (small_case(board=True), demo_case()):
        for option in case.problem.options(case.situation):
            assert len(set(option.cautions)) == len(option.cautions), option.id


# Costs.


def test_the_way_in_is_paid_once() -> None:
    case = small_case(board=True)
    configuration = case.situation.configuration
    once, after = acts_cost(case.model, configuration, (Work("reseat", "J1"),))
    twice, _ = acts_cost(case.model, configuration, (Work("reseat", "J1"), Work("clean", "J1")))
    assert after.opened == Access.OPEN.value
    inside = act_cost(case.model, after, Work("clean", "J1"))
    assert twice.attended == pytest.approx(once.attended + inside.attended)


def test_the_board_comes_out_after_the_device_was_opened() -> None:
    case = small_case()
    pack, closed = case.model.pack, case.situation.configuration
    opened = opened_for(closed, Access.OPEN)
    whole = way_in(pack, closed, Access.BOARD_OUT).attended
    assert whole == 60.0 * (pack.work["open"].minutes + pack.work["board out"].minutes)
    assert way_in(pack, opened, Access.BOARD_OUT).attended == 60.0 * pack.work["board out"].minutes
    assert way_in(pack, opened, Access.CLOSED).attended == 0.0
    assert opened_for(opened, Access.CLOSED) is opened


def test_a_refresh_costs_attended_and_elapsed_minutes_differently() -> None:
    case = small_case()
    data = case.model.pack.refreshes["update"]
    cost = act_cost(case.model, case.situation.configuration, Refresh("update"))
    assert cost.attended == 60.0 * data.attended
    assert cost.elapsed == 60.0 * (data.attended + data.elapsed)


def test_wiped_data_cost_their_worth_unless_they_are_backed_up() -> None:
    case = small_case()
    configuration = case.situation.configuration
    bare = act_cost(case.model, configuration, Refresh("restore")).harms
    saved = act_cost(case.model, configuration.with_(backed_up=True), Refresh("restore")).harms
    assert bare - saved == pytest.approx(case.model.pack.costs.data)


def test_a_module_that_stays_is_paid_for_at_the_end_and_not_for_the_trial() -> None:
    case = small_case()
    configuration = case.situation.configuration
    assert (
        act_cost(case.model, configuration, Fit(LATE, DONOR)).parts
        == way_in(case.model.pack, configuration, Access.OPEN).parts
    )
    kept = handover_cost(case.model, configuration.with_(fitted={LATE: DONOR}))
    back = handover_cost(case.model, configuration)
    assert kept.parts - back.parts == case.model.pack.modules[LATE].price
    assert kept.harms > back.harms


def test_a_check_repeated_at_once_takes_less_than_as_many_checks() -> None:
    case = small_case()
    one, five = (
        act_cost(case.model, case.situation.configuration, Check("scanner", times)).attended
        for times in (1, 5)
    )
    assert one < five < 5 * one


def test_a_charge_is_time_and_parts_and_no_harm() -> None:
    case = small_case()
    cost = act_cost(case.model, case.situation.configuration, Refresh("restore"))
    assert charged(case.model, cost) == pytest.approx(
        cost.attended * case.model.pack.costs.attended_per_hour / 3600.0
    )


def test_reading_opens_the_device_for_what_follows() -> None:
    case = small_case([probe("J1.1", 0.66)], board=True)
    assert case.situation.configuration.opened == Access.OPEN.value
