"""What is promised of kept fault tables: exact or not there, and never in the way."""

from __future__ import annotations

import json
import os
import threading
from dataclasses import replace
from hashlib import sha256
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from circuit_small import BOARD
from hypothesis import given, settings
from hypothesis import strategies as st

from nextprobe.board import (
    BenchSetup,
    Board,
    Fault,
    FaultKind,
    Meter,
    MeterMode,
    MeterRange,
    Part,
    PartKind,
    Pin,
    Role,
)
from nextprobe.circuit import FaultTable, enumerate_faults, fault_table, key, table_key
from nextprobe.diagnosis import FaultTables, TableKeeper
from nextprobe.diagnosis import tables as tables_module
from nextprobe.errors import Finding, MisuseError, StoreError
from nextprobe.store import TableFolder, open_tables, table_file
from nextprobe.store.table_file import table_bytes, table_from_bytes

FAULTS = tuple(enumerate_faults(BOARD))
SETUP = BenchSetup()
METER = Meter()
DIODE = METER.range_for(MeterMode.DIODE)
TABLE = fault_table(BOARD, SETUP, DIODE, faults=FAULTS)[0]
WHOLE = table_bytes("k1", TABLE)
PLAIN = ("points", "faults", "classes", "parameters", "key")
ARRAYS = ("healthy_values", "healthy_over_range", "sensitivities")


def assert_equal(found: FaultTable | None, table: FaultTable) -> None:
    assert found is not None
    for name in PLAIN:
        assert getattr(found, name) == getattr(table, name)
    pairs = [(getattr(found, name), getattr(table, name)) for name in ARRAYS]
    for name in ("shifts", "over_range_changes"):
        ours, theirs = getattr(found, name), getattr(table, name)
        assert ours.shape == theirs.shape
        pairs += [(ours.data, theirs.data)]
        np.testing.assert_array_equal(ours.indices, theirs.indices)
        np.testing.assert_array_equal(ours.indptr, theirs.indptr)
    for ours, theirs in pairs:
        assert ours.dtype == theirs.dtype
        assert ours.tobytes() == theirs.tobytes()


def only_file(folder: Path) -> Path:
    (path,) = folder.iterdir()
    return path


@pytest.fixture
def builds(monkeypatch: pytest.MonkeyPatch) -> list[Board]:
    """Boards that a table was built for, in order."""
    built: list[Board] = []

    def counted(board: Board, *args, **more):
        built.append(board)
        return fault_table(board, *args, **more)

    monkeypatch.setattr(tables_module, "fault_table", counted)
    return built


@pytest.mark.parametrize("mode", MeterMode)
def test_a_kept_table_comes_back_exactly(mode: MeterMode, tmp_path: Path) -> None:
    setup = BenchSetup(mode)
    table, _ = fault_table(BOARD, setup, METER.range_for(mode), faults=FAULTS)
    keeper: TableKeeper = TableFolder(tmp_path)
    assert keeper.load("k1") is None
    keeper.save("k1", table)
    found = keeper.load("k1")
    assert_equal(found, table)
    assert found is not None
    for point in table.points:
        for fault in FAULTS:
            assert found.value(point, fault) == table.value(point, fault)


def test_a_table_without_faults_comes_back() -> None:
    table, _ = fault_table(BOARD, SETUP, DIODE, faults=())
    assert_equal(table_from_bytes(table_bytes("k1", table), "k1"), table)


def test_odd_magnitudes_come_back_exactly() -> None:
    faults = [Fault(FaultKind.LEAKY, "C1", size) for size in (1 / 3, 1e-300, 0.1 + 0.2, 1e22)]
    table, _ = fault_table(BOARD, SETUP, DIODE, faults=faults)
    assert_equal(table_from_bytes(table_bytes("k1", table), "k1"), table)


def test_the_next_program_does_not_build_it_again(tmp_path: Path, builds: list[Board]) -> None:
    first = FaultTables(TableFolder(tmp_path)).get(BOARD, SETUP, DIODE, FAULTS)
    second = FaultTables(TableFolder(tmp_path)).get(BOARD, SETUP, DIODE, FAULTS)
    assert len(builds) == 1
    assert_equal(second[0], first[0])
    assert second[1] == first[1]


