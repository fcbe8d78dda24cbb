"""Facts of the trade that the models must reproduce.

Source of every fact here: common practice, no published source. The tests hold the models to
what any technician would expect, with the demo pack's invented board as the example.
"""

from __future__ import annotations

import pytest
from diagnosis_cases import (
    LATE,
    chance,
    demo,
    demo_case,
    demo_references,
    fails,
    fit,
    log_odds,
    offered,
    pannier,
    probe,
    refresh,
    small_case,
    works,
)

from nextprobe.board import (
    GROUND,
    OVER_RANGE,
    BenchSetup,
    Board,
    Fault,
    FaultKind,
    Meter,
    MeterMode,
    OverRange,
    PartKind,
    Role,
)
from nextprobe.circuit import predict
from nextprobe.packs.schema import FunctionClass
from nextprobe.packs.templates import template_data

DIODE = BenchSetup()
LOW_OHMS = BenchSetup(MeterMode.LOW_OHMS)
METER = Meter()
CLOCK_PAIR = ("J4.21", "J4.23")


def board() -> Board:
    drawn = demo().board
    assert drawn is not None
    return drawn


def reads(point: str, *faults: Fault, setup: BenchSetup = DIODE) -> float | OverRange:
    return predict(board(), setup, METER.range_for(setup.mode), point, *faults)


def number(point: str, *faults: Fault, setup: BenchSetup = DIODE) -> float:
    value = reads(point, *faults, setup=setup)
    assert isinstance(value, float), f"{point} reads over-range"
    return value


def chip_signals() -> list[str]:
    """Return pins of the processor that carry a signal."""
    signals = (Role.LANE, Role.OPEN_DRAIN, Role.LOGIC, Role.CLOCK)
    return [
        f"U1.{pin.number}" for pin in board().part("U1").pins if board().role(pin.net) in signals
    ]


def test_signal_pins_read_between_0_3_and_0_7_volts() -> None:
    values = [reads(point) for point in chip_signals()]
    assert len(values) > 30
    inside = [v for v in values if isinstance(v, float) and 0.3 <= v <= 0.7]
    assert len(inside) >= 0.95 * len(values)


@pytest.mark.parametrize("point", ["J4.4", "J4.8", "J4.3"])
def test_a_reading_near_zero_is_a_short(point: str) -> None:
    net = board().net_of(point)
    chip_pin = next(p for p in board().nets[net].pins if p.startswith(("U1.", "D4")))
    kind = FaultKind.CLAMP_SHORT if chip_pin.startswith("U1.") else FaultKind.SHORT
    place = chip_pin if chip_pin.startswith("U1.") else chip_pin.partition(".")[0]
    assert number(point, Fault(kind, place)) < 0.05


def test_an_open_line_reads_over_range() -> None:
    assert reads("J4.10", Fault(FaultKind.OPEN, "R403")) is OVER_RANGE


# Series capacitors.


@pytest.mark.parametrize("capacitor", ["C401", "C404", "C407", "C408", "C503"])
def test_the_chip_side_of_a_series_capacitor_reads_by_itself(capacitor: str) -> None:
    (chip_side,) = [
        f"{capacitor}.{pin.number}"
        for pin in board().part(capacitor).pins
        if any(other.kind is PartKind.CHIP for other, _ in board().parts_on(pin.net))
    ]
    assert 0.3 <= number(chip_side) <= 0.7


@pytest.mark.parametrize("point", CLOCK_PAIR)
def test_the_connector_side_reads_over_range_where_nothing_conducts(point: str) -> None:
    assert reads(point) is OVER_RANGE


@pytest.mark.parametrize("point", ["J4.3", "J4.5", "J4.9", "J4.11", "J4.15", "J4.17"])
def test_it_reads_a_drop_where_a_protection_part_conducts(point: str) -> None:
    assert 0.3 <= number(point) <= 0.8


@pytest.mark.parametrize(("point", "capacitor"), [("J4.21", "C407"), ("J4.23", "C408")])
def test_a_shorted_series_capacitor_shows_at_the_connector(point: str, capacitor: str) -> None:
    shorted = Fault(FaultKind.SHORT, capacitor)
    assert 0.3 <= number(point, shorted) <= 0.7
    case = demo_case()
    before = chance(case, shorted.family)
    seen = case.after(*[probe(point, number(point, shorted))] * 2)
    assert chance(seen, shorted.family) > 20 * before


@pytest.mark.parametrize("point", CLOCK_PAIR)
def test_over_range_there_is_healthy_and_no_sign_of_an_open(point: str) -> None:
    case = demo_case()
    seen = case.after(probe(point, OVER_RANGE))
    for key in ("open:C407", "open:C408", f"joint-open:{point}"):
        moved = log_odds(chance(seen, key)) - log_odds(chance(case, key))
        assert abs(moved) < 0.15, key


