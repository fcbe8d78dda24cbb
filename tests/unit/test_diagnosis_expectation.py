"""What the meter should show, healthy and under every candidate."""

from __future__ import annotations

import numpy as np
import pytest
from diagnosis_cases import (
    TABLES,
    candidate_of,
    demo_case,
    demo_references,
    fresh_case,
    healthy,
    pannier,
    small_board,
    small_case,
)
from scipy.integrate import trapezoid

from nextprobe.board import OVER_RANGE, BenchSetup, Meter, MeterMode
from nextprobe.circuit import predict
from nextprobe.diagnosis import Case, Expectation, Reference
from nextprobe.diagnosis.vague import log_densities
from nextprobe.errors import MisuseError

SETUP = BenchSetup()
DIODE = Meter().range_for(MeterMode.DIODE)


def at(case: Case, point: str) -> Expectation:
    assert case.model.expectations is not None
    return case.model.expectations.at(point, SETUP)


def row(case: Case, key: str) -> int:
    return case.model.listed.index(candidate_of(case, key))


def known(value: object, boards: int = 2) -> dict[tuple[str, MeterMode], Reference]:
    return {("J1.1", MeterMode.DIODE): Reference(value, boards, "good boards")}  # type: ignore[arg-type]


@pytest.mark.parametrize("point", ["J1.1", "J1.4", "U1.A3", "SC_VDD"])
def test_the_healthy_value_is_that_of_the_circuit(point: str) -> None:
    expected = predict(small_board(), SETUP, DIODE, point)
    assert healthy(small_case(board=True), point) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(
    ("key", "point"),
    [
        ("leaky:D1@330", "J1.1"),
        ("short:C4", "J1.5"),
        ("open:R1", "J1.4"),
        ("clamp-short:U1.A3", "U1.A3"),
        ("bridge:J1.1~J1.2", "J1.2"),
    ],
)
def test_faults_read_as_the_circuit_with_the_fault(key: str, point: str) -> None:
    case = small_case(board=True)
    fault = candidate_of(case, key).fault
    expected = predict(small_board(), SETUP, DIODE, point, fault)
    found = at(case, point)
    assert not found.over[row(case, key)]
    assert found.mean[row(case, key)] == pytest.approx(expected, abs=1e-3)


def test_faults_that_no_meter_sees_read_as_healthy() -> None:
    case = small_case(board=True)
    found = at(case, "J1.1")
    for key in ("module-bad:scan head", "dirt:J1", "chip-dead:U1", "unlisted:scanner@0.5"):
        assert found.mean[row(case, key)] == found.healthy


def test_a_net_and_its_pins_read_the_same() -> None:
    case = small_case(board=True)
    assert healthy(case, "SC_SDA") == pytest.approx(healthy(case, "J1.4"), abs=1e-6)


def test_a_place_that_the_board_does_not_have_is_misuse() -> None:
    with pytest.raises(MisuseError, match=r"J1\.99"):
        at(small_case(board=True), "J1.99")


def test_good_boards_move_the_healthy_value_and_faults_in_proportion() -> None:
    plain, told = small_case(board=True), small_case(board=True, references=known(0.4))
    index = row(plain, "leaky:D1@330")
    before, after = at(plain, "J1.1"), at(told, "J1.1")
    assert after.healthy == pytest.approx(0.4)
    assert after.source == "good boards"
    assert after.mean[index] / 0.4 == pytest.approx(before.mean[index] / before.mean[-1])


def test_good_boards_make_the_expectation_sharper_and_more_boards_still() -> None:
    spreads = [
        at(case, "J1.1").spread
        for case in (
            small_case(board=True),
            small_case(board=True, references=known(0.65, 1)),
            small_case(board=True, references=known(0.65, 20)),
        )
    ]
    assert spreads == sorted(spreads, reverse=True)
    between = pannier().readings.between_boards
    meter = DIODE.standard_uncertainty(0.65)
    assert spreads[1] == pytest.approx(np.hypot(between * np.sqrt(2.0), meter), rel=1e-6)


def test_good_boards_may_be_known_by_net() -> None:
    references = {("SC_SDA", MeterMode.DIODE): Reference(0.5, 1, "a friend")}
    assert healthy(small_case(board=True, references=references), "J1.4") == pytest.approx(0.5)


def test_over_range_on_good_boards_is_what_healthy_means() -> None:
    case = small_case(board=True, references=known(OVER_RANGE))
    assert healthy(case, "J1.1") is OVER_RANGE


def test_a_short_stays_a_short_where_good_boards_read_over_range() -> None:
    case = small_case(board=True, references=known(OVER_RANGE))
    found, index = at(case, "J1.1"), row(case, "short:D1")
    assert not found.over[index]
    assert found.mean[index] < 0.01


def test_a_number_on_good_boards_where_the_circuit_says_over_range() -> None:
    references = {("J1.3", MeterMode.DIODE): Reference(0.6, 3, "good boards")}
    plain, told = small_case(board=True), small_case(board=True, references=references)
    assert healthy(plain, "J1.3") is OVER_RANGE
    assert healthy(told, "J1.3") == pytest.approx(0.6)
    found, index = at(told, "J1.3"), row(told, "short:C3")
    assert found.mean[index] == at(plain, "J1.3").mean[index]