def test_equal_boards_are_solved_once_without_a_keeper(builds: list[Board]) -> None:
    tables = FaultTables()
    turned = Board(BOARD.name, BOARD.parts[::-1], BOARD.roles)
    first = tables.get(BOARD, SETUP, DIODE, FAULTS)
    assert tables.get(turned, BenchSetup(cleaned=True), DIODE, FAULTS) is first
    assert len(builds) == 1


def test_what_had_to_be_assumed_is_said_again(tmp_path: Path, builds: list[Board]) -> None:
    unknown = Part("R9", PartKind.RESISTOR, (Pin("1", "IO"), Pin("2", "GND")))
    board, setup = BOARD.with_parts([unknown]), BenchSetup(plugged=frozenset({"camera"}))
    found = [
        FaultTables(TableFolder(tmp_path)).get(board, setup, DIODE, FAULTS)[1] for _ in range(2)
    ]
    assert len(builds) == 1
    assert [finding.where.name for finding in found[0]] == ["R9", "camera"]
    assert found[0] == found[1]


def test_a_table_with_unsolved_points_is_not_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tables_module, "fault_table", lambda *a, **k: (TABLE, (Finding("odd"),)))
    for _ in range(2):
        _, findings = FaultTables(TableFolder(tmp_path)).get(BOARD, SETUP, DIODE, FAULTS)
        assert findings == (Finding("odd"),)
    assert not list(tmp_path.iterdir())


@settings(max_examples=150)
@given(st.data())
def test_no_damage_is_taken_for_a_table(data: st.DataObject) -> None:
    content = bytearray(WHOLE)
    place = data.draw(st.integers(0, len(content) - 1))
    if data.draw(st.booleans()):
        del content[place:]
    else:
        content[place] ^= data.draw(st.integers(1, 255))
    assert table_from_bytes(bytes(content), "k1") is None


@settings(max_examples=100)
@given(st.binary(max_size=300))
def test_nothing_foreign_is_taken_for_a_table(content: bytes) -> None:
    assert table_from_bytes(content, "k1") is None
    assert table_from_bytes(sealed(content), "k1") is None


def sealed(rest: bytes) -> bytes:
    """Return a file whose checksum is right, whatever its rest is."""
    header = json.loads(WHOLE.partition(b"\n")[0])
    header["sha256"] = sha256(rest).hexdigest()
    return json.dumps(header).encode() + b"\n" + rest


def archive_with(**changes) -> bytes:
    arrays = dict(np.load(BytesIO(WHOLE.partition(b"\n")[2])))
    buffer = BytesIO()
    np.savez_compressed(buffer, **(arrays | changes))
    return sealed(buffer.getvalue())


def test_the_sealed_original_is_a_table() -> None:
    assert_equal(table_from_bytes(archive_with(), "k1"), TABLE)


@pytest.mark.parametrize(
    "changes",
    [
        {"names": np.array(["a", 1], dtype=object)},
        {"healthy_values": np.zeros(3)},
        {"sensitivities": np.zeros(3)},
        {"shifts_indices": np.full(TABLE.shifts.nnz, 10**6)},
        {"shifts_indptr": np.zeros(2, dtype=np.int64)},
        {"names": np.frombuffer(b"{}", np.uint8)},
        {"names": np.frombuffer(b"[" * 100_000, np.uint8)},
    ],
)
def test_pieces_that_do_not_fit_are_no_table(changes: dict) -> None:
    assert table_from_bytes(archive_with(**changes), "k1") is None


def test_a_file_of_another_key_or_version_is_no_table(monkeypatch: pytest.MonkeyPatch) -> None:
    assert_equal(table_from_bytes(WHOLE, "k1"), TABLE)
    assert table_from_bytes(WHOLE, "k2") is None
    with monkeypatch.context() as patch:
        patch.setattr(table_file, "FORMAT", table_file.FORMAT + 1)
        assert table_from_bytes(WHOLE, "k1") is None
    monkeypatch.setattr(table_file, "__version__", "0.0.0")
    assert table_from_bytes(WHOLE, "k1") is None


