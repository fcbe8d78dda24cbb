"""What each piece of evidence says of each candidate, and that it is the same in any order."""

from __future__ import annotations

import numpy as np
from diagnosis_cases import FAILS, check, look, probe, small_case, work

from nextprobe.board import OVER_RANGE, FaultKind
from nextprobe.diagnosis import Move
from nextprobe.diagnosis.pieces import log_by_hypothesis, pieces

READ = (probe("J1.1", 0.3), probe("J1.2", OVER_RANGE), probe("J1.4", 0.45))
SEEN = look("liquid indicator", "changed colour")
LATER = (work("reseat", "J1"), check("scanner", FAILS), probe("J1.2", 0.4), probe("J1.1", 0.3))


def found(*moves: Move) -> list[np.ndarray]:
    return [piece.told for piece in pieces(small_case(list(moves), board=True)._in_order)]


def test_pieces_add_up_to_what_all_evidence_says() -> None:
    replayed = small_case([SEEN, *READ, *LATER], board=True)._in_order
    count = len(replayed.model.listed)
    first, last = (log_by_hypothesis(replayed.trail[place].ensemble, count) for place in (0, -1))
    told = [piece.told for piece in pieces(replayed)]
    # What was seen, three readings and what they say together, work, a check, two and together.
    assert len(told) == 1 + 4 + 2 + 3
    kept = np.isfinite(last)
    assert kept.sum() > 20
    np.testing.assert_allclose(np.sum(told, axis=0)[kept], (last - first)[kept], atol=1e-9)


def test_a_reading_says_the_same_whatever_was_read_before() -> None:
    one, other = found(SEEN, *READ), found(*reversed(READ), SEEN)
    assert len(one) == len(other) == 1 + 4
    for place, same in ((0, 0), (1, 3), (2, 2), (3, 1)):
        np.testing.assert_array_equal(one[place], other[same])
    np.testing.assert_allclose(one[4], other[4], atol=1e-3)


def test_a_second_touch_is_one_piece_with_the_first() -> None:
    assert len(found(SEEN, *READ, READ[0])) == 1 + 4


def test_only_what_is_moved_by_a_fault_is_said_to_be() -> None:
    replayed = small_case(list(READ), board=True)._in_order
    kinds = [item.fault.kind for item in replayed.model.listed]
    moved = pieces(replayed)[0].moved
    assert moved is not None
    assert moved.any() and not moved.all()
    assert not moved[kinds.index(FaultKind.FIRMWARE_CORRUPT)]
