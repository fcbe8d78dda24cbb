"""What known-good boards tell of the next one."""

import numpy as np
import pytest
from joint_cases import some_shared

from nextprobe.belief import (
    BoardReadings,
    JointModel,
    JointState,
    SharedDeviation,
    learned_type,
    next_board,
)
from nextprobe.errors import MisuseError

TYPE, OWN, METER = 0.04, 0.012, 0.003


def one_point(variance):
    return SharedDeviation(np.zeros(1), np.zeros((1, 0)), np.array([variance]))


def some_boards(rng, readings, boards):
    found = []
    for _ in range(boards):
        rows = rng.choice(readings, rng.integers(1, readings + 1), replace=False)
        deviation = rng.uniform(0.001, 0.01, rows.size)
        found.append(BoardReadings(rows, 0.03 * rng.normal(size=rows.size), deviation))
    return found


@pytest.mark.parametrize("boards", [0, 1, 2, 5, 10])
@pytest.mark.parametrize("in_factor", [True, False])
def test_one_point_tightens_as_the_closed_form(boards, in_factor):
    kind, board = one_point(TYPE**2), one_point(OWN**2)
    if in_factor:
        kind = SharedDeviation.of_covariance([[TYPE**2]])
        board = SharedDeviation.of_covariance([[OWN**2]])
    values = 0.02 + 0.01 * np.cos(np.arange(boards))
    seen = [BoardReadings([0], [value], [METER]) for value in values]
    found = next_board(kind, board, seen)
    weight = boards / (OWN**2 + METER**2)
    variance = 1.0 / (1.0 / TYPE**2 + weight)
    assert found.covariance[0, 0] == pytest.approx(variance + OWN**2, rel=1e-12)
    mean = values.mean() if boards else 0.0
    assert found.offset[0] == pytest.approx(variance * weight * mean, rel=1e-12)
    model = JointModel(found, np.full((1, 1), 0.5), 1.0, METER)
    deviation = JointState.before(1, found).predicted(model)[1][0, 0]
    assert deviation == pytest.approx(np.sqrt(variance + OWN**2 + METER**2), rel=1e-12)


@pytest.mark.parametrize("boards", [0, 1, 2, 5, 10])
def test_agrees_with_the_dense_normal(boards):
    rng = np.random.default_rng(boards)
    readings = 6
    kind, board = some_shared(rng, readings, 3), some_shared(rng, readings, 2)
    seen = some_boards(rng, readings, boards)
    found = next_board(kind, board, seen)
    # All boards and the next one as one vector: the type is in all, a board only in its own.
    whole = np.kron(np.ones((boards + 1,) * 2), kind.covariance)
    whole += np.kron(np.eye(boards + 1), board.covariance)
    centre = np.tile(kind.offset + board.offset, boards + 1)
    given = np.concatenate(
        [np.zeros(0, dtype=int), *(readings * i + each.rows for i, each in enumerate(seen))]
    )
    noise = np.concatenate([np.zeros(0), *(each.deviation for each in seen)])
    values = np.concatenate([np.zeros(0), *(each.differences for each in seen)])
    later = np.arange(readings) + boards * readings
    inside = whole[np.ix_(given, given)] + np.diag(noise**2)
    gain = np.linalg.solve(inside, whole[np.ix_(given, later)]).T
    assert found.offset == pytest.approx(centre[later] + gain @ (values - centre[given]), rel=1e-9)
    wanted = whole[np.ix_(later, later)] - gain @ whole[np.ix_(given, later)]
    assert found.covariance == pytest.approx(wanted, rel=1e-9, abs=1e-15)


def test_siblings_that_share_deviations_tighten_too_and_strangers_do_not():
    shared = np.array([[0.04, 0.0], [0.04, 0.0], [0.0, 0.04]])
    kind = SharedDeviation(np.zeros(3), shared, np.full(3, 0.005**2))
    board = SharedDeviation(np.zeros(3), 0.2 * shared, np.full(3, 1e-6))
    spreads = []
    for count in (0, 1, 2, 5, 10):
        seen = [BoardReadings([0], [0.03], [METER])] * count
        spreads.append(np.sqrt(np.diag(next_board(kind, board, seen).covariance)))
    point, sibling, stranger = np.array(spreads).T
    assert (np.diff(point) < 0.0).all()
    assert (np.diff(sibling) < 0.0).all()
    assert (point[1:] < sibling[1:]).all()
    assert sibling[1] < 0.4 * sibling[0]
    assert stranger == pytest.approx(np.full(5, stranger[0]))


def test_boards_in_any_order_and_in_two_goes():
    rng = np.random.default_rng(3)
    kind, board = some_shared(rng, 5, 2), some_shared(rng, 5, 2)
    seen = some_boards(rng, 5, 4)
    at_once = learned_type(kind, board, seen)
    in_two = learned_type(learned_type(kind, board, seen[:2]), board, seen[2:])
    backwards = learned_type(kind, board, seen[::-1])
    for other in (in_two, backwards):
        assert other.offset == pytest.approx(at_once.offset, rel=1e-9)
        assert other.covariance == pytest.approx(at_once.covariance, rel=1e-9, abs=1e-15)


def test_a_point_read_twice_on_one_board_is_one_board():
    kind, board = one_point(TYPE**2), one_point(OWN**2)
    twice = next_board(kind, board, [BoardReadings([0, 0], [0.02, 0.022], [METER] * 2)])
    once = next_board(kind, board, [BoardReadings([0], [0.021], [METER / np.sqrt(2.0)])])
    assert twice.offset == pytest.approx(once.offset, rel=1e-9)
    assert twice.covariance == pytest.approx(once.covariance, rel=1e-9)


def test_misuse_is_refused():
    with pytest.raises(MisuseError, match="each reading"):
        BoardReadings([0, 1], [0.1], [0.1])
    with pytest.raises(MisuseError, match="positive"):
        BoardReadings([0], [0.1], [0.0])
    with pytest.raises(MisuseError, match="finite"):
        BoardReadings([0], [np.inf], [0.1])
    with pytest.raises(MisuseError, match="rows"):
        next_board(one_point(1.0), one_point(1.0), [BoardReadings([1], [0.1], [0.1])])
    with pytest.raises(MisuseError, match="same readings"):
        next_board(one_point(1.0), some_shared(np.random.default_rng(0), 2, 1), [])
