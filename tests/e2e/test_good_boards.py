"""Known-good boards through the command line: kept, imported, listed, shown, corrected, used."""

from __future__ import annotations

import io
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from command_line import DONE, FOUND, MISUSED, Answer, Run, runner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from nextprobe.board import OVER_RANGE, BenchSetup
from nextprobe.readers.good_boards import read_good_boards
from nextprobe.reference import GoodBoard
from nextprobe.store import SqliteStore, open_good_boards

DEVICE = """\
device: {name: Brindle 4}
functions:
  camera: {class: camera}
modules:
  camera: {connector: J4}
"""
PINS = "connector,pin,name\n" + "".join(f"J4,{pin},LINE_{pin}\n" for pin in range(1, 10))
KNOWN = "point,mode,reading,boards,source\nJ4.3,diode,0.655,2,mean of 2 boards\n"
TABLE = """\
point;DON-2;DON-3 [mV];DON-4;note
J4.3;0,661;655;0,652;
J4.4;0,535;529;0,531;
J4.5;0,650;661;0,657;
J4.6;0,531;733;0,536;looks odd
J4.7;OL;OL;OL;
"""


@pytest.fixture
def pack(tmp_path: Path) -> str:
    folder = tmp_path / "brindle-4"
    folder.mkdir()
    for name, text in (("device.yaml", DEVICE), ("pins.csv", PINS), ("known_good.csv", KNOWN)):
        (folder / name).write_text(text)
    return str(folder)


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.setenv("NEXTPROBE_HOME", str(tmp_path / "shop"))
    monkeypatch.setenv("COLUMNS", "100")
    return runner(capsys)


@pytest.fixture
def table(tmp_path: Path) -> str:
    path = tmp_path / "boards.csv"
    path.write_text(TABLE)
    return str(path)


def ok(answer: Answer) -> Answer:
    assert answer.code == DONE, answer
    return answer


def test_from_the_first_board_to_a_job_that_knows_it(run: Run, pack: str, table: str) -> None:
    added = ok(run("good", "add", pack, "--board", "DON-1", "--by", "Ines", "--on", "2026-11-20",
                   "J4.3", "655", "J4.7", "OL", "--json"))  # fmt: skip
    [kept] = added.data["kept"]
    assert (kept["number"], kept["label"], kept["readings"]) == (1, "DON-1", 2)
    assert (kept["measured_by"], kept["measured_on"]) == ("Ines", "2026-11-20")
    assert kept["setup"]["mode"] == "diode"

    imported = ok(run("good", "import", pack, table, "--source", "mail of Tomas", "--json"))
    assert [each["label"] for each in imported.data["kept"]] == ["DON-2", "DON-3", "DON-4"]
    assert imported.data["kept"][1]["source"] == "mail of Tomas, line 2, column 3"
    [odd] = imported.data["findings"]
    assert odd["severity"] == "warning"
    assert "0.733 V at J4.6" in odd["what"]

    listed = ok(run("good", "list", pack, "--json"))
    assert [each["number"] for each in listed.data["boards"]] == [1, 2, 3, 4]
    assert [each["label"] for each in listed.data["misfits"]] == ["DON-3"]
    assert listed.data["boards"][2]["farthest"]["point"] == "J4.6"

    point = ok(run("good", "show", pack, "J4.3", "--json")).data["points"][0]
    assert [each["value"] for each in point["readings"]] == [0.655, 0.661, 0.655, 0.652]
    assert point["pack"] == {"value": 0.655, "boards": 2, "source": "mean of 2 boards"}
    numbers = [each["boards"] for each in point["by_number"]]
    assert numbers == [0, 1, 2, 4, 5, 10]
    uncertain = [each["standard_uncertainty"] for each in point["by_number"]]
    assert uncertain == sorted(uncertain, reverse=True)
    assert point["low"] < point["mean"] < point["high"]
    assert point["in_job"]["deviation"] == pytest.approx(point["standard_uncertainty"], rel=1e-3)

    ok(run("good", "correct", pack, "3", "J4.6", "533"))
    assert ok(run("good", "list", pack, "--json")).data["misfits"] == []
    ok(run("good", "withdraw", pack, "4"))
    labels = [each["label"] for each in ok(run("good", "list", pack, "--json")).data["boards"]]
    assert labels == ["DON-1", "DON-2", "DON-3"]

    ok(run("start", pack, "--name", "one"))
    expected = ok(run("expect", "J4.3", "--json")).data["expected"]
    assert expected["source"] == (
        "mean of 2 boards with 3 boards kept here (DON-1, DON-2, DON-3), "
        "spread measured between them"
    )
    in_job = ok(run("good", "show", pack, "J4.3", "--json")).data["points"][0]["in_job"]
    assert expected["healthy"] == pytest.approx(in_job["value"])
    assert expected["deviation"] == pytest.approx(in_job["deviation"], rel=1e-3)
    why = ok(run("why", "probe:J4.3", "--json")).data["explanation"]
    [ground] = [each for each in why["remarks"] if each["kind"] == "known-good"]
    assert "3 boards kept here" in ground["text"]

    ok(run("donor", "J4.3=651", "J4.4=538"))
    before = ok(run("expect", "J4.3", "--json")).data["expected"]
    ok(run("good", "keep", "--board", "DON-5"))
    assert ok(run("expect", "J4.3", "--json")).data["expected"] == before
    again = ok(run("good", "keep", "--json"))
    assert again.data["kept"] == []
    assert ok(run("good", "show", pack, "J4.3", "--json")).data["points"][0]["boards"] == 4


