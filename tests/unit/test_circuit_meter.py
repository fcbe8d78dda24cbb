"""The meter's modes, polarities and limits."""

from __future__ import annotations

import pytest

from nextprobe.board import (
    OVER_RANGE,
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
)
from nextprobe.circuit import Deviations, default_points, fault_table, predict
from nextprobe.errors import MisuseError, SettingError

METER = Meter()


def two(reference: str, kind: PartKind, a: str, b: str, value: float | None = None):
    return Part(reference, kind, (Pin("1", a), Pin("2", b)), value)


def read(parts: list[Part], point: str, setup: BenchSetup | None = None, **more):
    setup = setup or BenchSetup()
    board = Board("bench", tuple(parts))
    return predict(board, setup, METER.range_for(setup.mode), point, **more)


@pytest.mark.parametrize("mode", [MeterMode.OHMS, MeterMode.LOW_OHMS, MeterMode.CONTINUITY])
@pytest.mark.parametrize("ohms", [1.0, 47.0, 390.0])
@pytest.mark.parametrize("usual", [True, False])
def test_a_resistor_reads_its_value(mode: MeterMode, ohms: float, usual: bool) -> None:
    setup = BenchSetup(mode, clamped_is_positive=usual)
    shown = read([two("R1", PartKind.RESISTOR, "A", "GND", ohms)], "A", setup)
    assert shown == pytest.approx(ohms, rel=1e-4)


def test_ohms_near_the_voltage_limit_and_beyond_the_scale() -> None:
    setup = BenchSetup(MeterMode.OHMS)
    assert read([two("R1", PartKind.RESISTOR, "A", "GND", 39e3)], "A", setup) == pytest.approx(
        39e3, rel=1e-3
    )
    assert read([two("R1", PartKind.RESISTOR, "A", "GND", 41e3)], "A", setup) is OVER_RANGE


def test_diode_mode_shows_volts_up_to_full_scale() -> None:
    assert read([two("R1", PartKind.RESISTOR, "A", "GND", 1.9e3)], "A") == pytest.approx(
        1.9, rel=1e-3
    )
    assert read([two("R1", PartKind.RESISTOR, "A", "GND", 2.1e3)], "A") is OVER_RANGE


def test_polarity_decides_whether_a_diode_conducts() -> None:
    diode = [Part("D1", PartKind.DIODE, (Pin("A", "GND"), Pin("K", "A")))]
    assert read(diode, "A") == pytest.approx(0.60, abs=1e-4)
    assert read(diode, "A", BenchSetup(clamped_is_positive=False)) is OVER_RANGE


def test_between_two_nets_neither_of_which_is_ground() -> None:
    parts = [two("R1", PartKind.RESISTOR, "A", "B", 470.0)]
    assert read(parts, "A", BenchSetup(clamped="B")) == pytest.approx(0.47, rel=1e-3)
    assert read(parts, "B", BenchSetup(clamped="B")) == 0.0


def test_warmth_lowers_a_junction_by_about_two_millivolts_a_kelvin() -> None:
    diode = [Part("D1", PartKind.DIODE, (Pin("A", "GND"), Pin("K", "A")))]
    drop = read(diode, "A") - read(diode, "A", BenchSetup(temperature=308.15))
    assert drop == pytest.approx(0.020, abs=0.003)


def test_parts_that_were_taken_off_are_gone() -> None:
    parts = [two("R1", PartKind.RESISTOR, "A", "GND", 100.0)]
    assert read(parts, "A", BenchSetup(removed=frozenset({"R1"}))) is OVER_RANGE


def test_capacitors_add_up_and_divide() -> None:
    setup = BenchSetup(MeterMode.CAPACITANCE)
    shunt = [two("C1", PartKind.CAPACITOR, "A", "GND", 1e-6)]
    assert read(shunt, "A", setup) == pytest.approx(1e-6)
    both = [*shunt, two("C2", PartKind.CAPACITOR, "B", "GND", 2e-6)]
    joined = [*both, two("FB1", PartKind.FERRITE, "A", "B")]
    assert read(joined, "A", setup) == pytest.approx(3e-6)
    chain = [*shunt, two("C2", PartKind.CAPACITOR, "A", "B", 1e-6)]
    assert read(chain, "B", setup) == pytest.approx(0.5e-6)
    floating = [two("C1", PartKind.CAPACITOR, "A", "B", 1e-6)]
    assert read(floating, "A", setup) == 0.0


def test_an_open_capacitor_shows_in_capacitance_and_a_leak_blocks_it() -> None:
    setup = BenchSetup(MeterMode.CAPACITANCE)
    parts = [
        two("C1", PartKind.CAPACITOR, "A", "GND", 1e-6),
        two("C2", PartKind.CAPACITOR, "A", "GND", 2e-6),
    ]
    assert read(parts, "A", setup, fault=Fault(FaultKind.OPEN, "C2")) == pytest.approx(1e-6)
    assert read(parts, "A", setup, fault=Fault(FaultKind.LEAKY, "C2", 100.0)) is OVER_RANGE
    deviations = Deviations({"C:C1": 0.1})
    assert read(parts, "A", setup, deviations=deviations) == pytest.approx(3.105e-6, rel=1e-3)


