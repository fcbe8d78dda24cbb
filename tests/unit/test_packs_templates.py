"""Shipped defaults: what every template must say, and the shares that a shop counts.

The shares are common practice, no published source.
"""

from __future__ import annotations

from importlib import resources

import pytest

from nextprobe.board import PartKind
from nextprobe.errors import DataError
from nextprobe.packs import Cause, FunctionClass, pack_from_template
from nextprobe.packs.templates import filled, template_data, template_names

WORK = {
    "open", "close", "board out", "reseat", "clean", "restart", "try external", "backup",
    "small passive", "protection replace", "protection remove", "connector resolder",
    "connector replace", "controller", "power chip", "large chip", "rejoin layers",
    "ultrasonic", "jumper",
}  # fmt: skip

# Per cent, in the order of `Cause`.
SHARES = {
    "camera": (2, 53, 14, 8, 3, 5, 4, 1, 5, 5),
    "charging": (36, 38, 5, 1, 4, 3, 7, 2, 1, 3),
    "touch": (2, 66, 12, 3, 2, 3, 6, 1, 2, 3),
    "power": (12, 36, 3, 8, 17, 2, 5, 4, 9, 4),
}


@pytest.mark.parametrize("kind", SHARES)
def test_shares_of_causes_among_walk_ins(kind: str) -> None:
    causes = pack_from_template(kind, "X").functions[kind].causes
    assert tuple(causes[cause] for cause in Cause) == SHARES[kind]


@pytest.mark.parametrize("kind", FunctionClass)
def test_every_template_shares_out_a_hundred_per_cent(kind: FunctionClass) -> None:
    causes = pack_from_template(kind, "X").functions[kind.value].causes
    assert set(causes) == set(Cause)
    assert sum(causes.values()) == pytest.approx(100)


@pytest.mark.parametrize("kind", FunctionClass)
def test_every_template_is_of_use(kind: FunctionClass) -> None:
    pack = pack_from_template(kind, "X")
    function = pack.functions[kind.value]
    assert function.check.how
    assert 0 < function.check.false_pass < 0.2
    assert function.needs.modules
    assert all(pack.modules[name].cautions for name in function.needs.modules)
    assert set(pack.work) >= WORK
    assert any(look.function == kind.value for look in pack.looks.values())


def test_the_history_of_a_device_multiplies_shares() -> None:
    history = pack_from_template("camera", "X").history
    assert history["liquid"] == {Cause.RESIDUE: 8, Cause.PASSIVE_SHORT: 4}
    assert history["drop"] == {Cause.PROCESSOR: 5, Cause.SEATING: 2}
    assert history["earlier work"][Cause.SEATING] == 5
    assert history["modules swapped"] == {Cause.EXTERNAL: 0.25, Cause.MODULE: 0.25}


def test_heat_names_its_reach_the_battery_and_the_fumes() -> None:
    for name, work in pack_from_template("power", "X").work.items():
        if work.heat:
            assert work.radius > 0, name
            assert "battery" in work.unplug, name
            said = " ".join(work.cautions)
            assert "cell" in said, name
            assert "fumes" in said, name


def test_cautions_stand_where_they_matter() -> None:
    camera, charging = pack_from_template("camera", "X"), pack_from_template("charging", "X")
    assert any("never look into" in caution for caution in camera.modules["camera"].cautions)
    assert any("mains charger" in caution for caution in charging.functions["charging"].cautions)
    assert any("swollen" in caution for caution in charging.modules["battery"].cautions)
    assert any("ESD" in caution for caution in camera.work["open"].cautions)
    assert any("wipes" in caution for caution in camera.refreshes["restore"].cautions)


def test_rates_cover_every_kind_of_part_that_fails() -> None:
    kinds = set(pack_from_template("camera", "X").rates.by_kind)
    silent = {PartKind.TEST_POINT, PartKind.OTHER}
    assert kinds >= {kind.value for kind in PartKind if kind not in silent}


@pytest.mark.parametrize("name", template_names())
def test_every_file_says_how_good_its_numbers_are(name: str) -> None:
    text = resources.files("nextprobe.packs").joinpath("templates", f"{name}.yaml").read_text()
    assert "common practice, no published source; wide" in text
    assert template_data(name)


def test_a_template_that_is_not_there() -> None:
    with pytest.raises(DataError):
        pack_from_template("teleport", "X")


def test_placeholders_are_filled_in_names_and_lists() -> None:
    assert filled({"{a} b": ["{a}", 1]}, {"a": "x"}) == {"x b": ["x", 1]}