def test_tables_for_people_name_what_they_show(run: Run, pack: str, table: str) -> None:
    assert "none is kept here yet" in ok(run("good", "list", pack)).out
    ok(run("good", "import", pack, table))
    ok(run("good", "add", pack, "--board", "warm", "--celsius", "45", "--plugged", "camera",
           "--negative-clamped", "--clamped", "J4.1", "--meter", "B", "J4.3=.6"))  # fmt: skip
    ok(run("good", "add", pack, "--board", "DON-2", "--mode", "ohms", "--meter", "A", "J4.3=4k7"))
    listed = ok(run("good", "list", pack))
    assert "2 meters were used (A, B)" in " ".join(listed.out.split())
    assert "(!)" in listed.out
    assert "0.733 V at J4.6" in listed.err
    shown = ok(run("good", "show", pack)).out
    assert "lead on J4.1, negative lead clamped, camera plugged in, 45 °C" in shown
    assert "ohms mode" in shown
    assert "4.7 kΩ" in shown
    diode = ok(run("good", "show", pack, "j4.7", "--mode", "diode")).out
    assert "a job started now expects OL" in " ".join(diode.split())
    warm = ok(run("good", "show", pack, "J4.3")).out
    assert "45 °C" in warm
    assert "jobs expect readings to ground" in " ".join(warm.split())


def test_readings_come_from_standard_input_and_files_too(
    run: Run, pack: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("J4.3 .655\n4 LINE_4 530\n"))
    ok(run("good", "add", pack, "--board", "A", "--from", "-", "--connector", "J4"))
    monkeypatch.setattr("sys.stdin", io.StringIO("J4.3 .651\nJ4.4 536\n"))
    ok(run("good", "import", pack, "-", "--board", "B"))
    (tmp_path / "c.txt").write_text("J4.3=0,66\n")
    ok(run("good", "add", pack, "--board", "C", "--from", str(tmp_path / "c.txt")))
    rows = ok(run("good", "list", pack, "--json")).data["boards"]
    assert [each["readings"] for each in rows] == [2, 2, 1]


