"""Known-good boards taken together: what each says, which are the same, which do not fit."""

from __future__ import annotations

import math

import pytest

from nextprobe.board import OVER_RANGE, BenchSetup, MeterMode
from nextprobe.errors import MisuseError
from nextprobe.reference import (
    GoodBoard,
    GoodBoards,
    MeasuredSpread,
    SpreadPrior,
    fits,
    measured_spread,
    misfits,
    predictive,
    same_bench,
    tightening,
)

BENCH = BenchSetup()
PRIOR = SpreadPrior(deviation=0.015)


def board(label: str, setup: BenchSetup = BENCH, **values: object) -> GoodBoard:
    readings = tuple((point.replace("_", "."), value) for point, value in values.items())
    return GoodBoard("Satchel 3", label, readings, setup)  # type: ignore[arg-type]


def priors(_point: str, _bench: BenchSetup, _about: float | None) -> SpreadPrior:
    return PRIOR


@pytest.mark.parametrize(
    ("label", "readings"),
    [
        ("", (("J4.1", 0.4),)),
        ("A", ()),
        ("A", (("J4.1", math.inf),)),
        ("A", (("J4.1", 0.4), ("J4.1", 0.5))),
    ],
)
def test_a_record_without_a_label_or_sound_readings_is_misuse(label, readings) -> None:
    with pytest.raises(MisuseError):
        GoodBoard("Satchel 3", label, readings)


def test_set_ups_are_never_mixed() -> None:
    others = [
        BenchSetup(MeterMode.OHMS),
        BenchSetup(clamped="J4.1"),
        BenchSetup(clamped_is_positive=False),
        BenchSetup(plugged=frozenset({"imaging"})),
        BenchSetup(removed=frozenset({"D404"})),
        BenchSetup(temperature=323.15),
    ]
    found = GoodBoards((board("A", J4_2=0.45), *(board("B", each, J4_2=0.9) for each in others)))
    assert len(found.benches) == 1 + len(others)
    assert found.at("J4.2", BENCH) == {"A": 0.45}


@pytest.mark.parametrize("celsius", [15.5, 23.0, 34.5])
def test_any_room_temperature_is_one_and_a_good_board_is_clean(celsius: float) -> None:
    assert same_bench(BenchSetup(temperature=celsius + 273.15, cleaned=True)) == BENCH


def test_the_later_reading_of_one_board_counts_and_labels_differ_by_more_than_case() -> None:
    found = GoodBoards((board("Don 1", J4_2=0.45, J4_3=0.6), board("don  1", J4_2=0.46)))
    assert found.labels == ("Don 1",)
    assert list(found.at("J4.2", BENCH).values()) == [0.46]
    assert list(found.at("J4.3", BENCH).values()) == [0.6]


TELLING = {"J4_1": 0.452, "J4_2": 0.611, "J4_3": 0.533, "J4_4": 0.702, "J4_5": 0.48}


def test_a_board_is_recognised_by_what_it_reads() -> None:
    kept = board("A", **TELLING, J4_6=OVER_RANGE)
    found = GoodBoards((kept,))
    assert found.known(kept) is kept
    assert found.known(board("a", J4_1=0.452)) is kept
    assert found.known(board("B", **TELLING)) is kept
    assert found.known(board("B", J4_1=0.452, J4_2=0.611)) is None
    assert found.known(board("B", **{**TELLING, "J4_5": 0.481})) is None
    assert found.known(board("B", BenchSetup(MeterMode.OHMS), **TELLING)) is None
    wider = board("B", **TELLING, J4_9=0.7)
    assert found.known(wider) is None
    assert found.namesake(wider) is kept
    assert found.namesake(board("A", **TELLING)) is None


@pytest.mark.parametrize(
    ("mode", "value"),
    [(MeterMode.DIODE, OVER_RANGE), (MeterMode.DIODE, 0.0), (MeterMode.LOW_OHMS, 0.3)],
)
def test_what_reads_alike_on_any_board_does_not_tell_boards_apart(mode, value) -> None:
    same = {f"J4_{number}": value for number in range(20)}
    setup = BenchSetup(mode)
    assert GoodBoards((board("A", setup, **same),)).known(board("B", setup, **same)) is None


def test_a_reading_taken_back_later_is_not_known_any_more() -> None:
    found = GoodBoards((board("A", J4_1=0.452), board("A", J4_1=0.46)))
    assert found.known(board("A", J4_1=0.452)) is None


def test_the_spread_that_was_measured_is_the_predictive_without_its_mean() -> None:
    values = [0.45, 0.461, OVER_RANGE, 0.447]
    spread = measured_spread(values, PRIOR)
    assert spread is not None
    assert spread.boards == 3
    assert spread.is_enough
    expected = predictive(values, PRIOR).deviation
    assert spread.predictive_deviation(3.0) == pytest.approx(expected, rel=1e-12)
    assert measured_spread([OVER_RANGE], PRIOR) is None


def test_one_more_board_can_be_added_to_what_is_left_of_the_others() -> None:
    prior = SpreadPrior(deviation=0.015, mean=0.44, boards=2.0)
    values = [0.45, 0.461, 0.447]
    spread, found = measured_spread(values, prior), predictive(values, prior)
    assert spread is not None
    assert found.mean is not None
    mean, more = spread.with_board(found.mean, 5.0, 0.5)
    whole = predictive([*values, 0.5], prior)
    assert mean == pytest.approx(whole.mean)
    assert more.degrees == whole.degrees
    assert more.predictive_deviation(6.0) == pytest.approx(whole.deviation)


