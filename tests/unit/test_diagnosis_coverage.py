"""The nets that a function depends on, as the board tells."""

from __future__ import annotations

import pytest
from diagnosis_cases import demo, pannier, small_board

from nextprobe.board import GROUND
from nextprobe.diagnosis.coverage import connectors_of, covered_nets, other_net
from nextprobe.packs.schema import Pack


def covered(function: str, pack: Pack | None = None) -> frozenset[str]:
    pack = pack or pannier()
    return covered_nets(small_board(), pack, pack.functions[function])


def test_connectors_of_a_function_are_its_own_and_those_of_its_modules() -> None:
    pack = pannier(
        functions={"scanner": {"needs": {"modules": ["scan head"], "connectors": ["J3"]}}}
    )
    assert connectors_of(pack, pack.functions["scanner"]) == ("J3", "J1")


def test_a_path_goes_on_through_two_pin_parts_and_stops_at_supplies() -> None:
    nets = covered("viewfinder")
    assert {"VF_D_J", "VF_D", "VF_SDA", "VF_IO", "VDD18"} == nets


def test_what_hangs_on_a_supply_beyond_is_not_the_functions() -> None:
    assert "SC_IO" not in covered("viewfinder")
    assert "VF_IO" not in covered("scanner")


def test_ground_is_never_covered() -> None:
    for function in pannier().functions:
        assert GROUND not in covered(function)


def test_a_small_chip_is_the_functions_whole_and_a_large_one_is_not() -> None:
    nets = covered("scanner")
    assert {"SC_VDD12", "VSYS"} <= nets
    assert not {"S1", "VF_SDA"} & nets


def test_names_with_a_star_stand_for_the_nets_of_the_connector() -> None:
    narrow = pannier(functions={"scanner": {"needs": {"nets": ["SC_L0?_J"], "chips": []}}})
    assert covered("scanner", narrow) == {"SC_L0P_J", "SC_L0P", "SC_L0N_J", "SC_L0N"}


def test_rails_that_are_named_are_covered() -> None:
    pack = pannier(functions={"sound": {"needs": {"rails": ["VSYS"], "chips": []}}})
    assert covered("sound", pack) == {"SPK", "VSYS"}


def test_names_that_the_board_does_not_have_cover_nothing() -> None:
    pack = pannier(
        functions={"sound": {"needs": {"modules": [], "connectors": ["J9"], "chips": ["U9"]}}},
    )
    assert covered("sound", pack) == frozenset()


@pytest.mark.parametrize(("net", "far"), [("SC_L0P_J", "SC_L0P"), ("SC_L0P", "SC_L0P_J")])
def test_the_other_side_of_a_two_pin_part(net: str, far: str) -> None:
    assert other_net(small_board().part("C1"), net) == far


def test_demo_functions_on_one_connector_are_kept_apart() -> None:
    folder = demo()
    assert folder.board is not None
    nets = {
        name: covered_nets(folder.board, folder.pack, folder.pack.functions[name])
        for name in ("imaging", "fingerprint")
    }
    assert "IMG_SDA" in nets["imaging"] - nets["fingerprint"]
    assert "FP_CS" in nets["fingerprint"] - nets["imaging"]
    assert "VDD18" in nets["imaging"] & nets["fingerprint"]
