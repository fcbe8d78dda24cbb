"""Why a step, and what is said unasked: every sentence from the numbers of its case."""

from __future__ import annotations

import math

import pytest

from nextprobe import Job
from nextprobe.diagnosis import FaultTables
from nextprobe.errors import UnknownStepError
from nextprobe.packs import Pack
from nextprobe.workbench.phrases import say_factor, say_probability, say_share

TABLES = FaultTables()
"""Shared: the demo board is solved once."""


def start(history: str = "drop") -> Job:
    return Job.start("courier-handheld", tables=TABLES, complaint="imaging", history=[history])


@pytest.fixture
def job() -> Job:
    return start()


def test_why_names_price_outcomes_and_runner_up(job: Job) -> None:
    found = job.why()
    assert found.recommended
    assert found.price > 0.0
    assert sum(meaning.probability for meaning in found.meanings) == pytest.approx(1.0)
    kinds = {reason.kind for reason in found.against}
    assert "bounds" in kinds
    assert kinds & {"runner-up", "near tie"}


def test_meanings_are_what_recording_the_outcome_would_give(job: Job) -> None:
    [works] = [m for m in job.why("check:fingerprint").meanings if m.label == "works"]
    job.check("fingerprint", "works")
    now = {item.key: item.probability for item in job.suspects(None)}
    for shift in works.likeliest:
        assert now[shift.key] == pytest.approx(shift.after)


def test_factors_are_ratios_of_odds(job: Job) -> None:
    for meaning in job.why("look:imaging-self-test").meanings:
        for shift in meaning.likeliest:
            odds = [p / (1.0 - p) for p in (shift.before, shift.after)]
            assert shift.factor == pytest.approx(odds[1] / odds[0])


def test_what_a_check_of_a_shared_part_never_tells_apart(job: Job) -> None:
    groups = job.why("check:fingerprint").never_told_apart
    together = next(group for group in groups if any("not seated" in title for title in group))
    assert any("dirt" in title for title in together)
    assert not any("imaging module is bad" in title for title in together)


def test_another_step_says_how_much_more_it_would_cost(job: Job) -> None:
    best = job.recommend()
    worse = best.alternatives[3]
    [reason] = job.why(worse.option.id).against
    assert reason.kind == "rank"
    assert reason.numbers["margin"] == pytest.approx(worse.cost - best.cost)


@pytest.mark.parametrize(
    ("step", "said"),
    [
        ("refresh:restore", "wipes data"),
        ("trial:fingerprint:fit", "lost for good"),
        ("work:large-chip:U1", "ceiling"),
        ("probe:J5.1", "other points tell more"),
        ("trial:battery:refit", "nothing that matters now"),
    ],
)
def test_a_step_that_is_not_offered_says_why(step: str, said: str) -> None:
    job = Job.start("courier-handheld", tables=TABLES, complaint="imaging", ceiling=50.0)
    found = job.why(step)
    assert not found.offered
    assert said in found.against[0].text


def test_an_ending_can_be_asked_about(job: Job) -> None:
    found = job.why("decline")
    assert found.meanings == ()
    assert found.price == pytest.approx(job.knowledge.pack.costs.lost_job)


def test_an_unknown_step_has_no_reasons(job: Job) -> None:
    with pytest.raises(UnknownStepError):
        job.why("check:nothing")


def test_a_swap_before_the_refresh_is_called_weak_with_its_numbers(job: Job) -> None:
    [before] = job.why("trial:imaging:fit").remarks
    assert before.kind == "weak trial"
    assert "not recognised before a refresh" in before.text
    assert before.numbers["factor"] == pytest.approx(1.0, abs=0.1)
    assert before.numbers["factor after refresh"] < 0.1
    job.trial("imaging", "fails")
    [after] = [remark for remark in job.remarks() if remark.kind == "weak trial"]
    weights = {item.key: item.moved for item in job.suspects(None)}["module-bad:imaging"]
    [nats] = [moved.nats for moved in weights if moved.kind == "trial"]
    assert after.numbers["factor"] == pytest.approx(math.exp(nats))


