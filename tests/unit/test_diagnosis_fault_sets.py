"""Sets of faults as hypotheses: what is left of them after work."""

import numpy as np
import pytest

from nextprobe.diagnosis.fault_sets import FaultSets, all_cured, closed, left_chances
from nextprobe.diagnosis.situation import ALWAYS, NEVER, SOMETIMES, digits, jointly
from nextprobe.errors import MisuseError

SETS = FaultSets(4, closed([(0, 1, 3), (1, 2)]))


def test_parts_of_a_set_are_listed_with_it():
    assert SETS.several == ((0, 1, 3), (0, 1), (0, 3), (1, 3), (1, 2))
    assert (len(SETS), SETS.largest) == (9, 3)
    with pytest.raises(MisuseError, match="part of the set"):
        FaultSets(4, ((0, 1, 3),))
    with pytest.raises(MisuseError, match="rising order"):
        FaultSets(4, ((1, 0),))
    with pytest.raises(MisuseError, match="twice"):
        FaultSets(4, ((0, 1), (0, 1)))


def test_a_repair_leaves_the_set_of_the_other_members():
    triple = 4
    assert SETS.whole.tolist() == [1, 1, 1, 1, 7, 3, 3, 3, 3]
    left = {mask: int(SETS.present[triple, mask]) for mask in range(8)}
    members = {row: {m for m in SETS.members[row].tolist() if m < 4} for row in range(9)}
    names = (0, 1, 3)
    for mask, row in left.items():
        expected = {names[bit] for bit in range(3) if mask >> bit & 1}
        assert (members[row] if row < len(SETS) else set()) == expected


def test_what_is_true_of_candidates_is_asked_by_member():
    flag = np.array([False, False, True, False])
    assert SETS.any_member(flag).tolist() == [False, False, True, False, *[False] * 4, True]
    weights, rows = np.array([0.5, 0.3, 0.2]), np.array([4, 8, 0])
    bits = SETS.bits(np.array([0b110, 0b11, 0b0]))
    assert SETS.by_candidate(weights, rows, bits) == pytest.approx([0.0, 0.8, 0.3, 0.5])
    assert (SETS.mask(bits) == [6, 3, 0]).all()


def test_one_piece_of_work_is_done_well_or_not_for_all_that_it_cures():
    cures, bits = np.array([[0.9, 0.6]]), np.array([[True, True]])
    left = left_chances(cures, bits)[0]
    assert left == pytest.approx([0.6, 0.0, 0.3, 0.1])  # none, first only, second only, both
    assert all_cured(cures, bits) == pytest.approx([0.6])
    elsewhere = left_chances(np.array([[0.9, 0.0]]), bits)[0]
    assert elsewhere == pytest.approx([0.0, 0.0, 0.9, 0.1])
    gone = left_chances(np.array([[0.9, 0.6]]), np.array([[False, True]]))[0]
    assert gone == pytest.approx([0.6, 0.0, 0.4, 0.0])


def test_chances_of_what_is_left_sum_to_one():
    random = np.random.default_rng(0)
    cures, bits = random.random((200, 3)), random.random((200, 3)) < 0.6
    left = left_chances(cures, bits)
    assert left.sum(axis=1) == pytest.approx(np.ones(200))
    assert left[:, 0] == pytest.approx(all_cured(cures, bits))
    for member in range(3):
        kept = left[:, [mask for mask in range(8) if mask >> member & 1]].sum(axis=1)
        assert kept == pytest.approx(np.where(bits[:, member], 1.0 - cures[:, member], 0.0))


def test_each_member_shows_in_its_own_way():
    drawn = np.array([[[0.1, 0.6, 0.3], [1.0, 0.0, 0.0]], [[0.0, 0.5, 0.5], [0.2, 0.8, 0.0]]])
    chances = jointly(drawn)
    assert chances.sum(axis=1) == pytest.approx([1.0, 1.0])
    ways = digits(np.arange(chances.shape[1]), 2)
    both = np.flatnonzero((ways == [SOMETIMES, ALWAYS]).all(axis=1))[0]
    assert chances[:, both] == pytest.approx([0.0, 0.4])
    first = np.flatnonzero((ways == [ALWAYS, NEVER]).all(axis=1))[0]
    assert chances[:, first] == pytest.approx([0.6, 0.1])
