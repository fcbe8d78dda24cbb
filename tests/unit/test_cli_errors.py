"""The command line with bad input: a clear message, the right exit code, nothing lost."""

from __future__ import annotations

import io
import sqlite3
from pathlib import Path

import pytest
from command_line import DONE, FOUND, MISUSED, Run, runner


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    place = tmp_path / "jobs"
    monkeypatch.setenv("NEXTPROBE_HOME", str(place))
    return place


@pytest.fixture
def run(home: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    return runner(capsys)


@pytest.fixture
def job(run: Run) -> str:
    """Start from a complaint alone: nothing is computed but what the test asks for."""
    answer = run("start", "--template", "camera", "--device", "Brindle 4", "--json")
    return str(answer.data["job"])


@pytest.fixture
def sketched(run: Run, job: str, tmp_path: Path) -> str:
    """Add a pinout, so that there is a board."""
    file = tmp_path / "pinout.txt"
    file.write_text("1 gnd\n2 VDD_CAM .612\n3 CAM_SDA .452\n4 CAM_SCL OL\n5 D0P .31\n6 D0N .31\n")
    assert run("pinout", str(file), "-c", "J4").code == DONE
    return job


def events(run: Run) -> int:
    return int(run("show", "--json").data["overview"]["events"])


def test_a_reading_in_another_unit_says_where_and_what_to_do(run: Run, job: str) -> None:
    answer = run("read", "J4.4", "4k7")
    assert answer.code == FOUND
    assert "J4.4" in answer.err
    assert "ohms, where volts were expected" in answer.err
    assert "set the mode to ohms" in answer.err
    assert events(run) == 1


def test_errors_have_one_shape_for_machines(run: Run, job: str) -> None:
    for words, code, kind in (
        (("read", "J4.4", "400 V"), FOUND, "DataError"),
        (("record", "check:camra", "works"), MISUSED, "UnknownStepError"),
        (("next", "--job", "nobody-001"), MISUSED, "MisuseError"),
        (("next", "--no-such-option"), MISUSED, "UsageError"),
        (("no-such-command",), MISUSED, "UsageError"),
        (("withdraw", "not-a-number"), MISUSED, "UsageError"),
        (("pack", "check", "no/such/folder"), FOUND, "DataError"),
    ):
        answer = run(*words, "--json")
        assert answer.code == code, words
        error = answer.data["error"]
        assert set(answer.data) == {"error"}
        assert set(error) == {"kind", "message", "findings"}
        assert error["kind"] == kind
        assert error["message"]
        for finding in error["findings"]:
            assert set(finding) == {"severity", "what", "where", "remedy"}
            assert set(finding["where"]) == {"source", "line", "column", "name"}


def test_an_unknown_step_lists_what_is_like_it(run: Run, job: str) -> None:
    answer = run("record", "look:liquid-indicatr", "nothing")
    assert answer.code == MISUSED
    assert "look:liquid-indicator" in answer.err


def test_a_wrong_option_is_misuse_with_a_pointer_to_the_help(run: Run, job: str) -> None:
    answer = run("read", "J4.4", "0.5", "--moode", "ohms")
    assert answer.code == MISUSED
    assert "--moode" in answer.err
    assert "--help" in answer.err


def test_a_value_that_looks_like_an_option_is_no_traceback(run: Run, job: str) -> None:
    assert run("read", "J4.4", "-0.5").code == MISUSED
    assert run("read", "J4.4", "--", "-0.5").code == FOUND


def test_no_job_yet(run: Run) -> None:
    answer = run("next")
    assert answer.code == MISUSED
    assert "start one" in answer.err


def test_the_current_job_is_the_last_one_used(run: Run, job: str) -> None:
    second = run("start", "--template", "touch", "--device", "Slate 2", "--json").data["job"]
    assert run("note", "a", "--json").data["job"] == second
    run("note", "b", "--job", job)
    assert run("note", "c", "--json").data["job"] == job
    marked = [row["job"] for row in run("jobs", "--json").data["jobs"] if row["current"]]
    assert marked == [job]


def test_another_home_by_option(run: Run, job: str, tmp_path: Path) -> None:
    assert run("next", "--home", str(tmp_path / "elsewhere")).code == MISUSED
    assert run("jobs", "--home", str(tmp_path / "elsewhere"), "--json").data["jobs"] == []


def test_a_broken_line_of_chains_is_said_and_the_rest_recorded(run: Run, job: str) -> None:
    answer = run("chain", "J4.3 > > X", "J5.1 > R998 33R > U1.Z9", "--json")
    assert answer.code == FOUND
    assert answer.data["recorded"]["event"] == 2
    [finding] = answer.data["findings"]
    assert (finding["severity"], finding["where"]["line"]) == ("error", 1)


def test_chains_that_are_all_broken_record_nothing(run: Run, job: str) -> None:
    assert run("chain", "J4.3 > > X").code == FOUND
    assert events(run) == 1


def test_a_bad_line_among_donor_readings_is_said_and_the_rest_recorded(run: Run, job: str) -> None:
    answer = run("donor", "J4.3=0.65", "J4.4=4k7", "--json")
    assert answer.code == FOUND
    assert answer.data["recorded"]["said"] == ["donor: J4.3 reads 0.650 V (diode)"]
    errors = [item for item in answer.data["findings"] if item["severity"] == "error"]
    assert [item["where"]["name"] for item in errors] == ["J4.4"]


def test_a_point_that_no_board_knows_is_kept_and_no_failure(run: Run, sketched: str) -> None:
    answer = run("read", "J4.99", "0.5", "--json")
    assert answer.code == DONE
    assert answer.data["findings"][0]["severity"] == "warning"
    assert events(run) == 3


def test_a_pack_with_an_unknown_field_and_unit_says_the_lines(run: Run, tmp_path: Path) -> None:
    folder = tmp_path / "pack"
    folder.mkdir()
    (folder / "device.yaml").write_text(
        "device: {name: X}\nfunctions:\n  cam:\n    class: camera\n    chek: {minutes: 1}\n"
    )
    answer = run("pack", "check", str(folder))
    assert answer.code == FOUND
    assert "line 5" in answer.err
    assert "check" in answer.err
    started = run("start", str(folder))
    assert started.code == FOUND
    assert run("jobs", "--json").data["jobs"] == []
    (folder / "device.yaml").write_text("device: {name: X}\nfunctions: {cam: {class: camera}}\n")
    (folder / "known_good.csv").write_text("point,reading\nJ4.1,4k7\n")
    answer = run("pack", "check", str(folder), "--json")
    assert answer.code == FOUND
    assert answer.data["findings"][0]["where"]["line"] == 2


def test_a_pack_that_is_fine(run: Run) -> None:
    packs = run("packs", "--json").data["packs"]
    assert {pack["name"] for pack in packs} == {
        "courier-handheld",
        "ferry-terminal",
        "field-recorder",
    }
    assert run("packs").code == DONE


def test_a_locked_store_is_a_finding_and_nothing_is_lost(
    run: Run, job: str, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("nextprobe.store.sqlite.SqliteStore.__init__.__kwdefaults__", _impatient())
    with sqlite3.connect(home / "jobs.db", isolation_level=None) as other:
        other.execute("BEGIN IMMEDIATE")
        answer = run("note", "hello")
        other.execute("ROLLBACK")
    assert answer.code == FOUND
    assert "another program is writing" in answer.err
    assert run("note", "hello").code == DONE


def _impatient() -> dict[str, object]:
    return {"patience": 0.05, "most_pages": None}


def test_a_damaged_store_is_a_finding(run: Run, job: str, home: Path) -> None:
    with sqlite3.connect(home / "jobs.db", isolation_level=None) as other:
        other.execute("DROP TRIGGER events_keep")
        other.execute("UPDATE events SET payload_json = replace(payload_json, 'camera', 'touch')")
    answer = run("next", "--json")
    assert answer.code == FOUND
    assert answer.data["error"]["kind"] == "StoreDamagedError"
    assert "event 1" in answer.data["error"]["message"]


def test_a_file_that_is_no_store(run: Run, home: Path) -> None:
    home.mkdir()
    (home / "jobs.db").write_text("not a database at all, and long enough to be looked at" * 50)
    answer = run("jobs")
    assert answer.code == FOUND
    assert "left as it is" in answer.err


def test_texts_from_files_and_standard_input(
    run: Run, sketched: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "run.json"
    file.write_text('{"3": 0.65, "4": "OL"}')
    answer = run("record", "run:J4", "--from", str(file), "--json")
    assert answer.data["recorded"]["said"] == [
        "J4.3 reads 0.650 V (diode)",
        "J4.4 reads OL (diode)",
    ]
    monkeypatch.setattr("sys.stdin", io.StringIO("3 .651\n4 OL\n"))
    answer = run("donor", "--from", "-", "-c", "J4", "--json")
    assert answer.data["recorded"]["said"] == [
        "donor: J4.3 reads 0.651 V (diode)",
        "donor: J4.4 reads OL (diode)",
    ]
    file.write_text("{broken")
    assert run("record", "run:J4", "--from", str(file)).code == FOUND
    assert run("record", "run:J4", "--from", str(tmp_path / "none.json")).code == FOUND
    assert run("record", "run:J4", "3").code == FOUND
    assert run("donor").code == MISUSED
    assert run("chain").code == MISUSED
    file.write_bytes(b"\xff\xfe\x00")
    assert run("pinout", str(file)).code == FOUND


def test_a_start_that_makes_no_sense(run: Run) -> None:
    assert run("start").code == MISUSED
    assert run("start", "courier-handheld", "--complaint", "imagin").code == MISUSED
    assert run("start", "--template", "kamera").code == FOUND
    assert run("jobs", "--json").data["jobs"] == []


def test_version_and_help(run: Run) -> None:
    assert run("--version").out.startswith("nextprobe ")
    assert "record" in run("--help").out
    assert run().code == MISUSED


@pytest.mark.parametrize("columns", ["80", "100"])
def test_tables_fit_the_window_and_step_ids_stay_whole(
    run: Run, sketched: str, columns: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    ids = [step["id"] for step in run("next", "-n", "8", "--json").data["steps"]]
    shown = run("next", "-n", "8").out
    assert all(len(line) <= int(columns) for line in shown.splitlines())
    assert all(name in shown for name in ids)


def test_every_table_for_people(run: Run, sketched: str) -> None:
    run("read", "J4.3", "0.1")
    run("look", "liquid-indicator", "changed", "colour")
    run("trial", "camera", "fails")
    for words in (
        ("show", "--log"),
        ("jobs",),
        ("suspects",),
        ("why",),
        ("why", "run:J4"),
        ("expect", "J4.3"),
        ("expect", "J4.4"),
        ("compare",),
        ("correct", "3", "0.65"),
        ("withdraw", "4"),
        ("correct", "1", "--history", "drop", "--says", "black"),
        ("check", "camera", "fails"),
        ("refresh", "update", "refresh", "failed", "E-40"),
        ("work", "clean", "J4", "fails"),
        ("role", "J4.3", "lane"),
        ("close", "decline"),
        ("next",),
    ):
        answer = run(*words)
        assert answer.code == DONE, (words, answer)
        assert answer.out.strip(), words
    assert "has ended: decline" in run("next").out
    assert "in place of 1" in run("show", "--log").out


def test_cautions_stand_at_the_step(run: Run, job: str) -> None:
    shown = run("why", "trial:camera:fit").out
    assert "CAUTION" in shown
    assert "never look into them" in " ".join(shown.split())