def test_what_is_wrong_is_said_with_its_place_and_the_rest_is_kept(
    run: Run, pack: str, tmp_path: Path
) -> None:
    path = tmp_path / "boards.csv"
    path.write_text("point;A;B\nJ4.3;0,65;abc\nJ4.99;0,5;0,5\n")
    answer = run("good", "import", pack, str(path), "--json")
    assert answer.code == FOUND
    places = [(each["where"]["line"], each["where"]["column"]) for each in answer.data["findings"]]
    assert places == [(2, 3), (3, 1)]
    assert [each["label"] for each in answer.data["kept"]] == ["A"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("add", "PACK", "--board", "A"), "give readings"),
        (("add", "PACK", "--board", "A", "J4.3"), "a point and its value in turn"),
        (("add", "PACK", "--board", " ", "J4.3=.5"), "a label"),
        (("add", "PACK", "--board", "A", "--on", "yesterday", "J4.3=.5"), "no day"),
        (("add", "PACK", "--board", "A", "--mode", "beeper", "J4.3=.5"), "not a meter mode"),
        (("add", "PACK", "--board", "A", "--plugged", "camra", "J4.3=.5"), "did you mean"),
        (("add", "PACK", "--board", "A", "--clamped", "J9.9", "J4.3=.5"), "no pin or net J9.9"),
        (("add", "nowhere", "--board", "A", "J4.3=.5"), "no pack folder"),
        (("list", "nowhere"), "no pack folder"),
        (("show", "PACK", "J4.9"), "nothing is known of J4.9"),
        (("correct", "PACK", "1"), "give the readings"),
        (("correct", "PACK", "1", "J4.3", ".5"), "no record 1"),
        (("withdraw", "PACK", "1"), "no known-good board"),
        (("keep",), "no job"),
    ],
)
def test_misuse_is_said_and_keeps_nothing(
    run: Run, pack: str, words: tuple[str, ...], said
) -> None:
    answer = run("good", *(pack if word == "PACK" else word for word in words))
    assert answer.code == MISUSED, answer
    assert said in answer.err
    assert ok(run("good", "list", pack, "--json")).data["boards"] == []


def test_a_table_without_names_needs_one(run: Run, pack: str, tmp_path: Path) -> None:
    path = tmp_path / "one.txt"
    path.write_text("J4.3 655\n")
    assert "--board" in run("good", "import", pack, str(path)).err
    ok(run("good", "import", pack, str(path), "--board", "A"))
    empty = tmp_path / "empty.txt"
    empty.write_text("point;A\n")
    answer = run("good", "import", pack, str(empty))
    assert answer.code == FOUND
    assert "no reading" in answer.err


def test_a_damaged_or_locked_file_is_said_with_code_1(
    run: Run, pack: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ok(run("good", "add", pack, "--board", "A", "J4.3=.5"))
    path = tmp_path / "shop" / "known-good.db"
    hurried = {"patience": 0.05, "most_pages": None}
    monkeypatch.setattr(SqliteStore.__init__, "__kwdefaults__", hurried)
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        answer = run("good", "add", pack, "--board", "B", "J4.3=.5", "--json")
        assert (answer.code, answer.data["error"]["kind"]) == (FOUND, "StoreLockedError")
        other.execute("ROLLBACK")
    path.write_bytes(b"no database at all" * 500)
    answer = run("good", "list", pack, "--json")
    assert (answer.code, answer.data["error"]["kind"]) == (FOUND, "StoreDamagedError")
    started = ok(run("start", pack, "--json"))
    assert "known-good.db" in started.data["findings"][0]["what"]


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.lists(
        st.dictionaries(st.sampled_from(["J4.1", "J4.2", "J4.3"]),
                        st.integers(100, 1999) | st.just("OL"), min_size=1),
        min_size=1, max_size=4,
    ),
    st.sampled_from(["\t", ";"]),
)  # fmt: skip
def test_what_is_imported_is_what_is_listed(tmp_path_factory, boards, separator) -> None:
    """Import, then read the store again: the same boards, points and values."""
    points = sorted({point for board in boards for point in board})
    labels = [f"B{number}" for number in range(len(boards))]
    rows = [[point, *(str(board.get(point, "-")) for board in boards)] for point in points]
    text = "\n".join(separator.join(row) for row in [["point", *labels], *rows])
    columns, findings = read_good_boards(text)
    assert findings == ()
    home = tmp_path_factory.mktemp("shop")
    store = open_good_boards(home)
    for column in columns:
        store.keep(GoodBoard("Brindle 4", column.label, column.readings))
    kept = open_good_boards(home).boards("Brindle 4")
    for point in points:
        expected = {
            label: OVER_RANGE if board[point] == "OL" else board[point] / 1000
            for label, board in zip(labels, boards, strict=True)
            if point in board
        }
        assert dict(kept.at(point, BenchSetup())) == expected
