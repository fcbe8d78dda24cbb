"""Bridges between contacts: measured from contact to contact, one id each."""

from __future__ import annotations

import pytest
from diagnosis_cases import chance, demo_case, small_board, small_case
from step_pack import rich

from nextprobe.board import OVER_RANGE, BenchSetup, Fault, FaultKind, Meter, MeterMode
from nextprobe.circuit import predict
from nextprobe.diagnosis import Case, Probe
from nextprobe.diagnosis.ids import between
from nextprobe.diagnosis.measuring import (
    Measurement,
    bridge_of,
    measurement_from_id,
    over_bridge,
)
from nextprobe.workbench.outcomes import outcome_of

BRIDGE = Fault(FaultKind.BRIDGE, "J1.4~J1.5")
NAME = "probe:J1.4~J1.5:continuity"


def case_with_board() -> Case:
    return small_case(pack=rich(), board=True)


def test_a_bridge_is_measured_between_its_own_two_contacts() -> None:
    item = over_bridge(BRIDGE)
    assert (item.point, item.setup.clamped) == ("J1.4", "J1.5")
    assert item.setup.mode is MeterMode.CONTINUITY
    assert item.id == NAME
    assert item.act() == Probe("J1.4", mode=MeterMode.CONTINUITY, clamped="J1.5")
    assert item.across_contacts
    assert bridge_of(item) == BRIDGE


@pytest.mark.parametrize(
    ("point", "clamped", "mode", "across"),
    [
        ("J1.1", "J1.2", MeterMode.CONTINUITY, True),
        ("J1.1", "J1.2", MeterMode.DIODE, False),
        ("J1.3", "C3.1", MeterMode.CONTINUITY, False),
        ("J1.3", "GND", MeterMode.CONTINUITY, False),
        ("SC_SDA", "SC_SDA", MeterMode.CONTINUITY, False),
    ],
)
def test_what_is_across_contacts(point: str, clamped: str, mode: MeterMode, across: bool) -> None:
    assert Measurement(point, BenchSetup(mode, clamped)).across_contacts is across


@pytest.mark.parametrize(
    ("point", "clamped", "words"),
    [
        ("C1.2", "C1.1", "C1"),
        ("J1.1", "J1.2", "J1.1~J1.2"),
        ("J1.12", "J1.1", "J1.12~J1.1"),
        ("J1.3", "C3.1", "J1.3~C3.1"),
        ("SC_SDA", "VDD18", "SC_SDA~VDD18"),
    ],
)
def test_two_contacts_are_not_taken_for_a_whole_part(point: str, clamped: str, words: str) -> None:
    assert between(point, clamped) == words


@pytest.mark.parametrize("name", ["small", "demo"])
def test_every_touch_has_an_id_of_its_own_that_reads_back(name: str) -> None:
    case = case_with_board() if name == "small" else demo_case()
    board = case.model.board
    probing = case.problem.probing
    bridges = [
        over_bridge(item.fault) for item in case.model.listed if item.fault.kind is FaultKind.BRIDGE
    ]
    assert len(bridges) > 5
    assert {item.id for item in bridges} <= set(probing.touches)
    assert len({item.id for item in bridges}) == len(bridges)
    for identity, item in probing.touches.items():
        assert item.id == identity
        assert measurement_from_id(identity, board) == item
    assert len(set(probing.touches.values())) == len(probing.touches)


def test_a_measurement_from_contact_to_contact_is_made_for_its_bridge_only() -> None:
    expectations = case_with_board().model.expectations
    assert expectations is not None
    about = expectations.about(over_bridge(BRIDGE))
    keys = [item.fault.key for item, one in zip(expectations.listed, about, strict=True) if one]
    assert keys == [BRIDGE.key]


def test_a_bridge_reads_as_the_circuit_with_it() -> None:
    expectations = case_with_board().model.expectations
    assert expectations is not None
    setup = over_bridge(BRIDGE).setup
    found = expectations.at("J1.4", setup)
    row = [item.fault.key for item in expectations.listed].index(BRIDGE.key)
    meter = Meter().range_for(MeterMode.CONTINUITY)
    expected = predict(small_board(), setup, meter, "J1.4", BRIDGE)
    assert not found.over[row]
    assert found.mean[row] == pytest.approx(expected, abs=0.05)
    assert found.healthy is OVER_RANGE


def test_a_bridge_stands_out_after_it_and_is_cleared_by_a_good_reading() -> None:
    case = case_with_board()
    before = chance(case, BRIDGE.key)
    bridged = case
    for _ in range(3):
        bridged = bridged.after(*outcome_of(bridged, NAME, 0.1).moves)
    clear = case.after(*outcome_of(case, NAME, OVER_RANGE).moves)
    assert chance(bridged, BRIDGE.key) > 100.0 * before
    assert chance(clear, BRIDGE.key) < 0.1 * before
    other = "bridge:J1.1~J1.2"
    assert chance(bridged, BRIDGE.key) > 100.0 * chance(bridged, other)
    assert chance(clear, other) == pytest.approx(chance(case, other), rel=0.05)
