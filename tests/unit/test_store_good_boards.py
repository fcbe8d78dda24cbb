"""Known-good boards in the store: kept, corrected, withdrawn; never lost, never silently wrong."""

from __future__ import annotations

import os
import sqlite3
import sys
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from nextprobe.board import OVER_RANGE, BenchSetup, MeterMode
from nextprobe.errors import MisuseError, StoreDamagedError, StoreError, StoreLockedError
from nextprobe.reference import GoodBoard
from nextprobe.store import GoodBoardStore, MemoryStore, SqliteStore
from nextprobe.store.good_boards import (
    BOARD,
    GOOD_FILE,
    log_name,
    open_good_boards,
    read_good_boards,
)
from nextprobe.workbench.log import EventLog

DEVICE = "Satchel 3"
FULL = GoodBoard(
    DEVICE,
    "DON-1",
    (("J4.3", 0.658), ("J4.21", OVER_RANGE), ("J4.30", 0.0)),
    BenchSetup(
        MeterMode.LOW_OHMS, "J4.1", False, frozenset({"imaging"}), frozenset({"D404"}), True, 310.0
    ),
    "bench meter 2",
    "Ines",
    date(2026, 11, 20),
    "boards.csv, column 2",
)


def board(label: str, value: float = 0.452) -> GoodBoard:
    return GoodBoard(DEVICE, label, (("J4.3", value),))


@pytest.fixture
def store() -> GoodBoardStore:
    return GoodBoardStore(MemoryStore())


def labels(store: GoodBoardStore) -> list[tuple[str, int | None]]:
    return [(each.label, each.number) for each in store.boards(DEVICE).records]


def test_a_record_comes_back_whole_with_its_number(tmp_path: Path) -> None:
    kept = open_good_boards(tmp_path).keep(FULL)
    [found] = read_good_boards(tmp_path).boards(DEVICE).records
    assert found == kept
    assert found.number == 1
    assert (found.readings, found.setup, found.measured_on) == (
        FULL.readings, FULL.setup, FULL.measured_on,
    )  # fmt: skip


def test_devices_are_kept_apart_and_found_whatever_the_case(store: GoodBoardStore) -> None:
    store.keep(board("A"))
    store.keep(GoodBoard("Brindle 4", "B", (("J1.1", 0.5),)))
    assert store.devices() == ("Brindle 4", DEVICE)
    assert store.boards("satchel  3").labels == ("A",)
    assert store.boards("Parcel Reader 7").records == ()


def test_a_correction_supersedes_and_a_withdrawal_takes_out_of_the_account(
    store: GoodBoardStore,
) -> None:
    store.keep(board("A"))
    store.keep(board("B"))
    assert store.keep(board("A", 0.46), supersedes=1).number == 3
    assert labels(store) == [("A", 3), ("B", 2)]
    store.withdraw(DEVICE, 2)
    assert labels(store) == [("A", 3)]
    store.keep(board("B", 0.47), supersedes=2)
    assert labels(store) == [("A", 3), ("B", 5)]
    assert store.record(DEVICE, 5).values == {"J4.3": 0.47}


def test_corrections_that_make_no_sense_are_misuse_and_store_nothing(
    store: GoodBoardStore,
) -> None:
    with pytest.raises(MisuseError, match="no known-good board of Satchel 3"):
        store.withdraw(DEVICE, 1)
    store.keep(board("A"))
    store.keep(board("A", 0.46), supersedes=1)
    for number, said in ((0, "no record 0"), (7, "the last is 2"), (1, "corrected by record 2")):
        with pytest.raises(MisuseError, match=said):
            store.withdraw(DEVICE, number)
    store.withdraw(DEVICE, 2)
    with pytest.raises(MisuseError, match="withdrawn already"):
        store.withdraw(DEVICE, 2)
    with pytest.raises(MisuseError, match="no record 2 of Satchel 3 stands"):
        store.record(DEVICE, 2)
    assert labels(store) == []


def test_reading_makes_no_file(tmp_path: Path) -> None:
    assert read_good_boards(tmp_path / "nowhere").boards(DEVICE).records == ()
    assert list(tmp_path.iterdir()) == []


def test_two_benches_may_start_at_once(tmp_path: Path) -> None:
    one, two = open_good_boards(tmp_path), open_good_boards(tmp_path)
    assert one.boards(DEVICE) == two.boards(DEVICE)
    one.keep(board("A"))
    assert two.keep(board("B")).number == 2
    assert one.boards(DEVICE).labels == ("A", "B")


def test_the_device_may_be_started_by_another_bench_between_looking_and_writing() -> None:
    class Late(MemoryStore):
        """Another bench starts the log just before this one does."""

        def create_job(self, job_id, first, title=""):
            super().create_job(job_id, first, title)
            super().create_job(job_id, first, title)

    assert GoodBoardStore(Late()).keep(board("A")).number == 1


def test_a_changed_byte_is_noticed(tmp_path: Path) -> None:
    open_good_boards(tmp_path).keep(board("A"))
    with closing(sqlite3.connect(tmp_path / GOOD_FILE)) as bare, bare:
        bare.execute("DROP TRIGGER events_keep")
        bare.execute("UPDATE events SET payload_json = replace(payload_json, '0.452', '0.552')")
    with pytest.raises(StoreDamagedError, match="do not match its hash"):
        read_good_boards(tmp_path).boards(DEVICE)


def test_a_file_that_is_something_else_is_refused(tmp_path: Path) -> None:
    (tmp_path / GOOD_FILE).write_bytes(b"no database at all" * 500)
    with pytest.raises(StoreDamagedError, match=GOOD_FILE):
        read_good_boards(tmp_path)


def test_records_of_another_kind_or_shape_are_refused() -> None:
    events = MemoryStore()
    log = EventLog.start(events, log_name(DEVICE), "device", {"device": DEVICE})
    log.append(BOARD, {"label": "A"})
    with pytest.raises(StoreDamagedError, match="record 1 is no known-good board"):
        GoodBoardStore(events).boards(DEVICE)
    log.append("something new", {}, supersedes=2)
    with pytest.raises(StoreDamagedError, match="update the program"):
        GoodBoardStore(events).boards(DEVICE)


def test_a_locked_file_says_so_and_keeps_nothing(tmp_path: Path) -> None:
    open_good_boards(tmp_path).keep(board("A"))
    hurried = GoodBoardStore(SqliteStore(tmp_path / GOOD_FILE, patience=0.05))
    with closing(sqlite3.connect(tmp_path / GOOD_FILE, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreLockedError, match="another program"):
            hurried.keep(board("B"))
        assert hurried.boards(DEVICE).labels == ("A",)
        other.execute("ROLLBACK")


@pytest.mark.skipif(
    sys.platform == "win32" or getattr(os, "geteuid", lambda: 0)() == 0, reason="rights of root"
)
def test_a_folder_that_can_not_be_written_to_is_said(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(StoreError):
        open_good_boards(tmp_path / "shop")
