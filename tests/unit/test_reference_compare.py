"""A patient against a donor."""

import math

import pytest

from nextprobe.board import OVER_RANGE
from nextprobe.errors import MisuseError
from nextprobe.reference import DifferenceKind, compare


def against(patient, donor, **changes):
    settings = {"spread": 0.01, "uncertainty": lambda value: 0.002 + 0.01 * value, "limit": 2.0}
    return compare(patient, donor, **{**settings, **changes})


@pytest.mark.parametrize(
    ("patient", "donor", "kind"),
    [
        (0.450, 0.460, DifferenceKind.ALIKE),
        (0.300, 0.460, DifferenceKind.LOWER),
        (0.700, 0.460, DifferenceKind.HIGHER),
        (0.001, 0.460, DifferenceKind.SHORTED_HERE),
        (0.001, OVER_RANGE, DifferenceKind.SHORTED_HERE),
        (OVER_RANGE, 0.460, DifferenceKind.OPEN_HERE),
        (0.460, OVER_RANGE, DifferenceKind.CONDUCTS_HERE),
        (OVER_RANGE, OVER_RANGE, DifferenceKind.ALIKE),
        (0.001, 0.002, DifferenceKind.ALIKE),
        (1.99, OVER_RANGE, DifferenceKind.ALIKE),
        (OVER_RANGE, 1.98, DifferenceKind.ALIKE),
    ],
)
def test_kinds(patient, donor, kind):
    (found,) = against({"J1.1": patient}, {"J1.1": donor})
    assert found.kind is kind
    assert (found.patient, found.donor) == (patient, donor)


def test_score_by_hand():
    (found,) = against({"J1.1": 0.40}, {"J1.1": 0.45})
    deviation = math.sqrt(2 * 0.01**2 + 0.006**2 + 0.0065**2)
    assert found.score == pytest.approx(-0.05 / deviation)


def test_worst_first_and_only_what_both_have():
    patient = {"a": 0.45, "b": OVER_RANGE, "c": 0.30, "d": 0.45, "only here": 0.1}
    donor = {"a": 0.45, "b": 0.45, "c": 0.45, "d": 0.45, "only there": 0.1}
    assert [item.point for item in against(patient, donor)] == ["b", "c", "a", "d"]


def test_misuse():
    with pytest.raises(MisuseError):
        against({"a": 0.4}, {"a": 2.5})
    with pytest.raises(MisuseError):
        against({"a": 0.4}, {"a": 0.4}, spread=0.0, uncertainty=lambda value: 0.0)
