"""A pack that names a clamp file for a chip."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from circuit_small import BOARD
from ibis_files import bridge_file

from nextprobe.board import OVER_RANGE, BenchSetup, Board, Clamp, Meter, MeterMode, PinClamps
from nextprobe.circuit import fault_table, predict
from nextprobe.errors import Finding, MisuseError
from nextprobe.readers.chains import read_chains
from nextprobe.readers.pack_folder import PackFolder, read_pack_folder
from nextprobe.reference.published import published_spread
from nextprobe.workbench.board_json import board_digest, board_from_json, board_to_json

SETUP, RANGE = BenchSetup(), Meter().range_for(MeterMode.DIODE)
FROM_RAIL = BenchSetup(clamped="V18", clamped_is_positive=False)
DEVICE = """
device: {name: X}
functions: {camera: {class: camera, needs: {chips: [U1]}}}
modules: {camera: {connector: J4}}
"""
NAMED = DEVICE + "chips: {U1: {clamps: hollin.ibs}}\n"
CHAINS = """
board X main board
J4.1 > V18 > U1.1
J4.2 > GND > U1.2
J4.3 > DATA0 > U1.3
J4.4 > DATA1 > U1.4
J4.5 > RESET_N > U1.5
part U1 chip
role V18 rail
role DATA0 lane
role DATA1 lane
role RESET_N logic
"""


def read(
    folder: Path, device: str = NAMED, clamps: str | None = None, name: str = "hollin.ibs"
) -> tuple[PackFolder | None, tuple[Finding, ...]]:
    (folder / "device.yaml").write_text(device)
    (folder / "chains.txt").write_text(CHAINS)
    if clamps != "":
        (folder / name).write_text(clamps or bridge_file())
    return read_pack_folder(folder)


def board_of(folder: Path, device: str = NAMED, clamps: str | None = None) -> Board:
    found, findings = read(folder, device, clamps)
    assert found is not None
    assert findings == (), [str(item) for item in findings]
    assert found.board is not None
    return found.board


def test_readings_are_those_of_the_tables(tmp_path: Path) -> None:
    board = board_of(tmp_path)
    # The curves drop 0.463 and 0.660 V; the rest of the board draws next to nothing.
    for point, drop in (("DATA0", 0.463), ("DATA1", 0.463), ("RESET_N", 0.660)):
        assert predict(board, SETUP, RANGE, point) == pytest.approx(drop, abs=6e-3)
    # From a pin to its rail there is a clamp at the data pins, and none at the input.
    assert predict(board, FROM_RAIL, RANGE, "DATA0") == pytest.approx(0.730, abs=6e-3)
    other_way = predict(board, FROM_RAIL, RANGE, "RESET_N")
    assert other_way == OVER_RANGE or other_way > 1.0


def test_without_a_file_nothing_changes(tmp_path: Path) -> None:
    plain = board_of(tmp_path, DEVICE)
    assert all(pin.clamps is None for part in plain.parts for pin in part.pins)
    known = board_of(tmp_path)
    bare = replace(
        known,
        parts=tuple(
            replace(part, pins=tuple(replace(pin, clamps=None) for pin in part.pins))
            for part in known.parts
        ),
    )
    assert bare == plain
    assert bare.content == plain.content != known.content
    both = [fault_table(each, SETUP, RANGE)[0] for each in (bare, plain)]
    assert both[0].healthy_values.tobytes() == both[1].healthy_values.tobytes()
    assert both[0].shifts.data.tobytes() == both[1].shifts.data.tobytes()
    assert both[0].key == both[1].key


def test_hashes_of_boards_without_published_clamps_stay() -> None:
    """Recorded before pins could have any: kept tables and old jobs go by them."""
    assert BOARD.content == "f0cfe2db169134dd394abf109fce970d718d01f2cc167f48736c0f277769e00b"
    assert board_digest(BOARD) == "21973bdc4ac82140b64a7e571186593b2d102ffa92aad0b4646a94aeffe4235e"


def test_the_table_is_solved_for_the_same_network(tmp_path: Path) -> None:
    plain, known = board_of(tmp_path, DEVICE), board_of(tmp_path)
    before, after = (fault_table(each, SETUP, RANGE)[0] for each in (plain, known))
    assert before.faults == after.faults
    # The input has no clamp to the rail, and that is all that has gone from the network.
    assert set(before.parameters) - set(after.parameters) == {"Is:U1:logic:upper"}
    assert set(after.parameters) <= set(before.parameters)
    assert before.key != after.key


def test_a_board_with_clamps_is_written_and_read_back(tmp_path: Path) -> None:
    board = board_of(tmp_path)
    again = board_from_json(board_to_json(board))  # type: ignore[arg-type]
    assert again == board
    assert again.content == board.content


def test_chains_that_are_added_later_keep_the_clamps(tmp_path: Path) -> None:
    board = board_of(tmp_path)
    grown, findings = read_chains("J4.9 > C9 100n > U1.9\n", onto=board)
    assert not findings
    assert grown.part("U1").pin("3").clamps == board.part("U1").pin("3").clamps is not None


def test_the_spread_is_that_of_the_corners(tmp_path: Path) -> None:
    board = board_of(tmp_path)
    data, reset = published_spread(board, "DATA0"), published_spread(board, "J4.5")
    assert data is not None
    assert reset is not None
    assert 0.030 < data < reset < 0.080
    assert published_spread(board_of(tmp_path, DEVICE), "DATA0") is None
    assert published_spread(board, "V18") is None
    with pytest.raises(MisuseError):
        published_spread(board, "U9.1")


def test_the_hash_of_the_pack_covers_the_file(tmp_path: Path) -> None:
    first, _ = read(tmp_path)
    second, _ = read(tmp_path, clamps=bridge_file().replace("Hollin", "Holly"))
    assert first is not None
    assert second is not None
    assert first.hash != second.hash


TWO = bridge_file().replace(
    "[Model Selector]", "[Component] HLN-2\n[Pin]\n1 X NC\n[Model Selector]"
)
SAID = [
    (NAMED, "", "there is no such file", None),
    (NAMED, "nothing", "there is no [Component]", 1),
    (NAMED.replace("U1: {c", "U7: {c"), None, "X main board has no chip U7", 5),
    (NAMED, TWO, "hollin.ibs describes 2 components", 5),
    (NAMED.replace("ibs}", "ibs, component: HLN-3}"), TWO, "no component 'HLN-3'", 5),
    (NAMED, bridge_file().replace("\n4  DATA1", "\nA4 DATA1"), "has no pin 4", 5),
    (NAMED, bridge_file().replace("\n-0.5 ", "\n-1.5 ", 1), "the voltages turn back here", None),
]


@pytest.mark.parametrize(("device", "clamps", "what", "line"), SAID)
def test_what_is_wrong_is_said(
    tmp_path: Path, device: str, clamps: str | None, what: str, line: int | None
) -> None:
    found, findings = read(tmp_path, device, clamps)
    assert found is not None, "mistakes in other files leave the pack usable"
    [finding] = [item for item in findings if what in item.what]
    assert finding.remedy
    assert line is None or finding.where.line == line


def test_the_component_is_found_in_any_case(tmp_path: Path) -> None:
    device = NAMED.replace("ibs}", "ibs, component: hln-4410}")
    board = board_of(tmp_path, device, TWO)
    assert board.part("U1").pin("3").clamps is not None


def test_pins_may_go_by_their_signal(tmp_path: Path) -> None:
    numbered = board_of(tmp_path)
    (tmp_path / "chains.txt").write_text(CHAINS.replace("U1.3", "U1.data0"))
    found, findings = read_pack_folder(tmp_path)
    assert findings == ()
    assert found is not None
    assert found.board is not None
    assert found.board.part("U1").pin("data0").clamps == numbered.part("U1").pin("3").clamps


@pytest.mark.parametrize(
    "name", ["../x.ibs", "a/../../x.ibs", "/etc/x.ibs", "..", "C:x.ibs", "a\\\\x.ibs", "a\\0.ibs"]
)
def test_files_are_those_of_the_folder(tmp_path: Path, name: str) -> None:
    device = DEVICE + f'chips: {{U1: {{clamps: "{name}"}}}}\n'
    found, findings = read(tmp_path, device)
    assert found is None
    [finding] = findings
    assert finding.where.name == "chips.U1.clamps"
    assert finding.remedy == "name a file in the pack's own folder, as in bridge.ibs"


def test_a_component_without_a_file_is_a_mistake(tmp_path: Path) -> None:
    found, [finding] = read(tmp_path, DEVICE + "chips: {U1: {component: HLN-4410}}\n")
    assert found is None
    assert finding.what == "'clamps' is missing"


def test_a_file_in_a_folder_of_the_pack(tmp_path: Path) -> None:
    (tmp_path / "clamps").mkdir()
    device = DEVICE + "chips: {U1: {clamps: clamps/hollin..ibs}}\n"
    found, findings = read(tmp_path, device, name="clamps/hollin..ibs")
    assert findings == ()
    assert found is not None


def test_files_without_a_board_are_of_no_use(tmp_path: Path) -> None:
    (tmp_path / "device.yaml").write_text(NAMED)
    found, [finding] = read_pack_folder(tmp_path)
    assert found is not None
    assert "of no use without a board" in finding.what
    assert finding.where.line == 5


def test_clamps_are_checked() -> None:
    good = Clamp(1e-9, 1.6, 25.0, 0.03)
    with pytest.raises(MisuseError):
        replace(good, saturation=0.0)
    with pytest.raises(MisuseError):
        replace(good, spread=float("inf"))
    with pytest.raises(MisuseError):
        PinClamps(upper=good, no_upper=True)
