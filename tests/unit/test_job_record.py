"""What can be recorded in a job, in which words, and what is refused."""

from __future__ import annotations

import pytest

from nextprobe import Job
from nextprobe.board import OVER_RANGE, MeterMode
from nextprobe.diagnosis import Check, FaultTables, Fit, Probe, Refresh, Work
from nextprobe.errors import DataError, MisuseError, Severity, UnknownStepError

TABLES = FaultTables()
"""Shared: the demo board is solved once."""


@pytest.fixture
def job() -> Job:
    return Job.start("courier-handheld", tables=TABLES, complaint="imaging", history=["drop"])


def acts(job: Job) -> list[object]:
    return [move.act for move in job.so_far.moves]


def test_a_check_moves_the_suspects(job: Job) -> None:
    before = {item.key: item.probability for item in job.suspects(None)}
    recorded = job.record("check:fingerprint", "works")
    after = {item.key: item.probability for item in job.suspects(None)}
    assert (recorded.event, recorded.kind) == (2, "moves recorded")
    assert after["dirt:J4"] < before["dirt:J4"]
    assert after["module-bad:imaging"] > before["module-bad:imaging"]


@pytest.mark.parametrize(
    "spelling", ["check:front-camera", "check:front camera", "CHECK:Front-Camera"]
)
def test_blanks_hyphens_and_capitals_of_a_step_do_not_matter(job: Job, spelling: str) -> None:
    assert job.record(spelling, "Works").step == "check:front-camera"


def test_a_step_that_was_not_recommended_may_be_recorded(job: Job) -> None:
    offered = {option.id for option in job.case.problem.options(job.case.situation)}
    assert "trial:battery:fit" not in offered
    job.record("trial:battery:fit", "fails")
    assert acts(job) == [Fit("battery", "donor"), Check("imaging")]


@pytest.mark.parametrize(
    ("step", "like"),
    [
        ("check:imagin", "check:imaging"),
        ("look:liquid-indicatr", "look:liquid-indicator"),
        ("trial:imaging:swap", "trial:imaging:fit"),
        ("run:J5:beyon", "run:J4:beyond"),
        ("xyzzy", "'next' lists the steps"),
    ],
)
def test_an_unknown_step_lists_what_is_like_it(job: Job, step: str, like: str) -> None:
    with pytest.raises(UnknownStepError, match=like):
        job.record(step, "works")
    assert len(job.events()) == 1


def test_a_trial_with_refresh_is_three_acts(job: Job) -> None:
    job.record("trial:imaging:fit-refresh", "works")
    assert acts(job) == [Fit("imaging", "donor"), Refresh("update"), Check("imaging")]
    assert job.case.situation.working is True


def test_a_refresh_that_fails_stops_the_trial_and_its_code_is_said(job: Job) -> None:
    recorded = job.trial("imaging", "refresh failed E-40", form="fit-refresh")
    assert acts(job) == [Fit("imaging", "donor"), Refresh("update")]
    assert job.so_far.moves[-1].result == "failed"
    assert job.so_far.entries[0].code == "E-40"
    assert "the firmware does not know it" in recorded.findings[0].what


def test_an_unknown_code_is_kept_with_a_warning(job: Job) -> None:
    recorded = job.refresh("update", "refresh failed (E-99)")
    assert job.so_far.entries[0].code == "E-99"
    assert recorded.findings[0].severity is Severity.WARNING


@pytest.mark.parametrize(
    ("step", "result", "remedy"),
    [
        ("check:imaging", "wroks", "did you mean 'works'"),
        ("check:imaging", "", "one of: works, fails"),
        ("check:imaging", "refresh failed", "one of: works, fails"),
        ("look:liquid-indicator", "changed color", "did you mean 'changed colour'"),
        ("refresh:update", "maybe", "refresh failed"),
        ("run:J4", "0.4", "a value for each pin"),
    ],
)
def test_a_result_that_is_none_of_the_step_is_refused(
    job: Job, step: str, result: str, remedy: str
) -> None:
    with pytest.raises(DataError) as caught:
        job.record(step, result)
    assert remedy in caught.value.findings[0].remedy
    assert len(job.events()) == 1


@pytest.mark.parametrize(
    ("value", "mode", "read"),
    [
        ("452", "diode", 0.452),
        (".452", "diode", 0.452),
        (0.452, "diode", 0.452),
        ("OL", "diode", OVER_RANGE),
        (OVER_RANGE, "diode", OVER_RANGE),
        ("gnd", "diode", 0.0),
        ("4k7", "ohms", 4700.0),
        (33.0, "low-ohms", 33.0),
        ("100n", MeterMode.CAPACITANCE, 100e-9),
        ("-1.2 V", "dc volts", -1.2),
    ],
)
def test_readings_are_read_as_people_write_them(
    job: Job, value: str | float, mode: str, read: float
) -> None:
    job.read("J4.4", value, mode=mode)
    reading = job.so_far.moves[0].reading
    assert reading is not None
    assert reading.value == read
    assert reading.time > 0.0


@pytest.mark.parametrize(
    ("value", "mode"),
    [
        ("4k7", "diode"),
        ("0.45 A", "diode"),
        ("452 V", "diode"),
        ("7", "diode"),
        ("", "diode"),
        ("nc", "diode"),
        ("2.5 V", "diode"),
        (-0.1, "diode"),
        (float("nan"), "diode"),
        (1e9, "ohms"),
        ("-12", "ohms"),
        ("0.4 V", "capacitance"),
    ],
)
def test_what_is_no_reading_is_refused_with_a_remedy(
    job: Job, value: str | float, mode: str
) -> None:
    with pytest.raises(DataError) as caught:
        job.read("J4.4", value, mode=mode)
    [finding] = caught.value.findings
    assert finding.where.name == "J4.4"
    assert finding.remedy
    assert len(job.events()) == 1


