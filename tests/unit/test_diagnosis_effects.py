"""How likely a fault is to stop what hangs on its place."""

from __future__ import annotations

import pytest
from diagnosis_cases import demo, small_board

from nextprobe.board import Fault, FaultKind, fault_from_key
from nextprobe.circuit import enumerate_faults
from nextprobe.diagnosis.effects import site_of, strength, touches


def chance(key: str) -> float:
    board, fault = small_board(), fault_from_key(key)
    return strength(board, fault, site_of(board, fault))


@pytest.mark.parametrize(
    ("key", "nets", "part", "grounded"),
    [
        ("short:C4", {"SC_VDD"}, "C4", True),
        ("open:C1", {"SC_L0P_J", "SC_L0P"}, "C1", False),
        ("joint-open:U1.A1", {"SC_L0P"}, "U1", False),
        ("bridge:J1.1~J1.2", {"SC_L0P_J", "SC_L0N_J"}, None, False),
        ("bridge:J1.6~J1.7", {"SC_IO"}, None, True),
        ("broken-net:SC_SDA/J1.4", {"SC_SDA"}, None, False),
    ],
)
def test_where_a_fault_sits(key: str, nets: set[str], part: str | None, grounded: bool) -> None:
    site = site_of(small_board(), fault_from_key(key))
    assert site.nets == nets
    assert (site.part.reference if site.part else None) == part
    assert site.grounded is grounded


def test_a_passive_part_counts_only_if_the_function_needs_both_its_sides() -> None:
    site = site_of(small_board(), Fault(FaultKind.OPEN, "C1"))
    assert touches(site, frozenset({"SC_L0P_J", "SC_L0P"}))
    assert not touches(site, frozenset({"SC_L0P_J"}))


def test_a_pin_of_a_chip_counts_where_its_net_is_needed() -> None:
    site = site_of(small_board(), Fault(FaultKind.JOINT_OPEN, "U1.A1"))
    assert touches(site, frozenset({"SC_L0P", "elsewhere"}))
    assert not touches(site, frozenset({"elsewhere"}))


def test_the_stronger_leak_stops_more_and_a_signal_bears_less_than_a_rail() -> None:
    signal = [chance(f"leaky:D1@{size}") for size in (33, 3300, 10000, 33000)]
    rail = [chance(f"leaky:C4@{size}") for size in (10, 100, 1000, 3300)]
    assert signal == sorted(signal, reverse=True)
    assert rail == sorted(rail, reverse=True)
    assert chance("leaky:D1@1000") > chance("leaky:C4@1000")


def test_a_series_capacitor_passes_the_signal_when_shorted_and_not_when_open() -> None:
    assert chance("open:C1") > 0.8
    assert chance("short:C1") < 0.3


def test_a_shunt_capacitor_is_the_other_way_about() -> None:
    assert chance("short:C4") > 0.8
    assert chance("open:C4") < 0.1


def test_an_open_ferrite_stops_and_a_shorted_pull_up_too() -> None:
    assert chance("open:FB1") > 0.8
    assert chance("short:R1") > 0.8
    assert chance("drifted:R1@2") < chance("open:R1")


def test_a_spare_pin_hardly_matters() -> None:
    folder = demo()
    assert folder.board is not None
    board = folder.board
    spare, single = (Fault(FaultKind.JOINT_OPEN, pin) for pin in ("J4.20", "J4.18"))
    assert strength(board, spare, site_of(board, spare)) < 0.2
    assert strength(board, single, site_of(board, single)) > 0.8


def test_every_fault_of_a_board_has_a_chance() -> None:
    board = small_board()
    for fault in enumerate_faults(board):
        assert 0.0 <= strength(board, fault, site_of(board, fault)) <= 1.0, fault.key
