"""Which work cures which fault."""

from __future__ import annotations

import pytest
from diagnosis_cases import LATE, pannier, small_board, small_case

from nextprobe.board import fault_from_key
from nextprobe.diagnosis.repairs import cures_of, refresh_cures, repairs, work_id


def cures(key: str, *, board: bool = True) -> dict[str, float]:
    drawn = small_board() if board else None
    found = cures_of(pannier(), drawn, fault_from_key(key))
    return {work_id(work, place): chance for work, place, chance in found}


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("poor-seating:J1", {"work:reseat:J1", "work:clean:J1", "work:connector-replace:J1"}),
        ("dirt:J1", {"work:clean:J1", "work:ultrasonic:J1"}),
        ("liquid-residue:J1", {"work:ultrasonic:J1"}),
        ("settings:scanner", {"work:restart:scanner"}),
        ("external:scanner", {"work:try-external:scanner"}),
        ("short:C4", {"work:small-passive:C4", "work:capacitor-remove:C4"}),
        ("open:R1", {"work:small-passive:R1"}),
        ("leaky:D1@330", {"work:protection-replace:D1", "work:protection-remove:D1"}),
        ("joint-open:J1.1", {"work:connector-resolder:J1", "work:connector-replace:J1"}),
        ("bridge:J1.1~J1.2", {"work:connector-resolder:J1", "work:connector-replace:J1"}),
        ("broken-net:SC_SDA/J1.4", {"work:jumper:SC_SDA/J1.4"}),
        ("no-output:U2", {"work:controller:U2"}),
        ("chip-dead:U1", {"work:large-chip:U1"}),
        ("clamp-short:U1.A1", {"work:large-chip:U1"}),
        ("bridge:U2.1~U2.2", {"work:controller:U2"}),
        (f"module-bad:{LATE}", set()),
        (f"recognition-stale:{LATE}", set()),
        ("firmware-corrupt:firmware", set()),
        ("chip-dead:?controller/scanner", set()),
        ("unlisted:scanner", set()),
    ],
)
def test_the_work_for_each_fault(key: str, expected: set[str]) -> None:
    assert set(cures(key)) == expected


def test_chances_are_those_of_the_pack() -> None:
    work = pannier().work
    assert cures("short:C4") == {
        "work:small-passive:C4": work["small passive"].success,
        "work:capacitor-remove:C4": work["capacitor remove"].success,
    }
    assert cures("chip-dead:U1") == {"work:large-chip:U1": work["large chip"].success}


def test_without_a_board_nothing_on_it_is_worked_at() -> None:
    assert cures("short:C4", board=False) == {}
    assert set(cures("dirt:J1", board=False)) == {"work:clean:J1", "work:ultrasonic:J1"}


def test_one_piece_of_work_cures_every_fault_of_its_part() -> None:
    case = small_case(board=True)
    whole = case.model.work_by_id["work:small-passive:C4"]
    kinds = {case.model.listed[index].fault.family for index, _ in whole.cures}
    assert kinds == {"short:C4", "open:C4", "leaky:C4"}


def test_work_is_listed_once_with_stable_names() -> None:
    listed = small_case(board=True).model.listed
    found = repairs(pannier(), small_board(), listed)
    names = [item.id for item in found]
    assert len(set(names)) == len(names)
    assert not any(" " in name for name in names)
    assert all(0.0 < chance <= 1.0 for item in found for _, chance in item.cures)


def test_stand_ins_are_not_worked_at() -> None:
    board = small_board()
    whole = board.part("C4")
    stand_in = whole.__class__(**{**whole.__dict__, "implied": True})
    found = cures_of(pannier(), board.with_parts([stand_in]), fault_from_key("short:C4"))
    assert list(found) == []


def test_an_update_cures_recognition_and_a_restore_the_settings_too() -> None:
    model = small_case().model
    kinds = [item.fault.kind.value for item in model.listed]
    update = dict(zip(kinds, refresh_cures(model.pack, model.listed, "update"), strict=True))
    restore = dict(zip(kinds, refresh_cures(model.pack, model.listed, "restore"), strict=True))
    data = model.pack.refreshes
    assert update["recognition stale"] == data["update"].cures_recognition
    assert update["firmware corrupt"] == data["update"].cures_corruption
    assert update["settings"] == 0.0
    assert restore["settings"] > 0.9
    for chances in (update, restore):
        assert chances["module bad"] == chances["dirt"] == chances["open"] == 0.0