def test_the_density_of_a_reading_has_the_mass_one_under_every_candidate() -> None:
    found = at(small_case(board=True), "J1.1")
    grid = np.linspace(-0.5, DIODE.full_scale, 4_001)
    inside = trapezoid(np.exp([found.log_likelihood(v) for v in grid]), grid, axis=0)
    atom = np.exp(found.log_likelihood(OVER_RANGE))
    # Slips and unknowns are spread over 0 to full scale; what the grid adds below 0 is theirs.
    unknown = np.exp(log_densities(0.0, found.healthy, DIODE.full_scale)) @ found.disturbed
    spare = 0.5 * (found.slip / DIODE.full_scale + unknown)
    assert np.all(inside + atom >= 0.995)
    assert np.all(inside + atom <= 1.005 + spare)


def test_several_touches_make_a_slip_unlikely() -> None:
    found = at(small_case(board=True), "J1.1")
    once, twice = (found.log_likelihood(OVER_RANGE, touches) for touches in (1, 2))
    assert once[-1] - twice[-1] == pytest.approx(-np.log(found.slip), rel=0.05)


def test_bins_have_the_mass_one() -> None:
    found = at(small_case(board=True), "J1.1")
    bins = found.bins((0.0, 0.1, 0.5, 0.8, 2.0))
    assert bins.shape == (len(found.mean), 5)
    np.testing.assert_allclose(bins.sum(axis=1), 1.0, atol=1e-9)


def test_between_two_magnitudes_the_reading_is_spread() -> None:
    case = small_case(board=True)
    found = at(case, "J1.1")
    less, index, more = (row(case, f"leaky:D1@{ohms}") for ohms in (100, 330, 1000))
    below, above = found.step[:, index]
    assert below == pytest.approx((found.mean[index] - found.mean[less]) / 2.0)
    assert above == pytest.approx((found.mean[more] - found.mean[index]) / 2.0)
    assert (found.step[:, [row(case, "short:D1"), -1]] == 0.0).all()


def test_a_leak_between_two_magnitudes_is_as_likely_as_one_on_the_grid() -> None:
    """A reading half way between two magnitudes fits both steps, and neither less than half."""
    case = small_case(board=True)
    found = at(case, "J1.1")
    one, other = row(case, "leaky:D1@330"), row(case, "leaky:D1@1000")
    middle = found.mean[[one, other]].mean()
    density = np.exp(found.log_likelihood(float(middle)))
    width = found.step[:, one].sum()
    # Inside an even spread of width w the density is at most 1/w, on its edge half of it.
    assert 0.35 / width < density[one] < 0.65 / width
    assert density[one] > 50.0 * density[row(case, "short:D1")]


@pytest.mark.parametrize("size", [0, 0.1, 0.5])
def test_what_is_unlisted_may_read_anything_in_its_region_and_healthy_elsewhere(
    size: float,
) -> None:
    case = small_case(board=True)
    index = row(case, f"unlisted:scanner@{size:g}")
    assert at(case, "J1.1").disturbed[:, index] == pytest.approx([size, 0.0, 0.0])
    assert (at(case, "J2.1").disturbed == 0.0).all()


def test_residue_lowers_and_a_missing_part_raises() -> None:
    case = small_case(board=True)
    found = at(case, "J1.1")
    residue, missing = (
        row(case, key) for key in ("liquid-residue:J1@0.5", "open:?passive open/scanner@0.1")
    )
    assert found.disturbed[:, residue] == pytest.approx([0.0, 0.5, 0.0])
    assert found.disturbed[:, missing] == pytest.approx([0.0, 0.0, 0.1])
    low, over = (found.log_likelihood(value, 3) for value in (0.1, OVER_RANGE))
    assert low[residue] - low[-1] > np.log(100.0) > low[missing] - low[-1]
    assert over[missing] - over[-1] > np.log(100.0) > over[residue] - over[-1]


def test_what_was_assumed_of_the_circuit_is_kept_as_findings_once() -> None:
    expectations = demo_case().model.expectations
    assert expectations is not None
    expectations.table(SETUP)
    seen = list(expectations.findings)
    expectations.table(SETUP)
    assert expectations.findings == seen
    assert len(set(map(str, seen))) == len(seen)


def test_equal_boards_are_solved_once() -> None:
    at(fresh_case(board=True), "J1.1")
    before = len(TABLES._known)
    at(fresh_case(board=True), "J1.1")
    assert len(TABLES._known) == before


def test_known_good_readings_of_the_demo_are_its_healthy_values() -> None:
    case = demo_case()
    for (point, _), reference in demo_references().items():
        value = healthy(case, point)
        if isinstance(reference.value, float):
            assert value == pytest.approx(reference.value), point
        else:
            assert value is OVER_RANGE, point
