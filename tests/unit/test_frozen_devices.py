"""Devices of the frozen benchmark: their scores by hand, and that files say what was drawn."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[2] / "benchmarks" / "frozen"))

from frozen_bench.acts import act_data, act_from, acts_offered, move_from, result_data
from frozen_bench.candidates import candidates_data, prior_data, repair_chances, repairs_by_family
from frozen_bench.device_score import CHECKPOINTS, Judged, judged_devices, measures, worst
from frozen_bench.draw_devices import observing_order, worlds_of_a_pack
from frozen_bench.enter import NextprobeBelief
from frozen_bench.entries import devices_by, known_of, observed, prior_only, read_entry, uniform
from frozen_bench.files import DEVICES, PACKS, TRUTH, EntryError, read
from frozen_bench.packs import (
    board_data,
    board_from,
    known_good_data,
    known_good_from,
    pack_data,
    pack_from,
)
from frozen_bench.pairs import differences, say_differences

from nextprobe.board import OVER_RANGE, BenchSetup, MeterMode, Reading
from nextprobe.diagnosis import Check, FaultTables, Fit, Gauge, Look, Move, Probe, Refresh
from nextprobe.job.shelf import shelf_from
from nextprobe.trials.ready import Shelf
from nextprobe.trials.reliability import tally


@pytest.fixture(scope="module")
def shelf() -> Shelf:
    found, _ = shelf_from("courier-handheld", FaultTables())
    return found


def judged(chances: list[float], needed: list[bool]) -> Judged:
    p, y = np.array(chances), np.array(needed)
    names = tuple(f"repair {place}" for place in range(len(p)))
    return Judged("d", "intake", "matched", p, y, names, tally(p, y), tally(p[:1], y[:1]))


def test_a_needed_repair_is_hit_where_it_leads() -> None:
    assert judged([0.5, 0.3, 0.2], [True, False, False]).hit(1) == 1.0
    assert judged([0.5, 0.3, 0.2], [False, False, True]).hit(1) == 0.0
    assert judged([0.5, 0.3, 0.2], [False, False, True]).hit(3) == 1.0


def test_of_equal_chances_one_is_drawn() -> None:
    equal = judged([0.25] * 4, [True, False, False, False])
    assert equal.hit(1) == pytest.approx(0.25)
    assert equal.hit(3) == pytest.approx(0.75)
    several = judged([0.25] * 4, [True, True, False, False])
    assert several.hit(1) == pytest.approx(0.5)
    assert several.hit(2) == pytest.approx(1.0 - 2 / 4 * 1 / 3)
    behind = judged([0.4, 0.2, 0.2, 0.2], [False, True, False, False])
    assert behind.hit(1) == 0.0
    assert behind.hit(2) == pytest.approx(1 / 3)


def test_scores_are_those_of_the_chances_by_hand() -> None:
    found = measures([judged([0.8, 0.1], [True, False])])
    assert found["log_score"] == pytest.approx(-np.log(0.8) - np.log(0.9))
    assert found["brier_skill"] == pytest.approx(0.0)
    assert found["top1"] == 1.0


def test_whoever_knows_the_truth_has_the_best_scores() -> None:
    truth = read(TRUTH)
    entry = {
        name: dict.fromkeys(CHECKPOINTS, dict.fromkeys(known["repairs"], 1.0))
        for name, known in truth.items()
    }
    found = measures(judged_devices(entry))
    assert found["log_score"] == pytest.approx(0.0)
    assert found["brier_skill"] == pytest.approx(1.0)
    assert found["calibration_error"] == pytest.approx(0.0)
    assert found["top1"] == found["top3"] == 1.0


def test_rates_have_no_skill_and_beat_knowing_nothing() -> None:
    rates = measures(judged_devices(devices_by(prior_only)))
    nothing = measures(judged_devices(devices_by(uniform)))
    assert rates["brier_skill"] == pytest.approx(0.0)
    assert nothing["log_score"] > rates["log_score"]
    assert nothing["brier_skill"] < 0.0


def test_two_entries_are_compared_device_by_device() -> None:
    rates = {"devices": devices_by(prior_only)}
    nothing = {"devices": devices_by(uniform)}
    found = differences(rates, nothing)
    assert set(found) == {f"log score, {name}" for name in CHECKPOINTS}
    apart = [measures(judged_devices(each["devices"]))["log_score"] for each in (nothing, rates)]
    assert found["log score, swap"].value == pytest.approx(apart[0] - apart[1])
    assert found["log score, swap"].low > 0.0
    assert say_differences(found).count("\n") == len(CHECKPOINTS) - 1


def test_incomplete_or_impossible_entries_are_refused() -> None:
    entry = devices_by(prior_only)
    first = next(iter(entry))
    for chances, said in (
        ({"shake it": 0.5}, "no candidate"),
        ({"not located": 1.5}, "between 0 and 1"),
        ({"not located": float("nan")}, "between 0 and 1"),
    ):
        spoilt = {**entry, first: {**entry[first], "intake": chances}}
        with pytest.raises(EntryError, match=said):
            judged_devices(spoilt)
    with pytest.raises(EntryError, match="no chances 'swap'"):
        judged_devices({**entry, first: {k: v for k, v in entry[first].items() if k != "swap"}})


def test_the_worst_devices_are_named_with_what_was_believed() -> None:
    found = worst(judged_devices(devices_by(prior_only)), "swap", 2)
    assert len(found) == 2
    assert found[0]["log_score"] >= found[1]["log_score"]
    assert set(found[0]["needed"]) == set(read(TRUTH)[found[0]["device"]]["repairs"])


@pytest.mark.parametrize(
    "move",
    [
        Move(Check("touch"), "fails"),
        Move(Check("touch", 5, confirmed=True), "works"),
        Move(Look("look at J4"), "nothing"),
        Move(Gauge("before key"), "0.0125"),
        Move(Fit("imaging", "donor")),
        Move(Refresh("update"), "finished"),
        Move(Refresh("update"), "failed", code="E-21"),
        Move(Probe("J4.3"), "", Reading("J4.3", 0.532, BenchSetup(MeterMode.DIODE))),
        Move(
            Probe("J4.3", mode=MeterMode.CONTINUITY, clamped="J4.4"),
            "",
            Reading("J4.3", OVER_RANGE, BenchSetup(MeterMode.CONTINUITY, "J4.4")),
        ),
    ],
)
def test_what_was_done_comes_back_from_plain_data(move: Move) -> None:
    written = json.loads(json.dumps([act_data(move.act), result_data(move)]))
    assert move_from(act_from(written[0]), written[1]) == move


def test_pack_and_board_come_back_from_plain_data(shelf: Shelf) -> None:
    assert shelf.board is not None
    board = board_from(json.loads(json.dumps(board_data(shelf.board))))
    pack = pack_from(json.loads(json.dumps(pack_data(shelf.pack))))
    assert board.content == shelf.board.content
    kept = {"provenance": {}, "jobs": {}}
    assert pack == shelf.pack.model_copy(update=kept)
    assert known_good_from(known_good_data(shelf.references)).keys() == shelf.references.keys()


def test_chances_of_repairs_gather_those_of_their_faults(shelf: Shelf) -> None:
    case = shelf.case("touch")
    repairs = repairs_by_family(case)
    chances = repair_chances(case, repairs)
    families = {each.key: each.probability for each in case.suspects()}
    alone = [name for name in chances if list(repairs.values()).count(name) == 1]
    for family, name in repairs.items():
        if name in alone:
            assert chances[name] == pytest.approx(families[family], abs=1e-9)
    assert set(chances) == {each["id"] for each in candidates_data(case)} == set(prior_data(case))
    assert sum(prior_data(case).values()) == pytest.approx(1.0, abs=1e-3)


def test_everything_is_observed_once_in_an_order_by_chance(shelf: Shelf) -> None:
    acts = acts_offered(shelf.case("touch"))
    first, again, other = (observing_order(acts, np.random.default_rng(seed)) for seed in (1, 1, 2))
    assert sorted(first) == list(range(len(acts)))
    assert first == again != other


def test_worlds_are_shared_out() -> None:
    worlds = worlds_of_a_pack(60)
    assert worlds.count("matched") == 34
    assert worlds.count("everything") == 4


def test_a_checkpoint_shows_no_more_than_has_been_seen() -> None:
    packs = read(PACKS)
    device = read(DEVICES)[0]
    pack = packs[device["pack"]]
    stages = dict(observed(pack, device))
    assert [len(stages[name]) for name in CHECKPOINTS] == list(device["checkpoints"].values())
    assert stages["intake"] == []
    assert stages["swap"][: len(stages["after 10"])] == stages["after 10"]
    known = known_of(pack, device)
    assert set(known) == {"id", "pack", "complaint", "history", "known_good"}


def test_nextprobe_believes_of_a_file_what_it_believes_of_a_job() -> None:
    packs, device = read(PACKS), read(DEVICES)[3]
    pack = packs[device["pack"]]
    seen = dict(observed(pack, device))["after 3"]
    believed = NextprobeBelief()(pack, known_of(pack, device), seen)
    found, _ = shelf_from(device["pack"], FaultTables())
    start = replace(
        found, pack=pack_from(pack["pack"]), board=board_from(pack["board"]),
        references=known_good_from(known_of(pack, device)["known_good"]),
    ).case(device["complaint"], tuple(device["history"]))  # fmt: skip
    case = start.after(*(move_from(act_from(act), result) for act, result in seen))
    wanted = repair_chances(case, repairs_by_family(case))
    assert believed == pytest.approx(wanted, rel=1e-4, abs=1e-9)


def test_an_entry_may_be_a_few_lines_of_python(tmp_path: Path) -> None:
    path = tmp_path / "mine.py"
    path.write_text(
        "METHOD = 'mine'\n"
        "def chances(pack, device, seen):\n"
        "    return {'not located': 0.5 if seen else 0.25}\n"
    )
    entry: dict[str, Any] = read_entry(path)
    assert entry["method"] == "mine"
    assert next(iter(entry["devices"].values()))["intake"] == {"not located": 0.25}
    path.write_text("print\n")
    with pytest.raises(EntryError, match="neither"):
        read_entry(path)
    wrong = tmp_path / "old.json"
    wrong.write_text('{"benchmark": "frozen diagnosis benchmark", "version": "v0"}')
    with pytest.raises(EntryError, match="not to"):
        read_entry(wrong)