def test_an_open_capacitor_is_invisible_in_diode_mode() -> None:
    """Only capacitance, a signal, or another part in its place tells."""
    points = [f"J4.{pin.number}" for pin in board().part("J4").pins if pin.net != GROUND]
    opened = Fault(FaultKind.OPEN, "C407")
    for point in points:
        good, bad = reads(point), reads(point, opened)
        assert isinstance(good, OverRange) == isinstance(bad, OverRange)
        if isinstance(good, float) and isinstance(bad, float):
            assert bad == pytest.approx(good, abs=0.5e-3), point
    case = demo_case()
    known = [ref for ref in demo_references().items() if ref[0][1] is MeterMode.DIODE]
    seen = case.after(*(probe(point, reference.value) for (point, _), reference in known))
    odds = [chance(c, opened.family) / chance(c, "module-bad:imaging") for c in (case, seen)]
    assert odds[1] == pytest.approx(odds[0], rel=1e-6)


# Rails.


def test_core_rails_of_large_chips_read_5_to_60_millivolts_when_healthy() -> None:
    assert 0.005 <= number("VDD_CORE") <= 0.060


def test_a_leak_of_a_few_kilohms_hides_in_diode_mode_and_shows_in_ohms() -> None:
    """At 1 mA it moves a reading of 0.5 V by less than boards differ among themselves."""
    leak = Fault(FaultKind.LEAK_TO_GROUND, "U1.C4", 3300.0)
    point = "J4.6"
    moved = number(point) - number(point, leak)
    assert 0.0 < moved < 2 * demo().pack.readings.between_boards
    ohms = BenchSetup(MeterMode.OHMS)
    good, bad = reads(point, setup=ohms), reads(point, leak, setup=ohms)
    assert isinstance(bad, float)
    assert isinstance(good, OverRange) or bad < 0.7 * good


def test_a_supply_of_ones_own_is_not_cleared_by_what_works_elsewhere() -> None:
    """The imaging core has a regulator to itself; the other two rails are shared."""
    case = demo_case()
    seen = case.after(works("front camera"))
    for shared in ("short:C211", "short:C205", "chip-dead:U1"):
        assert chance(seen, shared) < 0.2 * chance(case, shared), shared
    for own in ("no-output:U3", "short:C413", "open:FB403", "module-bad:imaging"):
        assert chance(seen, own) >= chance(case, own), own


# Rates.


@pytest.mark.parametrize("kind", ["camera", "touch", "display", "sound"])
def test_a_failed_supply_chip_is_rarer_than_a_failed_module(kind: str) -> None:
    causes = template_data(FunctionClass(kind).value)["function"]["causes"]
    assert causes["power chip"] + causes["controller"] < causes["module"]


def test_a_cracked_coupling_capacitor_is_rare() -> None:
    case = demo_case()
    coupling = sum(chance(case, f"open:C{number}") for number in range(401, 409))
    assert 0.0 < coupling < 0.03
    assert coupling < 0.1 * chance(case, "module-bad:imaging")


def test_most_of_what_is_shorted_is_a_ceramic_capacitor() -> None:
    rates = demo().pack.rates.by_kind
    assert rates["capacitor"]["short"] > 10 * rates["resistor"]["short"]
    assert rates["capacitor"]["short"] > rates["capacitor"]["open"]


# Modules.


def test_a_new_module_may_look_dead_until_the_firmware_is_refreshed() -> None:
    before, after = small_case(), small_case([fit(), fails()])
    bad = f"module-bad:{LATE}"
    assert abs(log_odds(chance(after, bad)) - log_odds(chance(before, bad))) < 0.1
    known = small_case([fit(), refresh(), fails()])
    assert log_odds(chance(known, bad)) - log_odds(chance(before, bad)) < -2.5


def test_a_paired_sensor_stays_with_its_board() -> None:
    option = offered(demo_case(), "trial:imaging:fit")
    assert any("paired" in text and "with its board" in text for text in option.cautions)
    reader = demo().pack.modules["fingerprint"]
    assert reader.pairing[0].grade == "lost for good"


def test_reseating_and_cleaning_come_cheap_and_hot_air_dear() -> None:
    work = pannier().work
    simple = max(work[name].minutes + work[name].parts for name in ("reseat", "clean", "restart"))
    heated = [item.minutes for item in work.values() if item.heat and not item.removes]
    assert simple < min(heated)
    assert all(item.harm >= 0.01 for item in work.values() if item.heat)