@pytest.mark.parametrize("content", [b"", b"{}\n", WHOLE[:-1], WHOLE[:100]])
def test_a_bad_file_is_built_anew_and_replaced(
    content: bytes, tmp_path: Path, builds: list[Board]
) -> None:
    FaultTables(TableFolder(tmp_path)).get(BOARD, SETUP, DIODE, FAULTS)
    path = only_file(tmp_path)
    path.write_bytes(content)
    found, _ = FaultTables(TableFolder(tmp_path)).get(BOARD, SETUP, DIODE, FAULTS)
    assert len(builds) == 2
    assert_equal(found, TABLE)
    assert only_file(tmp_path) == path
    assert_equal(table_from_bytes(path.read_bytes(), path.stem), TABLE)


def test_several_writers_and_readers_see_whole_tables_only(tmp_path: Path) -> None:
    others = [TABLE, fault_table(BOARD, SETUP, DIODE, faults=FAULTS[::2])[0]]
    TableFolder(tmp_path).save("k1", TABLE)
    seen: list[FaultTable | None] = []

    def work(number: int) -> None:
        folder = TableFolder(tmp_path)
        for _ in range(15):
            folder.save("k1", others[number % 2])
            seen.append(folder.load("k1"))

    threads = [threading.Thread(target=work, args=(number,)) for number in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(seen) == 90
    for found in seen:
        assert found is not None
        assert_equal(found, others[len(found.faults) != len(FAULTS)])
    assert only_file(tmp_path).stem == "k1"


def test_a_folder_that_can_not_be_used_does_no_harm(tmp_path: Path, builds: list[Board]) -> None:
    (tmp_path / "file").write_text("in the way", "utf-8")
    keeper = TableFolder(tmp_path / "file" / "tables")
    for _ in range(2):
        assert_equal(FaultTables(keeper).get(BOARD, SETUP, DIODE, FAULTS)[0], TABLE)
    assert len(builds) == 2


def test_something_else_in_the_place_of_a_file_does_no_harm(tmp_path: Path) -> None:
    folder = TableFolder(tmp_path)
    (tmp_path / "k1.table" / "inner").mkdir(parents=True)
    folder.save("k1", TABLE)
    assert folder.load("k1") is None
    assert [path.name for path in tmp_path.iterdir()] == ["k1.table"]


def test_the_tables_unused_for_longest_are_dropped(tmp_path: Path) -> None:
    folder = TableFolder(tmp_path, most_bytes=3 * len(WHOLE) + 100)
    for age, name in ((40, "k1"), (30, "k2"), (20, "k3")):
        folder.save(name, TABLE)
        path = tmp_path / f"{name}.table"
        os.utime(path, ns=(0, path.stat().st_mtime_ns - age * 10**9))
    assert folder.load("k1") is not None
    folder.save("k4", TABLE)
    assert {path.stem for path in tmp_path.iterdir()} == {"k1", "k3", "k4"}


def test_a_table_that_is_too_large_is_not_kept(tmp_path: Path) -> None:
    folder = TableFolder(tmp_path, most_bytes=len(WHOLE) - 1)
    folder.save("k1", TABLE)
    assert not list(tmp_path.iterdir())


def test_tables_live_in_the_workshop_for_its_owner_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    open_tables(tmp_path / "shop").save("k1", TABLE)
    folder = tmp_path / "shop" / "cache" / "tables"
    assert only_file(folder).name == "k1.table"
    if os.name == "posix":
        for made in (tmp_path / "shop", folder.parent, folder):
            assert made.stat().st_mode & 0o777 == 0o700
    monkeypatch.setenv("NEXTPROBE_HOME", str(tmp_path / "shop"))
    assert_equal(open_tables().load("k1"), TABLE)


@pytest.mark.parametrize("name", ["", "../k1", "a/b", "k 1"])
def test_a_key_that_is_no_file_name_raises(name: str, tmp_path: Path) -> None:
    with pytest.raises(MisuseError):
        TableFolder(tmp_path).load(name)


def test_a_user_without_a_home_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def homeless() -> Path:
        raise RuntimeError

    monkeypatch.delenv("NEXTPROBE_HOME", raising=False)
    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    monkeypatch.setattr(Path, "home", homeless)
    with pytest.raises(StoreError):
        open_tables()


def changed(part: str, **changes) -> Board:
    return BOARD.with_parts([replace(BOARD.part(part), **changes)])


OTHER_BOARDS = {
    "name": Board("other", BOARD.parts, BOARD.roles),
    "value": changed("R1", value=2.3e3),
    "unknown value": changed("R1", value=None),
    "note": changed("D1", note="unidirectional"),
    "stand-in": changed("U1", implied=True),
    "kind": changed("FB1", kind=PartKind.INDUCTOR),
    "net": changed("R2", pins=(Pin("1", "IO"), Pin("2", "GND"))),
    "order of pins": changed("R2", pins=BOARD.part("R2").pins[::-1]),
    "role": BOARD.with_roles({"IO": Role.CLOCK}),
    "not fitted": changed("R2", fitted=False),
    "one part less": Board(BOARD.name, BOARD.parts[:-1], BOARD.roles),
}
OTHER_SETUPS = {
    "mode": (BenchSetup(MeterMode.OHMS), DIODE),
    "clamped": (BenchSetup(clamped="V18"), DIODE),
    "polarity": (BenchSetup(clamped_is_positive=False), DIODE),
    "temperature": (BenchSetup(temperature=300.0), DIODE),
    "removed": (BenchSetup(removed=frozenset({"C1"})), DIODE),
    "plugged": (BenchSetup(plugged=frozenset({"C1"})), DIODE),
    "range": (SETUP, replace(DIODE, test_current=0.8e-3)),
    "load": (SETUP, replace(DIODE, load=1e7 - 1)),
}
OTHER_FAULTS = {
    "fewer": FAULTS[:-1],
    "order": FAULTS[::-1],
    "magnitude": (*FAULTS[:-1], replace(FAULTS[-1], magnitude=1.0)),
    "close magnitude": (*FAULTS[:-1], replace(FAULTS[-1], magnitude=1.0 + 1e-12)),
}


def test_keys_differ_with_everything_that_readings_depend_on(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    keys = [table_key(BOARD, SETUP, DIODE, FAULTS)]
    keys += [table_key(board, SETUP, DIODE, FAULTS) for board in OTHER_BOARDS.values()]
    keys += [table_key(BOARD, *other, FAULTS) for other in OTHER_SETUPS.values()]
    keys += [table_key(BOARD, SETUP, DIODE, faults) for faults in OTHER_FAULTS.values()]
    monkeypatch.setattr(key, "ENGINE", key.ENGINE + 1)
    keys.append(table_key(BOARD, SETUP, DIODE, FAULTS))
    assert len(set(keys)) == 2 + len(OTHER_BOARDS) + len(OTHER_SETUPS) + len(OTHER_FAULTS)


def test_every_field_of_a_range_and_a_part_is_in_the_key_or_known_not_to_matter() -> None:
    """A field that is added must find its way into the key, or into this list."""
    assert set(Part.__dataclass_fields__) == {
        *("reference", "kind", "pins", "value", "note", "implied", "fitted"),
        *("position", "rotation", "side", "outline"),
    }
    assert set(BenchSetup.__dataclass_fields__) == {
        *("mode", "clamped", "clamped_is_positive", "plugged", "removed", "temperature"),
        "cleaned",
    }
    assert set(Board.__dataclass_fields__) == {"name", "parts", "roles", "outline"}
    assert set(Fault.__dataclass_fields__) == {"kind", "place", "magnitude"}
    assert MeterRange.__dataclass_params__.repr


def test_positions_and_the_order_of_parts_do_not_matter() -> None:
    same = [
        Board(BOARD.name, BOARD.parts[::-1], BOARD.roles),
        Board(BOARD.name, BOARD.parts, dict(reversed(BOARD.roles.items()))),
        changed("R1", position=(1e-3, 2e-3), rotation=90.0),
    ]
    expected = table_key(BOARD, SETUP, DIODE, FAULTS)
    assert {table_key(board, SETUP, DIODE, FAULTS) for board in same} == {expected}
    assert table_key(BOARD, BenchSetup(cleaned=True), DIODE, FAULTS) == expected