def test_an_unpowered_board_has_no_voltage() -> None:
    setup = BenchSetup(MeterMode.DC_VOLTS)
    parts = [two("R1", PartKind.RESISTOR, "A", "GND", 1.0)]
    assert read(parts, "A", setup) == 0.0
    board = Board("bench", tuple(parts))
    table, _ = fault_table(board, setup, METER.range_for(MeterMode.DC_VOLTS))
    assert table.shifts.nnz == 0


def test_deviations_scale_by_all_names_of_a_parameter() -> None:
    deviations = Deviations({"R:R1": 0.1})
    parts = [two("R1", PartKind.RESISTOR, "A", "GND", 100.0)]
    assert read(parts, "A", deviations=deviations) == pytest.approx(0.1105, rel=1e-3)
    assert Deviations({"Is:U1:lane": 0.2, "Is:U1.3": 0.3}).factor(
        "Is:U1:lane", "Is:U1.3"
    ) == pytest.approx(1.6487, rel=1e-4)
    with pytest.raises(MisuseError):
        Deviations({"R:R1": float("nan")})


def test_settings_that_do_not_fit_raise() -> None:
    board = Board("bench", (two("R1", PartKind.RESISTOR, "A", "GND", 1.0),))
    with pytest.raises(SettingError):
        predict(board, BenchSetup(), METER.range_for(MeterMode.OHMS), "A")
    with pytest.raises(SettingError):
        predict(board, BenchSetup(), MeterRange(MeterMode.DIODE, 2, 1e-3, 1, 2), "A")
    with pytest.raises(SettingError):
        high = MeterRange(MeterMode.CAPACITANCE, 1e-4, 1e-10, 3, 5, 0.0, 2.5)
        predict(board, BenchSetup(MeterMode.CAPACITANCE), high, "A")
    with pytest.raises(MisuseError):
        predict(board, BenchSetup(clamped="X"), METER.range_for(MeterMode.DIODE), "A")
    with pytest.raises(MisuseError):
        predict(board, BenchSetup(), METER.range_for(MeterMode.DIODE), "X")


def test_table_finds_what_was_assumed() -> None:
    parts = (two("R1", PartKind.RESISTOR, "A", "GND"), two("TP1", PartKind.TEST_POINT, "A", "B"))
    board = Board("bench", parts)
    setup = BenchSetup(plugged=frozenset({"camera"}))
    table, findings = fault_table(board, setup, METER.range_for(MeterMode.DIODE))
    assert [finding.where.name for finding in findings] == ["R1", "camera"]
    assert table.points == default_points(board) == ("TP1.1", "TP1.2", "A", "GND", "B")


def test_table_speaks_of_points_and_faults_that_it_has() -> None:
    board = Board("bench", (two("R1", PartKind.RESISTOR, "A", "GND", 470.0),))
    diode = METER.range_for(MeterMode.DIODE)
    table, _ = fault_table(board, BenchSetup(), diode)
    assert table.healthy("A") == pytest.approx(0.47, abs=1e-4)
    assert table.value("A", Fault(FaultKind.OPEN, "R1")) is OVER_RANGE
    assert table.value("A", Fault(FaultKind.DRIFTED, "R1", 0.5)) == pytest.approx(0.235, abs=1e-4)
    with pytest.raises(MisuseError):
        table.healthy("B")
    with pytest.raises(MisuseError):
        table.value("A", Fault(FaultKind.OPEN, "R2"))


def test_key_depends_on_content_and_not_on_order() -> None:
    parts = (
        two("R1", PartKind.RESISTOR, "A", "GND", 470.0),
        two("R2", PartKind.RESISTOR, "A", "GND", 100.0),
    )
    diode = METER.range_for(MeterMode.DIODE)

    def key(parts: tuple[Part, ...], **more) -> str:
        return fault_table(Board("bench", parts), BenchSetup(**more), diode)[0].key

    assert key(parts) == key(parts[::-1])
    assert key(parts) != key(parts[:1])
    assert key(parts) != key(parts, temperature=300.0)


def test_faults_of_the_clamped_contact_cut_off_every_reading() -> None:
    connector = Part("J1", PartKind.CONNECTOR, (Pin("1", "A"), Pin("2", "B")))
    board = Board("bench", (connector, two("R1", PartKind.RESISTOR, "A", "B", 470.0)))
    setup, diode = BenchSetup(clamped="J1.2"), METER.range_for(MeterMode.DIODE)
    table, _ = fault_table(board, setup, diode)
    assert table.healthy("A") == pytest.approx(0.47, abs=1e-4)
    assert table.value("A", Fault(FaultKind.JOINT_OPEN, "J1.2")) is OVER_RANGE
