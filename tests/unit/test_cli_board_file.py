"""The board command and pack new: what they say, write and refuse."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest
from command_line import DONE, FOUND, MISUSED, Run, runner

from nextprobe.job.start import named_folder

BOARD = """(kicad_pcb (version 20221018) (generator pcbnew)
  (net 0 "") (net 1 "VSS") (net 2 "VDD_CAM") (net 3 "CAM_SDA") (net 4 "CAM_D0_P")
  (net 5 "CAM_D0_N") (net 6 "Q[1]")
  (gr_line (start 0 0) (end 30 0) (layer "Edge.Cuts"))
  (gr_line (start 30 0) (end 30 20) (layer "Edge.Cuts"))
  (gr_line (start 30 20) (end 0 20) (layer "Edge.Cuts"))
  (gr_line (start 0 20) (end 0 0) (layer "Edge.Cuts"))
  (footprint "Own:Plug_5" (layer "F.Cu") (at 6 10)
    (fp_text reference "J4" (at 0 0) (layer "F.SilkS"))
    (fp_text value "camera" (at 0 0) (layer "F.Fab"))
    (pad "1" smd rect (at 0 -4) (size 1 1) (layers "F.Cu") (net 1 "VSS"))
    (pad "2" smd rect (at 0 -2) (size 1 1) (layers "F.Cu") (net 2 "VDD_CAM"))
    (pad "3" smd rect (at 0 0) (size 1 1) (layers "F.Cu") (net 3 "CAM_SDA"))
    (pad "4" smd rect (at 0 2) (size 1 1) (layers "F.Cu") (net 4 "CAM_D0_P"))
    (pad "5" smd rect (at 0 4) (size 1 1) (layers "F.Cu") (net 5 "CAM_D0_N")))
  (footprint "Own:Chip_6" (layer "F.Cu") (at 20 10)
    (fp_text reference "U3" (at 0 0) (layer "F.SilkS"))
    (fp_text value "bridge" (at 0 0) (layer "F.Fab"))
    (pad "1" smd rect (at -2 -2) (size 1 1) (layers "F.Cu") (net 1 "VSS"))
    (pad "2" smd rect (at -2 0) (size 1 1) (layers "F.Cu") (net 6 "Q[1]"))
    (pad "3" smd rect (at -2 2) (size 1 1) (layers "F.Cu") (net 3 "CAM_SDA"))
    (pad "4" smd rect (at 2 2) (size 1 1) (layers "F.Cu") (net 4 "CAM_D0_P"))
    (pad "5" smd rect (at 2 0) (size 1 1) (layers "F.Cu") (net 5 "CAM_D0_N"))
    (pad "6" smd rect (at 2 -2) (size 1 1) (layers "F.Cu") (net 2 "VDD_CAM")))
  (footprint "Own:C_0402" (layer "B.Cu") (at 12 5)
    (fp_text reference "C1" (at 0 0) (layer "B.SilkS"))
    (fp_text value "about a lot" (at 0 0) (layer "B.Fab"))
    (pad "1" smd rect (at -0.5 0) (size 0.6 0.6) (layers "B.Cu") (net 2 "VDD_CAM"))
    (pad "2" smd rect (at 0.5 0) (size 0.6 0.6) (layers "B.Cu") (net 1 "VSS")))
)
"""


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    monkeypatch.setenv("NEXTPROBE_HOME", str(tmp_path / "jobs"))
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.chdir(tmp_path)

    return runner(capsys)


@pytest.fixture
def file(tmp_path: Path) -> str:
    place = tmp_path / "invented.kicad_pcb"
    place.write_text(BOARD)
    return str(place)


def test_it_says_what_was_understood_and_what_was_not(run: Run, file: str) -> None:
    found = run("board", file, "--json").data["board"]
    assert (found["parts"], found["nets"], found["ground"]) == (3, 6, "VSS")
    assert found["kinds"] == {"connector": 1, "chip": 1, "capacitor": 1}
    assert found["roles"]["lane"] == 2 and found["roles"]["open drain"] == 1
    assert found["values_unread"] == ["C1"]
    shown = run("board", file)
    assert shown.code == DONE
    assert "ground: VSS, called GND from here on" in shown.out
    assert "values not read: 1: C1" in shown.out


def test_nets_and_parts_are_listed_and_searched(run: Run, file: str) -> None:
    nets = run("board", file, "--nets", "--json").data["nets"]
    assert {row["net"] for row in nets} == {
        "GND", "VDD_CAM", "CAM_SDA", "CAM_D0_P", "CAM_D0_N", "Q[1]"
    }  # fmt: skip
    assert all(row["reason"] and 0.0 <= row["confidence"] <= 1.0 for row in nets)
    searched = run("board", file, "--search", "sda", "--json").data
    assert [row["net"] for row in searched["nets"]] == ["CAM_SDA"]
    assert searched["parts"] == []
    assert "CAM_SDA in" not in run("board", file).out
    assert "open drain" in run("board", file, "--search", "sda").out
    assert "no net and no part has 'nil'" in run("board", file, "--search", "nil").out


def test_a_map_is_written(run: Run, file: str, tmp_path: Path) -> None:
    out = tmp_path / "map.svg"
    answer = run("board", file, "--map", str(out), "--highlight", "CAM_SDA", "--json")
    assert answer.data["map"] == str(out)
    assert "shown: net CAM_SDA" in "".join(ElementTree.parse(out).getroot().itertext())
    assert run("board", file, "--map", str(out), "--highlight", "VSS").code == DONE
    assert "net GND, ground" in out.read_text()


def test_where_only_parts_have_places_pads_are_laid_out_by_kind_and_that_is_said(
    run: Run, tmp_path: Path
) -> None:
    out, pack = tmp_path / "map.svg", str(named_folder("courier-handheld"))
    answer = run("board", pack, "--map", str(out), "--highlight", "J4")
    assert answer.code == DONE and "no map" not in answer.out
    assert "are laid out by kind of part" in " ".join(answer.out.split())
    drawing = ElementTree.parse(out).getroot()
    assert "are laid out by kind of part" in "".join(drawing.itertext())
    pads = [each for each in drawing.iter() if "pad" in (each.get("class") or "").split()]
    board = run("board", pack, "--map", str(out), "--json").data
    assert board["pads_drawn"] and len(pads) > board["board"]["parts"]


def test_where_all_pads_are_known_nothing_is_said_of_them(run: Run, file: str) -> None:
    assert "laid out" not in run("board", file, "--map", "map.svg").out
    assert run("board", file, "--map", "map.svg", "--json").data["pads_drawn"] is False


def test_what_can_not_be_drawn_is_said(run: Run, file: str, tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("J4.1 > CAM_SDA > U3.A1\n")
    refused = run("board", "notes.txt", "--map", "map.svg")
    assert refused.code == MISUSED and "--nets lists its nets" in refused.err
    assert not (tmp_path / "map.svg").exists()
    assert "no map" in run("board", "notes.txt").out
    unknown = run("board", file, "--map", "map.svg", "--highlight", "NIL")
    assert unknown.code == MISUSED and "NIL" in unknown.err
    assert run("board", file, "--highlight", "J4").code == MISUSED
    nowhere = run("board", file, "--map", "no/such/folder/map.svg")
    assert nowhere.code == FOUND and "can not be written" in nowhere.err


def test_a_file_that_is_no_board(run: Run, tmp_path: Path) -> None:
    assert run("board", "absent.kicad_pcb").code == MISUSED
    (tmp_path / "odd.kicad_pcb").write_text("nothing of the kind")
    assert run("board", "odd.kicad_pcb").code == FOUND


def test_a_drafted_pack_passes_the_check_and_starts_a_job(run: Run, file: str) -> None:
    drafted = run("pack", "new", file, "--name", "Invented 1", "--json").data["pack"]
    assert drafted["folder"] == "invented-1"
    [function] = drafted["functions"]
    assert (function["class"], function["connector"]) == ("camera", "J4")
    assert (function["chips"], function["rails"]) == (["U3"], ["VDD_CAM"])
    text = Path("invented-1", "device.yaml").read_text()
    assert text.count("# guess: ") == 4
    checked = run("pack", "check", "invented-1", "--json")
    assert checked.code == DONE and checked.data["pack"]["parts"] == 3
    assert run("start", "invented-1").code == DONE
    assert run("expect", "J4.3").code == DONE
    assert run("board", "invented-1", "--json").data["board"]["parts"] == 3


def test_what_is_stated_is_no_guess(run: Run, file: str) -> None:
    run("pack", "new", file, "--function", "scanner", "--class", "camera", "--connector", "J4")
    text = Path("invented", "device.yaml").read_text()
    assert "  scanner:\n    class: camera\n" in text
    assert "    connector: J4\n" in text
    assert run("pack", "check", "invented").code == DONE


def test_the_smallest_pack(run: Run) -> None:
    run("pack", "new", "--name", 'Brindle: 4 "x"')
    text = Path("brindle-4-x", "device.yaml").read_text()
    assert text == 'device: {name: "Brindle: 4 \\"x\\""}\nfunctions: {power: {class: power}}\n'
    assert run("pack", "check", "brindle-4-x").code == DONE
    run("pack", "new", "--name", "two", "--function", "camera")
    assert "camera: {class: camera}" in Path("two", "device.yaml").read_text()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "give a board file"),
        (["--name", "x", "--class", "camra"], "did you mean 'camera'"),
        (["--name", "x", "--function", "scanner"], "say with --class"),
        (["--name", "x", "--connector", "J1"], "needs a board file"),
        (["invented.kicad_pcb", "--connector", "J9"], "no connector J9"),
        (["invented.kicad_pcb", "--connector", "U3"], "no connector U3"),
        (["invented.kicad_pcb", "--into", "."], "is there already"),
    ],
)
def test_pack_new_refuses(run: Run, file: str, words: list[str], said: str) -> None:
    answer = run("pack", "new", *words)
    assert answer.code == MISUSED and said in answer.err