def test_an_unknown_mode_is_misuse(job: Job) -> None:
    with pytest.raises(MisuseError, match="diode, ohms"):
        job.read("J4.4", "0.4", mode="hertz")


def test_a_point_that_no_board_knows_is_kept_with_a_warning(job: Job) -> None:
    recorded = job.read("J4.99", "0.4")
    [finding] = recorded.findings
    assert finding.severity is Severity.WARNING
    assert "J4.9" in finding.remedy
    assert job.so_far.moves[0].act == Probe("J4.99")


def test_small_letters_of_a_point_are_understood(job: Job) -> None:
    assert job.read("j4.4", "0.53").findings == ()
    assert job.so_far.moves[0].act == Probe("J4.4")


def test_a_dead_rail_is_weighed_and_its_measurement_not_offered_again(job: Job) -> None:
    dead = {item.key: item.probability for item in job.suspects(None)}
    job.record("probe:IMG_VDD12:volts", "0.01 V")
    after = {item.key: item.probability for item in job.suspects(None)}
    assert after["no-output:U3"] > 2.0 * dead["no-output:U3"]
    offered = {option.id for option in job.case.problem.options(job.case.situation)}
    assert "probe:IMG_VDD12:volts" not in offered


def test_live_voltages_of_no_known_rail_are_kept_and_not_weighed(job: Job) -> None:
    before = job.suspects()
    recorded = job.read("J4.4", "1.8 V", mode="dc-volts")
    assert recorded.findings[0].severity is Severity.NOTE
    assert len(job.so_far.moves) == 1
    assert job.suspects() == before


def test_a_run_is_recorded_in_order_with_bare_pins(job: Job) -> None:
    job.record("run:J4", [("3", "0.656"), ("J4.4", 0.53), ("4", "OL")])
    assert acts(job) == [Probe("J4.3"), Probe("J4.4"), Probe("J4.4")]
    job.record("run:J4", {"5": [0.2, 0.2], "6": "0.533"})
    assert acts(job)[3:] == [Probe("J4.5"), Probe("J4.5"), Probe("J4.6")]


def test_a_bad_reading_in_a_run_is_left_out_and_said(job: Job) -> None:
    recorded = job.record("run:J4", {"3": "0.656", "4": "4k7"})
    assert acts(job) == [Probe("J4.3")]
    assert [finding.where.name for finding in recorded.findings] == ["J4.4"]
    with pytest.raises(DataError):
        job.record("run:J4", {"4": "4k7"})


def test_many_readings_of_a_donor_become_references(job: Job) -> None:
    job.read_text("J4.3 .700\nJ4.4 OL\nJ4.5 gnd\n", device="donor")
    assert job.case.references["J4.3", MeterMode.DIODE].value == 0.7
    assert job.case.references["J4.4", MeterMode.DIODE].value is OVER_RANGE
    assert "donor" in job.expected("J4.3").source
    assert job.expected("J4.3").healthy == pytest.approx(0.7)


def test_lines_of_other_modes_are_read_too(job: Job) -> None:
    recorded = job.read_text("4 = 2k2  # pull-up\nwhat\n", "donor", mode="ohms", connector="J4")
    reading = job.so_far.moves[0].reading
    assert reading is not None
    assert (reading.point, reading.value) == ("J4.4", 2200.0)
    assert [finding.where.line for finding in recorded.findings] == [2]


def test_any_work_at_any_place_is_kept(job: Job) -> None:
    job.work("backup", "imaging")
    assert job.case.situation.configuration.backed_up
    job.work("clean", "J4", "fails")
    assert acts(job)[1:] == [Work("clean", "J4"), Check("imaging")]
    recorded = job.work("small-passive", "C9999")
    assert recorded.findings[0].severity is Severity.WARNING
    with pytest.raises(UnknownStepError, match="clean"):
        job.work("cleen", "J4")


def test_a_refresh_puts_the_originals_back_first(job: Job) -> None:
    job.trial("imaging", "fails")
    job.refresh("update", "fails")
    assert Fit("imaging", "original") in acts(job)


def test_a_job_that_has_ended_takes_no_more_until_reopened(job: Job) -> None:
    recorded = job.record("decline")
    assert recorded.kind == "closed"
    assert job.next_steps() == ()
    with pytest.raises(MisuseError, match="withdraw event 2"):
        job.check("imaging", "works")
    job.note("the customer called")
    job.withdraw(2)
    job.check("imaging", "works")
    assert job.next_steps(1)


def test_closing_notes_what_is_handed_over(job: Job) -> None:
    job.trial("imaging", "works", form="fit-refresh")
    recorded = job.close()
    assert "donor imaging stays in" in recorded.said
    closing = job.so_far.closing
    assert closing is not None
    assert dict(closing.fitted)["imaging"] == "donor"


def test_notes_change_nothing(job: Job) -> None:
    before = job.suspects()
    job.note("smells of coffee")
    assert job.suspects() == before
    with pytest.raises(MisuseError):
        job.note("  ")


def test_an_event_stays_when_nothing_can_be_computed_from_it(
    job: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_arguments: object, **_named: object) -> None:
        raise ArithmeticError("no solution")

    with monkeypatch.context() as patch:
        patch.setattr("nextprobe.diagnosis.replay.accept", broken)
        with pytest.raises(DataError, match="event 2 is recorded") as caught:
            job.check("imaging", "fails")
        assert "withdraw 2" in caught.value.findings[0].remedy
        assert len(job.events()) == 2
    assert job.case.situation.working is False
