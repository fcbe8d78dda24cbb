"""Rehearsals: the same devices for everybody, kept, gone on with, and measured."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from diagnosis_cases import TABLES, pannier, small_board
from scipy.stats import binomtest

from nextprobe.errors import MisuseError
from nextprobe.trials.checkpoints import CHECKPOINTS, bounds, placed_readings
from nextprobe.trials.device import families_left
from nextprobe.trials.prices import with_prices
from nextprobe.trials.ready import Shelf, drawn_faults, shelf_digest
from nextprobe.trials.record import DeviceRecord, record_from
from nextprobe.trials.rehearsal import Plan, Roots, Tuning, drawn, rehearse, tuned_orders
from nextprobe.trials.report import report
from nextprobe.trials.strategies import NAMES, STATIC

BOARDLESS = Shelf(pannier(), None, tables=TABLES)
SMALL = Shelf(pannier(), small_board(), tables=TABLES)
CHEAP = ("p_over_c", "perfect_knowledge")


def by_number(records: list[DeviceRecord]) -> list[str]:
    ordered = sorted(records, key=lambda record: record.number)
    return [json.dumps(record.as_data()) for record in ordered]


@pytest.fixture(scope="module")
def records() -> list[DeviceRecord]:
    plan = Plan(("scanner",), 3, 1, budget=0, training=1, tries=4)
    orders = {name: tuned.order for name, tuned in tuned_orders(SMALL, plan)}
    return list(rehearse(SMALL, plan, orders))


def test_all_strategies_play_the_same_devices(records: list[DeviceRecord]) -> None:
    assert [record.number for record in records] == [0, 1, 2]
    assert {record.complaint for record in records} == {"scanner"}
    for record in records:
        assert tuple(record.jobs) == NAMES
        assert record.truth
        assert tuple(record.marginals) == CHECKPOINTS


def test_a_record_comes_back_from_plain_data(records: list[DeviceRecord]) -> None:
    for record in records:
        data = json.loads(json.dumps(record.as_data()))
        assert json.dumps(record_from(data).as_data()) == json.dumps(record.as_data())
    with pytest.raises(KeyError):
        record_from({"device": 1})


def test_the_report_does_not_depend_on_the_order_of_devices(records: list[DeviceRecord]) -> None:
    found, other = report(records), report(records[::-1])
    assert found == other
    assert found.devices == 3
    assert set(found.scores) == set(NAMES)
    assert set(found.differences) == set(NAMES) - {"nextprobe"}
    assert found.gap_from == min(STATIC, key=lambda name: found.scores[name].cost.value)
    assert set(found.by_checkpoint) == set(found.leading) == set(CHECKPOINTS)
    assert found.overall is not None
    assert found.overall.n == sum(each.n for each in found.by_checkpoint.values())
    assert found.readings is not None
    assert found.readings.n == 12
    # At intake forecasts are compared with themselves.
    assert found.by_checkpoint["intake"].brier_skill == pytest.approx(0.0)
    with pytest.raises(MisuseError):
        report([])


def test_another_number_of_processes_plays_the_same() -> None:
    plan = Plan(("scanner",), 4, 3, strategies=CHEAP, calibrate=False)
    alone = list(rehearse(BOARDLESS, plan))
    shared = list(rehearse(BOARDLESS, plan, processes=2))
    assert by_number(alone) == by_number(shared)
    assert not alone[0].marginals


def test_what_is_done_is_not_played_again_and_comes_out_the_same() -> None:
    plan = Plan(("scanner",), 4, 3, strategies=CHEAP, calibrate=False)
    whole = by_number(list(rehearse(BOARDLESS, plan)))
    rest = list(rehearse(BOARDLESS, plan, done={0, 2}))
    assert by_number(rest) == [whole[1], whole[3]]


def test_who_stops_listening_keeps_what_was_done() -> None:
    playing = rehearse(BOARDLESS, Plan(("scanner",), 50, strategies=CHEAP, calibrate=False))
    assert next(playing).number == 0
    playing.close()


@pytest.mark.parametrize("processes", [1, 2])
def test_the_tuning_tells_how_far_it_is_from_any_process(processes: int) -> None:
    functions = tuple(pannier().functions)[:2]
    plan = Plan(functions, 1, 1, training=2, tries=4)
    heard: list[Tuning] = []
    found = dict(tuned_orders(BOARDLESS, plan, processes=processes, hear=heard.append))
    for name in functions:
        at = [(each.order, each.device) for each in heard if each.complaint == name]
        assert at[:2] == [(1, 1), (1, 2)]
        assert [order for order, device in at if device == 1] == [*range(1, found[name].tried + 1)]


@pytest.mark.parametrize(
    "wrong",
    [{"complaints": ()}, {"devices": 0}, {"strategies": ()}, {"strategies": ("luck",)},
     {"seed": -1}, {"training": 0}],
)  # fmt: skip
def test_a_plan_of_nothing_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(MisuseError):
        replace(Plan(("scanner",), 3), **wrong)


def test_a_best_order_that_was_not_tuned_is_refused() -> None:
    with pytest.raises(MisuseError, match="tuned"):
        next(rehearse(BOARDLESS, Plan(("scanner",), 1)))


# Devices.


def test_devices_have_several_faults_as_often_as_the_inference_expects() -> None:
    pack = pannier(coincidence=0.25)
    case = Shelf(pack, None, tables=TABLES).case("scanner")
    assert case.model.together is not None
    weight = float(case.model.together.chances.sum())
    sizes = [len(drawn_faults(case, np.random.default_rng(seed))) for seed in range(1500)]
    interval = binomtest(sum(size > 1 for size in sizes), len(sizes)).proportion_ci(0.9999)
    assert interval.low <= weight / (1.0 + weight) <= interval.high
    assert max(sizes) <= 3


def test_devices_have_each_fault_as_often_as_is_believed_at_intake() -> None:
    case = BOARDLESS.case("scanner")
    believed = {suspect.key: suspect.probability for suspect in case.suspects()}
    drawn_families = Counter(
        candidate.fault.family
        for seed in range(3000)
        for candidate in drawn_faults(case, np.random.default_rng(seed))
    )
    for family, chance in believed.items():
        interval = binomtest(drawn_families[family], 3000).proportion_ci(1.0 - 1e-5, "exact")
        # What coincides is not listed where it is this rare; it adds one fault in a hundred.
        assert interval.low <= chance + 0.01
        assert interval.high >= chance - 1e-9


def test_what_is_left_of_a_device_is_for_the_bound_only() -> None:
    each = drawn(Roots(BOARDLESS), Plan(("scanner",), 1), 0)
    device = each.device()
    assert families_left(device) == tuple(fault.family for fault in device.truths)


def test_cases_at_intake_are_shared_and_begun_anew_in_time() -> None:
    roots = Roots(BOARDLESS)
    first = roots.case("scanner")
    assert roots.case("scanner") is first
    for _ in range(200):
        last = roots.case("scanner")
    assert last is not first


def test_another_pack_or_board_has_another_digest() -> None:
    assert shelf_digest(SMALL) == shelf_digest(Shelf(pannier(), small_board()))
    dearer = replace(SMALL, pack=with_prices(pannier(), 2.0))
    assert len({shelf_digest(each) for each in (SMALL, BOARDLESS, dearer)}) == 3


def test_prices_are_those_of_work_and_not_of_harm() -> None:
    pack, dearer = pannier(), with_prices(pannier(), 2.0)
    assert with_prices(pack, 1.0) is pack
    assert dearer.costs.attended_per_hour == 2.0 * pack.costs.attended_per_hour
    assert dearer.costs.elapsed_per_hour == 2.0 * pack.costs.elapsed_per_hour
    same = ("lost_job", "comeback", "escalation", "data", "pairing", "damage", "needless")
    for name in (*same, "ceiling", "currency"):
        assert getattr(dearer.costs, name) == getattr(pack.costs, name)
    for slot, module in pack.modules.items():
        assert dearer.modules[slot].price == 2.0 * module.price
    for name, work in pack.work.items():
        assert dearer.work[name].parts == 2.0 * work.parts
        assert dearer.work[name].minutes == work.minutes
    for factor in (0.0, -1.0, float("nan")):
        with pytest.raises(MisuseError):
            with_prices(pack, factor)


# Places of readings.


def test_places_are_chances_and_fewer_where_there_is_no_board() -> None:
    each = drawn(Roots(SMALL), Plan(("scanner",), 1), 0)
    placed = placed_readings(each.case, each.device(), np.random.default_rng(0))
    places = [reading.place for reading in placed]
    assert len(places) == 4
    assert all(0.0 <= place <= 1.0 for place in places)
    without = drawn(Roots(BOARDLESS), Plan(("scanner",), 1), 0)
    assert placed_readings(without.case, without.device(), np.random.default_rng(0)) == ()


def test_the_chances_of_all_readings_of_a_point_add_up_to_one() -> None:
    case = SMALL.case("scanner")
    item = case.problem.probing.touches["probe:J1.4"]
    assert case.model.expectations is not None
    meter = case.model.expectations.at(item.point, item.setup).meter
    counts = np.arange(0.0, meter.full_scale, meter.resolution)
    found = [bounds(case, item, float(value)) for value in counts]
    assert found[0][0] == 0.0
    for (_, up_to), (below, _) in pairwise(found):
        assert below == pytest.approx(up_to, abs=1e-9)
    assert all(up_to >= below - 1e-12 for below, up_to in found)
