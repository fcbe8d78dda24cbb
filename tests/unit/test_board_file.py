"""A board from a file: what is in it decides, then its name."""

from __future__ import annotations

from pathlib import Path

import pytest

from nextprobe.board import Role
from nextprobe.errors import Severity
from nextprobe.readers import read_board_file
from nextprobe.readers.pack_folder import read_pack_folder

KICAD = """(kicad_pcb (version 20241229) (net 1 "/GND") (net 2 "VDD_CAM")
  (footprint "C_0402" (layer "F.Cu") (at 1 2)
    (property "Reference" "C1") (property "Value" "100n")
    (pad "1" smd rect (at 0 0) (size 1 1) (layers "F.Cu") (net 2 "VDD_CAM"))
    (pad "2" smd rect (at 1 0) (size 1 1) (layers "F.Cu") (net 1 "/GND")))
  (footprint "Conn_01x02" (layer "F.Cu") (at 3 4)
    (property "Reference" "J4") (property "Value" "")
    (pad "1" smd rect (at 0 0) (size 1 1) (layers "F.Cu") (net 2 "VDD_CAM"))
    (pad "2" smd rect (at 1 0) (size 1 1) (layers "F.Cu") (net 1 "/GND"))))
"""


def write(folder: Path, name: str, text: str | bytes) -> Path:
    file = folder / name
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return file


@pytest.mark.parametrize("name", ["toy.kicad_pcb", "toy.txt", "toy.net", "toy"])
def test_the_beginning_tells_a_kicad_board(tmp_path: Path, name: str) -> None:
    board, findings = read_board_file(write(tmp_path, name, "\ufeff" + KICAD))
    assert board is not None and not findings
    assert sorted(board.by_reference) == ["C1", "J4"] and board.part("C1").value == 1e-7


def test_chains_and_pinouts(tmp_path: Path) -> None:
    board, _ = read_board_file(write(tmp_path, "toy.txt", "J4.12 > C87 100n > U3.AB4\n"))
    assert board is not None and board.name == "toy"
    board, _ = read_board_file(write(tmp_path, "pins.csv", "12 CAM_SDA .452\n"))
    assert board is not None and board.net_of("J1.12") == "CAM_SDA"


def test_letters_that_are_not_utf_8_are_read_with_a_warning(tmp_path: Path) -> None:
    text = KICAD.encode().replace(b"100n", b"100n \xb1 5%")
    board, findings = read_board_file(write(tmp_path, "toy.kicad_pcb", text))
    assert board is not None and board.part("C1").value == 1e-7
    assert findings[0].severity is Severity.WARNING and findings[0].where.line == 3


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("toy.xyz", b"hello"),
        ("toy.kicad_pcb", b"\0\1\2"),
        ("toy.kicad_pcb", b"hello"),
        ("toy.txt", b""),
        ("toy.csv", b"\xff\xfe"),
    ],
)
def test_what_gives_no_board_gives_findings(tmp_path: Path, name: str, data: bytes) -> None:
    board, findings = read_board_file(write(tmp_path, name, data))
    assert board is None
    assert all(finding.remedy for finding in findings) and (findings or not data)


def test_a_missing_file_and_a_folder_are_findings(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.kicad_pcb", tmp_path / "none.txt"):
        board, findings = read_board_file(path)
        assert board is None and findings


def test_a_pack_takes_a_board_and_what_was_typed(tmp_path: Path) -> None:
    write(tmp_path, "device.yaml", "device: {name: Toy}\nfunctions: {camera: {class: camera}}\n")
    write(tmp_path, "board.kicad_pcb", KICAD)
    write(tmp_path, "pins.csv", "J4.1 VDD_CAM .4\nJ4.3 CAM_SDA .5\n")
    write(tmp_path, "chains.txt", "J4.3 > R1 4k7 > VDD_CAM\n")
    write(tmp_path, "board.net", "(export)")
    contents, findings = read_pack_folder(tmp_path)
    assert contents is not None and contents.board is not None
    board = contents.board
    assert board.name == "Toy" and board.net_of("C1.2") == "GND"
    assert board.role("VDD_CAM") is Role.RAIL
    assert board.net_of("J4.3") == "CAM_SDA" and "R1" in board.by_reference
    assert board.part("J4").pin("1").position == pytest.approx((0.003, 0.004))
    assert {row.point for row in contents.known_good} == {"J4.1", "J4.3"}
    assert any("instead of this" in finding.what for finding in findings)


def test_the_board_file_counts_for_the_hash_of_a_pack(tmp_path: Path) -> None:
    write(tmp_path, "device.yaml", "device: {name: Toy}\nfunctions: {camera: {class: camera}}\n")
    before, _ = read_pack_folder(tmp_path)
    write(tmp_path, "board.kicad_pcb", KICAD)
    after, _ = read_pack_folder(tmp_path)
    assert before is not None and after is not None and before.hash != after.hash
