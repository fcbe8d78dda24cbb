"""Which faults can explain a complaint, and which part of it each belongs to."""

from __future__ import annotations

import pytest
from diagnosis_cases import LATE, PROMPT, candidate_of, pannier, small_board, small_case

from nextprobe.board import Fault, FaultKind, Part, PartKind
from nextprobe.diagnosis.candidates import candidates, cause_of, chip_cause, seats
from nextprobe.diagnosis.effects import site_of
from nextprobe.packs.causes import Cause


def keys(complaint: str = "scanner", board: bool = False) -> set[str]:
    listed = candidates(pannier(), small_board() if board else None, complaint)
    return {item.fault.key for item in listed}


def test_every_candidate_is_listed_once() -> None:
    listed = candidates(pannier(), small_board(), "scanner")
    assert len({item.fault for item in listed}) == len(listed)


def test_without_a_board_the_parts_of_it_are_there_but_not_located() -> None:
    assert keys() == {
        "external:scanner",
        f"module-bad:{LATE}",
        f"recognition-stale:{LATE}",
        "poor-seating:J1",
        "dirt:J1",
        *(f"liquid-residue:J1@{size}" for size in ("0.03", "0.15", "0.5")),
        "firmware-corrupt:firmware",
        "settings:scanner",
        *(f"short:?passive short/scanner@{size}" for size in ("0.02", "0.1")),
        *(f"open:?passive open/scanner@{size}" for size in ("0.02", "0.1")),
        "chip-dead:?controller/scanner",
        "chip-dead:?power chip/scanner",
        "chip-dead:?processor/scanner",
        *(f"unlisted:scanner@{size}" for size in ("0", "0.1", "0.5")),
    }


def test_the_sizes_of_a_fault_without_a_circuit_model_are_one_suspect_to_people() -> None:
    model = small_case(board=True).model
    families = [item.fault.family for item in model.listed]
    assert families.count("unlisted:scanner") == families.count("liquid-residue:J1") == 3
    prior = {
        family: sum(model.prior[row] for row, name in enumerate(families) if name == family)
        for family in ("unlisted:scanner", "liquid-residue:J1")
    }
    assert prior["unlisted:scanner"] == pytest.approx(model.pack.unlisted)
    keys = [suspect.key for suspect in small_case(board=True).suspects()]
    assert keys.count("unlisted:scanner") == keys.count("liquid-residue:J1") == 1


def test_with_a_board_its_parts_are_added_to_what_is_not_located() -> None:
    found = keys(board=True)
    assert keys() <= found
    assert {"short:C4", "leaky:D1@330", "open:C3", "no-output:U2", "chip-dead:U1"} <= found


def test_parts_of_another_function_are_no_candidates() -> None:
    found = keys(board=True)
    assert not any(key.partition(":")[2].startswith(("J2", "J3", "R2", "FB3")) for key in found)


def test_of_a_chip_that_is_not_needed_a_short_of_the_shared_rail_counts_and_an_open_does_not() -> (
    None
):
    found = keys(board=True)
    assert {"short:U3.2", "leaky:U3.2@33"} <= found
    assert "joint-open:U3.2" not in found
    assert "joint-open:U2.1" in found


def test_what_both_functions_hang_on_is_a_candidate_for_both() -> None:
    for complaint in ("scanner", "viewfinder"):
        assert "short:C5" in keys(complaint, board=True)


def test_only_a_module_that_is_recognised_late_can_be_stale() -> None:
    assert f"recognition-stale:{PROMPT}" not in keys("viewfinder")


def test_a_function_without_firmware_or_outside_has_no_such_faults() -> None:
    needs = {"modules": ["speaker"], "firmware": False, "external": False}
    pack = pannier(functions={"sound": {"needs": needs}})
    kinds = {item.fault.kind for item in candidates(pack, None, "sound")}
    outside = {FaultKind.EXTERNAL, FaultKind.FIRMWARE_CORRUPT, FaultKind.SETTINGS}
    assert not kinds & outside


def test_a_module_without_a_connector_is_its_own_place_to_plug_in() -> None:
    pack = pannier(modules={"speaker": {"connector": None}})
    assert seats(pack, pack.functions["sound"]) == ("speaker",)
    assert "poor-seating:speaker" in {i.fault.key for i in candidates(pack, None, "sound")}


def test_a_bad_module_stops_only_what_needs_it() -> None:
    stops = candidate_of(small_case(), f"module-bad:{LATE}").stops
    assert stops == {"scanner": 1.0, "viewfinder": 0.0, "sound": 0.0}


def test_a_short_of_a_shared_rail_stops_both_of_an_own_rail_one() -> None:
    case = small_case(board=True)
    shared = candidate_of(case, "short:C5").stops
    own = candidate_of(case, "short:C4").stops
    assert shared["scanner"] == shared["viewfinder"] > 0.9
    assert own["scanner"] > 0.9
    assert own["viewfinder"] == 0.0


@pytest.mark.parametrize(
    ("fault", "cause"),
    [
        (Fault(FaultKind.SHORT, "C4"), Cause.PASSIVE_SHORT),
        (Fault(FaultKind.LEAKY, "D1", 330.0), Cause.PASSIVE_SHORT),
        (Fault(FaultKind.OPEN, "FB1"), Cause.PASSIVE_OPEN),
        (Fault(FaultKind.HIGH_RESISTANCE, "FB1", 5.0), Cause.PASSIVE_OPEN),
        (Fault(FaultKind.JOINT_OPEN, "J1.1"), Cause.SEATING),
        (Fault(FaultKind.BRIDGE, "J1.1~J1.2"), Cause.SEATING),
        (Fault(FaultKind.BRIDGE, "U2.1~U2.2"), Cause.CONTROLLER),
        (Fault(FaultKind.JOINT_OPEN, "U1.A1"), Cause.PROCESSOR),
        (Fault(FaultKind.BROKEN_NET, "SC_SDA/J1.4"), Cause.PROCESSOR),
    ],
)
def test_each_fault_belongs_to_one_part_of_the_complaints(fault: Fault, cause: Cause) -> None:
    board = small_board()
    assert cause_of(board, fault, site_of(board, fault).part) is cause


@pytest.mark.parametrize(
    ("note", "cause"),
    [
        ("processor", Cause.PROCESSOR),
        ("main power chip", Cause.POWER_CHIP),
        ("touch supply regulator", Cause.CONTROLLER),
        ("", Cause.CONTROLLER),
    ],
)
def test_chips_are_told_apart_by_their_notes(note: str, cause: Cause) -> None:
    assert chip_cause(Part("U9", PartKind.CHIP, (), note=note)) is cause


def test_a_regulator_fails_by_giving_nothing_and_other_chips_are_dead() -> None:
    found = keys(board=True)
    assert "no-output:U2" in found
    assert "chip-dead:U2" not in found
    assert "chip-dead:U1" in found


def test_a_place_with_a_question_mark_is_not_located() -> None:
    case = small_case(board=True)
    assert not candidate_of(case, "open:?passive open/scanner@0.1").located
    assert candidate_of(case, "open:FB1").located
