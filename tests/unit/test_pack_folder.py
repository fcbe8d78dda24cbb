"""A folder that somebody wrote, with every way in which it can be wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from nextprobe.board import OVER_RANGE, MeterMode
from nextprobe.errors import Finding, MisuseError, Severity
from nextprobe.readers.pack_folder import PackFolder, demo_pack_folder, read_pack_folder
from nextprobe.readers.text_file import MAX_BYTES

DEVICE = """\
device: {name: X}
functions:
  camera: {class: camera, needs: {chips: [U1]}}
modules:
  camera: {connector: J4}
"""
CHAINS = "J4.1 > C1 100n > U1.A1\nJ4.2 > GND\n"


def folder(path: Path, **files: str | bytes) -> Path:
    for name, text in files.items():
        data = text.encode() if isinstance(text, str) else text
        (path / name.replace("__", ".")).write_bytes(data)
    return path


def good(path: Path) -> tuple[PackFolder, tuple[Finding, ...]]:
    contents, findings = read_pack_folder(path)
    assert contents is not None, [str(finding) for finding in findings]
    return contents, findings


def refused(path: Path) -> Finding:
    contents, findings = read_pack_folder(path)
    assert contents is None
    assert findings[0].severity is Severity.ERROR
    assert findings[0].remedy
    return findings[0]


def test_less_files_are_less_knowledge_and_no_mistake(tmp_path: Path) -> None:
    contents, findings = good(folder(tmp_path, device__yaml=DEVICE))
    assert findings == ()
    assert contents.board is None
    assert contents.known_good == ()


def test_pins_alone_make_a_sketch_with_their_readings(tmp_path: Path) -> None:
    path = folder(
        tmp_path,
        device__yaml=DEVICE.replace("chips: [U1]", "chips: []"),
        pins__csv="pin;connector;name;reading\n1;J4;CAM_SDA;452\n2;J4;GND;gnd\n3;J4;CAM_L0P;OL\n",
    )
    contents, findings = good(path)
    assert findings == ()
    assert contents.board is not None
    assert contents.board.net_of("J4.1") == "CAM_SDA"
    assert {row.point: row.value for row in contents.known_good} == {
        "J4.1": 0.452,
        "J4.3": OVER_RANGE,
    }


def test_chains_and_known_good_readings(tmp_path: Path) -> None:
    table = "point,mode,reading,boards,source\nJ4.1,diode,OL,2,bench\nU1.A1,low ohms,4k7,1,\n"
    contents, findings = good(
        folder(tmp_path, device__yaml=DEVICE, chains__txt=CHAINS, known_good__csv=table)
    )
    assert findings == ()
    first, second = contents.known_good
    assert (first.point, first.value, first.boards, first.line) == ("J4.1", OVER_RANGE, 2, 2)
    assert first.source == "bench"
    assert (second.mode, second.value) == (MeterMode.LOW_OHMS, 4700.0)


def test_no_folder_an_empty_one_and_a_file_in_its_place(tmp_path: Path) -> None:
    assert "no such folder" in refused(tmp_path / "nowhere").what
    assert "no device.yaml" in refused(tmp_path).what
    (tmp_path / "file").write_text("x")
    assert refused(tmp_path / "file").what
    (tmp_path / "device.yaml").mkdir()
    assert "not a file" in refused(tmp_path).what


def test_a_file_that_is_not_utf_8(tmp_path: Path) -> None:
    finding = refused(folder(tmp_path, device__yaml=b"device:\n  name: Ger\xe4t\n"))
    assert "UTF-8" in finding.what
    assert finding.where.line == 2


@pytest.mark.parametrize("name", ["chains.txt", "pins.csv", "known_good.csv"])
def test_another_file_that_is_not_utf_8_leaves_the_pack(tmp_path: Path, name: str) -> None:
    folder(tmp_path, device__yaml=DEVICE)
    (tmp_path / name).write_bytes(b"\xff\xfe\x00")
    _, findings = good(tmp_path)
    assert [finding.where.source for finding in findings] == [name]


def test_a_byte_order_mark_is_no_mistake(tmp_path: Path) -> None:
    _, findings = good(folder(tmp_path, device__yaml=b"\xef\xbb\xbf" + DEVICE.encode()))
    assert findings == ()


def test_a_huge_file(tmp_path: Path) -> None:
    assert "more than" in refused(folder(tmp_path, device__yaml=b"#" * (MAX_BYTES + 1))).what
    assert "characters" in refused(folder(tmp_path, device__yaml=b"#" * (MAX_BYTES - 1))).what


def test_a_duplicate_key(tmp_path: Path) -> None:
    finding = refused(folder(tmp_path, device__yaml=DEVICE + "device: {name: Y}\n"))
    assert "given twice" in finding.what
    assert finding.where.line == 6


def test_a_broken_chain_leaves_the_others(tmp_path: Path) -> None:
    text = CHAINS + "J4.3 > > U1.A2\n"
    contents, findings = good(folder(tmp_path, device__yaml=DEVICE, chains__txt=text))
    assert contents.board is not None
    assert "U1" in contents.board.by_reference
    assert [(f.where.source, f.where.line) for f in findings] == [("chains.txt", 3)]


def test_a_board_in_another_format_is_said(tmp_path: Path) -> None:
    _, findings = good(folder(tmp_path, device__yaml=DEVICE, board__xyz="?"))
    assert [finding.severity for finding in findings] == [Severity.WARNING]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("J9.1,diode,0.4,1,", "no pin or net J9.1"),
        ("J4.1,dioed,0.4,1,", "'dioed' is not a meter mode"),
        ("J4.1,diode,0.4,0,", "not a number of boards"),
        ("J4.1,diode,0.4,many,", "not a number of boards"),
        ("J4.1,diode,4k7,1,", ""),
        ("J4.1,diode,99,1,\nJ4.1,diode,98,1,", "given twice"),
        ("J4.1,diode,nc,1,", "is no reading"),
    ],
)
def test_a_wrong_known_good_line(tmp_path: Path, line: str, says: str) -> None:
    table = f"point,mode,reading,boards,source\nU1.A1,diode,0.5,1,\n{line}\n"
    path = folder(tmp_path, device__yaml=DEVICE, chains__txt=CHAINS, known_good__csv=table)
    contents, findings = good(path)
    assert contents.known_good[0].point == "U1.A1"
    assert len(findings) == 1
    assert says in findings[0].what
    assert findings[0].where.line == 2 + line.count("J")
    assert findings[0].remedy


@pytest.mark.parametrize(
    ("heading", "says"),
    [
        ("J4.1,0.5", "no column 'point'"),
        ("point,boards", "no column 'reading'"),
        ("point,reading,bords", "'bords' is not a column"),
    ],
)
def test_a_wrong_known_good_heading(tmp_path: Path, heading: str, says: str) -> None:
    path = folder(tmp_path, device__yaml=DEVICE, known_good__csv=f"{heading}\nJ4.1,0.5,1\n")
    contents, findings = good(path)
    assert contents.known_good == ()
    assert any(says in finding.what for finding in findings)


@pytest.mark.parametrize(
    ("old", "new", "says", "remedy"),
    [
        ("connector: J4", "connector: J44", "no connector J44", "J4"),
        ("[U1]", "[U2]", "no chip U2", "U1"),
        ("chips: [U1]", "nets: [N1]", "no net N1", ""),
        ("chips: [U1]", "connectors: [J5]", "no connector J5", "J4"),
        ("modules:", "nearby: {drop: [C7]}\nmodules:", "no part or net C7", "C1"),
        ("modules:", "rates: {weak_spots: {C7: 2}}\nmodules:", "no part or net C7", "C1"),
        ("modules:", "rates: {weak_spots: {'leaky:C7': 2}}\nmodules:", "no part or net C7", "C1"),
    ],
)
def test_names_that_the_board_lacks(
    tmp_path: Path, old: str, new: str, says: str, remedy: str
) -> None:
    device = DEVICE.replace(old, new)
    assert device != DEVICE
    _, findings = good(folder(tmp_path, device__yaml=device, chains__txt=CHAINS))
    assert any(says in f.what and remedy in f.remedy for f in findings), [str(f) for f in findings]
    assert all(finding.where.line for finding in findings)


@pytest.mark.parametrize(
    ("fault", "fits"),
    [
        ("leaky:C1@330", True),
        ("leaky:C2@330", False),
        ("joint-open:U1.A1", True),
        ("joint-open:U1.A9", False),
        ("bridge:J4.1~J4.2", True),
        ("bridge:J4.1~J4.9", False),
        ("no-output:U1", True),
        ("no-output:U9", False),
        ("broken-net:N_J4_1/J4.1", True),
        ("broken-net:N_J4_1/J4.9", False),
        ("dirt:J4", True),
    ],
)
def test_places_of_faults_are_on_the_board(tmp_path: Path, fault: str, fits: bool) -> None:
    jobs = f"jobs: {{a: {{title: t, says: s, complaint: camera, faults: ['{fault}']}}}}\n"
    _, findings = good(folder(tmp_path, device__yaml=DEVICE + jobs, chains__txt=CHAINS))
    assert (not findings) is fits, [str(finding) for finding in findings]


def test_the_hash_covers_every_file(tmp_path: Path) -> None:
    hashes = [good(folder(tmp_path, device__yaml=DEVICE))[0].hash]
    hashes.append(good(folder(tmp_path, chains__txt=CHAINS))[0].hash)
    hashes.append(good(folder(tmp_path, known_good__csv="point,reading\nJ4.1,OL\n"))[0].hash)
    hashes.append(good(folder(tmp_path, device__yaml=DEVICE.replace("X", "Y")))[0].hash)
    assert len(set(hashes)) == 4
    assert good(tmp_path)[0].hash == hashes[-1]


def test_an_unknown_demo_pack() -> None:
    with pytest.raises(MisuseError, match="courier-handheld"):
        demo_pack_folder("nothing")