def test_nothing_is_weak_about_a_swap_with_its_refresh(job: Job) -> None:
    assert job.why("trial:imaging:fit-refresh").remarks == ()
    job.trial("imaging", "fails", form="fit-refresh")
    assert not [remark for remark in job.remarks() if remark.kind == "weak trial"]


def test_nothing_is_weak_where_a_module_is_recognised_at_once() -> None:
    job = Job.start(template="camera")
    assert job.why("trial:camera:fit").remarks == ()
    job.trial("camera", "fails")
    assert job.remarks() == ()


def test_the_weakness_is_in_the_pack_and_not_in_the_name(job: Job) -> None:
    pack = job.so_far.package.pack
    module = pack.modules["imaging"].model_copy(update={"recognised": "at once"})
    other: Pack = pack.model_copy(update={"modules": {**pack.modules, "imaging": module}})
    changed = Job.start(other, complaint="imaging", history=["drop"])
    assert changed.why("trial:imaging:fit").remarks == ()


def test_working_after_swap_and_refresh_has_two_explanations() -> None:
    job = start("modules swapped")
    job.trial("imaging", "works", form="fit-refresh")
    [remark] = job.remarks()
    assert remark.kind == "two explanations"
    assert "refitting the original" in remark.text
    assert "48.00 EUR" in remark.text
    live = {item.key: item.probability for item in job.suspects(None)}
    assert remark.numbers["module bad"] == pytest.approx(live["module-bad:imaging"])
    job.trial("imaging", "works", form="refit")
    assert job.remarks() == ()


def test_working_after_a_refresh_alone_has_one_explanation() -> None:
    job = start("modules swapped")
    job.refresh("update", "works")
    assert job.remarks() == ()


def test_readings_that_fit_nothing_make_the_model_confess(job: Job) -> None:
    for point, value in (("J4.3", "0.1"), ("J4.5", "OL"), ("J4.22", "1.5"), ("J4.8", "0.1")):
        job.read(point, value)
        job.read(point, value)
    kinds = {remark.kind for remark in job.remarks()}
    assert kinds & {"unlisted leads", "unexplained reading"}
    assert any("does not explain this board" in remark.text for remark in job.remarks())


def test_an_odd_reading_beside_certainty_is_named() -> None:
    job = start("modules swapped")
    job.refresh("update", "works")
    job.look("imaging self-test", "nothing")
    job.read("J4.4", "1.9")
    texts = [remark.text for remark in job.remarks() if remark.kind == "unexplained reading"]
    assert len(texts) == 1
    assert "J4.4 reads (1.900 V, high)" in texts[0]


def test_expected_readings_are_not_remarked_on(job: Job) -> None:
    for point in ("J4.3", "J4.4", "J4.5", "J4.6"):
        healthy = job.expected(point).healthy
        job.read(point, healthy)
    assert job.remarks() == ()


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (1.0, "about as likely as before"),
        (2.0, "a little more likely"),
        (0.5, "a little less likely"),
        (10.0, "clearly more likely"),
        (0.01, "much less likely"),
        (1e6, "very much more likely"),
        (0.0, "very much less likely"),
    ],
)
def test_factors_in_words(factor: float, words: str) -> None:
    assert say_factor(factor) == words


@pytest.mark.parametrize(
    ("probability", "words", "share"),
    [
        (0.99, "almost certain", "99 %"),
        (0.99995, "almost certain", "above 99.9 %"),
        (0.6, "likely", "60 %"),
        (0.3, "possible", "30 %"),
        (0.0412, "very unlikely", "4.1 %"),
        (0.0004, "very unlikely", "below 0.1 %"),
    ],
)
def test_probabilities_in_words(probability: float, words: str, share: str) -> None:
    assert (say_probability(probability), say_share(probability)) == (words, share)