@pytest.mark.parametrize(("deviation", "degrees"), [(0.0, 4.0), (0.01, 0.0), (math.inf, 4.0)])
def test_a_spread_of_nothing_is_misuse(deviation: float, degrees: float) -> None:
    with pytest.raises(MisuseError):
        MeasuredSpread(3, deviation, degrees)


def test_a_board_that_does_not_fit_is_named_with_point_and_distance() -> None:
    good = [board(name, J4_1=0.45 + n / 500, J4_2=0.6) for n, name in enumerate("ABCD")]
    found = GoodBoards((*good, board("odd", J4_1=0.452, J4_2=0.9)))
    [misfit] = misfits(found, priors)
    assert (misfit.label, misfit.point, misfit.others) == ("odd", "J4.2", 4)
    assert misfit.expected == pytest.approx(0.6)
    assert misfit.score > 8.0
    assert misfit.chance < 0.001
    assert len(fits(found, priors)) == 10


def test_of_two_boards_that_differ_nobody_knows_which_is_odd() -> None:
    found = GoodBoards((board("A", J4_1=0.45), board("B", J4_1=0.95)))
    assert [fit.label for fit in misfits(found, priors)] == ["A", "B"]


def test_over_range_where_all_others_read_a_number_does_not_fit_nor_the_reverse() -> None:
    numbers = [board(name, J4_1=0.45) for name in "ABC"]
    [misfit] = misfits(GoodBoards((*numbers, board("odd", J4_1=OVER_RANGE))), priors)
    assert (misfit.label, misfit.score) == ("odd", math.inf)
    over = [board(name, J4_1=OVER_RANGE) for name in "ABC"]
    [misfit] = misfits(GoodBoards((*over, board("odd", J4_1=0.45))), priors)
    assert (misfit.label, misfit.expected) == ("odd", OVER_RANGE)
    assert not misfits(GoodBoards(tuple(over)), priors)


def test_where_boards_are_divided_between_states_none_is_odd() -> None:
    states = [0.45, 0.451, OVER_RANGE, OVER_RANGE]
    found = [board(str(n), J4_1=value) for n, value in enumerate(states)]
    assert not misfits(GoodBoards(tuple(found)), priors)


def test_one_board_is_held_against_what_was_known_before() -> None:
    def known(_point: str, _bench: BenchSetup, _about: float | None) -> SpreadPrior:
        return SpreadPrior(deviation=0.015, mean=0.6, boards=2.0, over_range=(0.1, 2.1))

    [misfit] = misfits(GoodBoards((board("A", J4_1=0.45, J4_2=0.59),)), known)
    assert (misfit.point, misfit.others, misfit.expected) == ("J4.1", 0, 0.6)
    [misfit] = misfits(GoodBoards((board("A", J4_1=OVER_RANGE, J4_2=0.59),)), known)
    assert (misfit.point, misfit.score) == ("J4.1", math.inf)

    def over(_point: str, _bench: BenchSetup, _about: float | None) -> SpreadPrior:
        return SpreadPrior(deviation=0.015, over_range=(2.1, 0.1))

    [misfit] = misfits(GoodBoards((board("A", J4_1=0.45, J4_2=OVER_RANGE),)), over)
    assert (misfit.point, misfit.expected) == ("J4.1", OVER_RANGE)


def test_one_board_alone_fits() -> None:
    assert fits(GoodBoards((board("A", J4_1=0.45),)), priors) == ()


def test_the_prediction_is_given_by_number_of_boards_and_ahead_of_them() -> None:
    values = [0.45, 0.461, 0.447]
    found = tightening(values, PRIOR, measuring=0.003)
    assert [each.boards for each in found] == [0, 1, 2, 3, 5, 10]
    assert [each.ahead for each in found] == [False] * 4 + [True] * 2
    assert found[0].mean is None
    assert (found[0].low, found[0].deviation) == (None, None)
    now = predictive(values, PRIOR, 0.003)
    assert found[3].mean == now.mean
    assert found[3].deviation == now.deviation
    assert found[3].low is not None
    assert found[3].mean is not None
    assert found[3].mean - found[3].low == pytest.approx(1.959964 * now.deviation, rel=1e-6)
    deviations = [each.deviation for each in found[1:]]
    assert deviations == sorted(deviations, reverse=True)


def test_what_is_promised_comes_true_for_boards_that_spread_alike() -> None:
    values = [0.45, 0.461, 0.447]
    found = tightening(values, PRIOR, counts=(4,))[-1]
    # The reading at which the estimated spread stays: one deviation of a new board off the mean.
    spread = measured_spread(values, PRIOR)
    assert spread is not None
    reading = sum(values) / 3 + spread.deviation * math.sqrt(4.0 / 3.0)
    came = predictive([*values, reading], PRIOR)
    assert found.deviation == pytest.approx(came.deviation, rel=1e-9)


def test_where_boards_read_over_range_their_number_says_how_sure_that_is() -> None:
    found = tightening([OVER_RANGE] * 3, PRIOR, counts=(0, 1, 3, 10))
    assert [each.mean for each in found] == [None] * 4
    assert [each.over_range for each in found] == pytest.approx(
        [0.5, 1.1 / 1.2, 3.1 / 3.2, 10.1 / 10.2]
    )


def test_fewer_than_no_boards_is_misuse() -> None:
    with pytest.raises(MisuseError):
        tightening([0.45], PRIOR, counts=(-1,))
