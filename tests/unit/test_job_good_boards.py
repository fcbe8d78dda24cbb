"""Known-good boards at the bench: what a job takes from them, and what it leaves behind."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from nextprobe import Job
from nextprobe.board import OVER_RANGE, BenchSetup, Meter, MeterMode
from nextprobe.diagnosis.expectation import _ANY_MODE as DIAGNOSIS_ANY_MODE
from nextprobe.errors import DataError, MisuseError, SettingError, Severity
from nextprobe.job import good_rows
from nextprobe.job.good_boards import at_most, corrected, donor_boards, keep_all
from nextprobe.job.good_entry import bench_setup, typed_readings
from nextprobe.job.good_rows import between_boards, merged_rows, priors_of, say_source
from nextprobe.job.good_shelf import good_shelf, shelf_of_job
from nextprobe.packs import pack_from_template
from nextprobe.packs.known_good import KnownGood
from nextprobe.reference import GoodBoard, GoodBoards, SpreadPrior, predictive
from nextprobe.store import GoodBoardStore, open_good_boards
from nextprobe.store.good_boards import GOOD_FILE

DEVICE = "Brindle 4"
PACK = pack_from_template("camera", DEVICE)
DIODE = MeterMode.DIODE
BETWEEN = PACK.readings.between_boards


def board(label: str, setup: BenchSetup | None = None, **values: object) -> GoodBoard:
    readings = tuple((point.replace("_", "."), value) for point, value in values.items())
    return GoodBoard(DEVICE, label, readings, setup or BenchSetup())  # type: ignore[arg-type]


def row(point: str, value: object, boards: int = 2) -> KnownGood:
    return KnownGood(point, DIODE, value, boards, "the pack", 7)  # type: ignore[arg-type]


def merged(rows, *boards) -> dict[str, KnownGood]:
    found, _ = merged_rows(PACK, rows, GoodBoards(boards))
    return {each.point: each for each in found}


def test_without_boards_the_rows_of_the_pack_stay_as_they_are() -> None:
    rows = (row("J4.1", 0.45), row("J4.2", OVER_RANGE))
    assert merged_rows(PACK, rows, GoodBoards()) == (rows, ())


def test_boards_and_pack_are_weighed_by_their_number_in_one_prediction() -> None:
    values = [0.455, 0.461, 0.449]
    boards = [board(str(n), J4_1=value) for n, value in enumerate(values)]
    found = merged([row("J4.1", 0.45, 2), row("J4.9", 0.7)], *boards)
    prior = SpreadPrior(BETWEEN, mean=0.45, boards=2.0)
    expected = predictive(values, prior)
    good = found["J4.1"]
    assert good.value == pytest.approx((2 * 0.45 + sum(values)) / 5)
    assert good.boards == 5
    assert good.spread is not None
    assert good.spread.boards == 3
    assert good.spread.predictive_deviation(5) == pytest.approx(expected.deviation)
    assert good.source == "the pack with 3 boards kept here (0, 1, 2), spread measured between them"
    assert found["J4.9"] == row("J4.9", 0.7)


def test_a_board_measured_twice_counts_once() -> None:
    found = merged([], board("A", J4_1=0.45), board("a", J4_1=0.46), board("B", J4_1=0.47))
    assert (found["J4.1"].boards, found["J4.1"].value) == (2, pytest.approx(0.465))


def test_other_set_ups_do_not_get_into_a_job() -> None:
    others = [
        BenchSetup(plugged=frozenset({"camera"})),
        BenchSetup(clamped="J4.2"),
        BenchSetup(clamped_is_positive=False),
        BenchSetup(temperature=330.0),
    ]
    assert merged([], *(board("A", each, J4_1=0.5) for each in others)) == {}


def test_modes_are_rows_of_their_own() -> None:
    ohms = board("A", BenchSetup(MeterMode.OHMS), J4_1=4700.0)
    found, _ = merged_rows(PACK, [], GoodBoards((board("A", J4_1=0.45), ohms)))
    assert {each.mode: each.value for each in found} == {DIODE: 0.45, MeterMode.OHMS: 4700.0}


def test_the_state_that_most_boards_are_in_is_the_good_one() -> None:
    over = [board(name, J4_1=OVER_RANGE) for name in "AB"]
    found = merged([], *over, board("C", J4_1=0.45))["J4.1"]
    assert (found.value, found.boards, found.spread) == (OVER_RANGE, 2, None)
    assert found.source == "2 boards kept here (A, B)"
    against_the_pack = merged([row("J4.1", 0.45, 5)], over[0])["J4.1"]
    assert (against_the_pack.value, against_the_pack.boards) == (0.45, 5)
    assert against_the_pack.source == "the pack"


def test_boards_that_do_not_fit_are_said_and_counted_all_the_same() -> None:
    boards = [board(name, J4_1=0.45) for name in "ABC"]
    found, said = merged_rows(PACK, [], GoodBoards((*boards, board("odd", J4_1=0.95))))
    assert found[0].boards == 4
    [finding] = said
    assert finding.severity is Severity.WARNING
    assert "odd" in str(finding)
    assert "0.950 V at J4.1" in finding.what
    assert "0.450 V" in finding.what


def test_many_misfits_are_said_briefly() -> None:
    boards = [board(name, **{f"J4_{n}": 0.45 for n in range(20)}) for name in "ABC"]
    odd = board("odd", **{f"J4_{n}": 0.95 for n in range(20)})
    _, said = merged_rows(PACK, [], GoodBoards((*boards, odd)))
    briefly = at_most(said)
    assert len(said) == 20
    assert len(briefly) == 6
    assert briefly[-1].what.startswith("15 more")


def test_sources_name_a_few_boards_and_count_the_rest() -> None:
    said = say_source([f"DON-{n}" for n in range(9)], None, measured=False)
    assert said == "9 boards kept here (DON-0, DON-1, DON-2, DON-3 and 5 more)"
    assert say_source(["A"], KnownGood("J4.1", DIODE, 0.4, 3), False).startswith(
        "3 boards of the pack with 1 board kept here"
    )


@pytest.mark.parametrize("mode", list(MeterMode))
def test_the_spread_between_boards_is_the_one_of_the_diagnosis_and_never_nothing(mode) -> None:
    assert good_rows._ANY_MODE == DIAGNOSIS_ANY_MODE
    prior = priors_of(PACK, ())("J4.1", BenchSetup(mode), 0.0)
    assert prior.deviation >= Meter().range_for(mode).resolution


def test_the_spread_between_boards_in_ohms_is_a_share_with_a_floor() -> None:
    data = PACK.readings.modes["ohms"]
    expected = math.hypot(data.between_boards * 4700.0, data.floor)
    assert between_boards(PACK, MeterMode.OHMS, 4700.0) == pytest.approx(expected)
    assert between_boards(PACK, DIODE, 0.45) == BETWEEN


def started(home: Path, name: str = "one") -> Job:
    return Job.start(template="camera", device=DEVICE, store=home, job_id=name)


def test_a_job_takes_the_boards_that_are_kept_beside_it_and_no_others(tmp_path: Path) -> None:
    store = open_good_boards(tmp_path)
    for number in range(3):
        store.keep(board(f"DON-{number}", J4_3=0.45 + number / 1000))
    job = started(tmp_path)
    reference = job.knowledge.references["J4.3", DIODE]
    assert (reference.boards, reference.value) == (3, pytest.approx(0.451))
    assert reference.deviation is not None
    assert "3 boards kept here" in reference.source
    again = Job.open("one", tmp_path)
    assert again.knowledge.references == job.knowledge.references
    elsewhere = Job.start(template="camera", device="Parcel Reader 7", store=tmp_path)
    assert elsewhere.knowledge.references == {}
    in_memory = Job.start(template="camera", device=DEVICE)
    assert in_memory.knowledge.references == {}


def test_what_is_kept_later_does_not_change_a_job_that_has_started(tmp_path: Path) -> None:
    open_good_boards(tmp_path).keep(board("DON-1", J4_3=0.45))
    job = started(tmp_path)
    before = job.knowledge.references
    open_good_boards(tmp_path).keep(board("DON-2", J4_3=0.46))
    assert Job.open("one", tmp_path).knowledge.references == before


def test_a_donor_kept_from_a_job_counts_in_the_next_one_and_not_again_in_its_own(
    tmp_path: Path,
) -> None:
    job = started(tmp_path)
    job.read_text("J4.3 452\nJ4.4 OL\n", "donor")
    job.read("J4.3", "454", "donor")
    references = job.case.references
    store = open_good_boards(tmp_path)
    records = donor_boards(job)
    assert [(each.label, dict(each.readings)) for each in records] == [
        ("donor of one", {"J4.3": 0.454, "J4.4": OVER_RANGE})
    ]
    assert records[0].source == "donor in job one"
    assert records[0].measured_on is not None
    kept, findings = keep_all(store, records, shelf_of_job(job, store).priors)
    assert len(kept) == 1
    assert findings == ()
    same = Job.open("one", tmp_path)
    assert same.knowledge.references == job.knowledge.references
    assert same.case.references == references
    later = started(tmp_path, "two").knowledge.references
    assert later["J4.3", DIODE].source == "1 board kept here (donor of one)"
    assert later["J4.4", DIODE].value is OVER_RANGE


def test_one_donor_of_a_job_is_one_board_however_often_it_is_kept(tmp_path: Path) -> None:
    job = started(tmp_path)
    job.read_text("J4.3 452\n", "donor")
    store = open_good_boards(tmp_path)
    priors = shelf_of_job(job, store).priors
    keep_all(store, donor_boards(job, "DON-9"), priors)
    kept, [finding] = keep_all(store, donor_boards(job, kept=store.boards(DEVICE)), priors)
    assert kept == ()
    assert finding.severity is Severity.NOTE
    assert "kept already" in finding.what
    with pytest.raises(MisuseError, match="kept as DON-9"):
        donor_boards(job, "DON-10", kept=store.boards(DEVICE))
    job.read_text("J4.5 600\n", "donor")
    keep_all(store, donor_boards(job, kept=store.boards(DEVICE)), priors)
    assert store.boards(DEVICE).labels == ("DON-9",)
    assert set(store.boards(DEVICE).points(BenchSetup())) == {"J4.3", "J4.5"}


def test_several_donors_and_modes_are_records_of_their_own(tmp_path: Path) -> None:
    job = started(tmp_path)
    with pytest.raises(MisuseError, match="no donor was measured"):
        donor_boards(job)
    job.read_text("J4.3 452\n", "donor")
    job.read_text("J4.3 4k7\n", "donor", mode="ohms")
    job.read_text("J4.3 460\n", "second donor")
    assert [(each.label, each.setup.mode) for each in donor_boards(job)] == [
        ("donor of one", DIODE),
        ("donor of one", MeterMode.OHMS),
        ("second donor of one", DIODE),
    ]
    with pytest.raises(MisuseError, match="several donors"):
        donor_boards(job, "DON-1")
    assert len(donor_boards(job, "DON-1", "second donor")) == 1
    with pytest.raises(MisuseError, match="third"):
        donor_boards(job, device="third")


def test_a_damaged_file_of_boards_is_a_warning_and_the_job_starts(tmp_path: Path) -> None:
    (tmp_path / GOOD_FILE).write_bytes(b"no database at all" * 500)
    job = started(tmp_path)
    [finding] = job.started_with
    assert finding.severity is Severity.WARNING
    assert GOOD_FILE in finding.what


def test_boards_that_are_kept_already_look_like_another_or_unlike_themselves_are_said() -> None:
    store = GoodBoardStore()
    priors = priors_of(PACK, ())
    same = {f"J4_{n}": 0.45 + n / 100 for n in range(6)}

    def said(new: GoodBoard) -> list[tuple[Severity, bool]]:
        kept, found = keep_all(store, [new], priors)
        return [(each.severity, bool(kept)) for each in found]

    assert said(board("A", **same)) == []
    assert said(board("A", **same)) == [(Severity.NOTE, False)]
    assert said(board("B", **same)) == [(Severity.NOTE, False)]
    assert said(board("B", **same, J4_9=0.6)) == [(Severity.ERROR, False)]
    assert said(board("A", J4_1=0.48)) == [(Severity.WARNING, True)]
    assert store.boards(DEVICE).labels == ("A",)


def test_a_correction_keeps_the_readings_that_were_right() -> None:
    old = board("A", J4_1=0.45, J4_2=0.6)
    new = corrected(old, (("J4.2", 0.61), ("J4.3", OVER_RANGE)), "B")
    assert new.label == "B"
    assert dict(new.readings) == {"J4.1": 0.45, "J4.2": 0.61, "J4.3": OVER_RANGE}


def test_typed_readings_are_read_and_mistakes_are_named() -> None:
    values, findings = typed_readings("J4.12 452\n13=OL\nJ4.12 460\n14 = abc\n", "J4", DIODE, None)
    assert dict(values) == {"J4.12": 0.452, "J4.13": OVER_RANGE}
    assert [each.where.name for each in findings] == ["J4.12", "J4.14"]
    with pytest.raises(DataError):
        typed_readings("J4.12 abc", "J4", DIODE, None)


def test_set_ups_are_said_in_words_of_the_pack() -> None:
    found = bench_setup(PACK, None, MeterMode.OHMS, plugged=["camera"], celsius=40.0)
    assert found.plugged == frozenset({"camera"})
    assert found.temperature == pytest.approx(313.15)
    with pytest.raises(MisuseError, match="did you mean 'camera'"):
        bench_setup(PACK, None, DIODE, plugged=["camrea"])
    with pytest.raises(SettingError):
        bench_setup(PACK, None, DIODE, celsius=400.0)


def test_a_shelf_is_found_by_pack_or_by_a_device_that_boards_are_kept_of() -> None:
    store = GoodBoardStore()
    with pytest.raises(MisuseError, match="boards are kept of: no device yet"):
        good_shelf(DEVICE, store)
    store.keep(board("A", J4_1=0.45))
    assert good_shelf("brindle 4", store).boards.labels == ("A",)
    with pytest.raises(MisuseError, match=f"boards are kept of: {DEVICE}"):
        good_shelf("Parcel Reader 7", store)


@pytest.mark.parametrize("number", [1, 2, 3, 5])
def test_what_is_shown_of_a_job_is_what_a_job_expects(number: int) -> None:
    store = GoodBoardStore()
    values = [0.45, 0.461, 0.447, 0.452, 0.458][:number]
    for place, value in enumerate(values):
        store.keep(board(str(place), J4_1=value))
    shelf = good_shelf(DEVICE, store)
    found = shelf.in_job("J4.1", BenchSetup())
    assert found is not None
    meter = Meter().range_for(DIODE).standard_uncertainty(found.value)
    measured = predictive(values, SpreadPrior(BETWEEN), meter).deviation
    by_the_pack = ((BETWEEN**2) * (1 + 1 / number) + meter**2) ** 0.5
    assert found.deviation == pytest.approx(measured if number >= 3 else by_the_pack)
    summary = shelf.summary("J4.1", BenchSetup())
    assert (summary.boards, summary.pack_boards) == (number, 0)
    assert summary.now.deviation == pytest.approx(measured)
    assert shelf.in_job("J4.7", BenchSetup()) is None
