"""What sets of faults may weigh, estimated from how well single faults explain the evidence."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief.ensemble import Ensemble, log_sum
from nextprobe.diagnosis.acts import Move
from nextprobe.diagnosis.evidence import gather
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.situation import HYPOTHESIS, Situation

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]
Sets = list[tuple[int, ...]]

_FAMILIES_PAIRED = 150
_PAIRS_REFINED = 60
_PAIRS_EXTENDED = 10
_RULED_OUT = -50.0
_WORTH_TRYING = 1e-4


class SetEstimate:
    """Estimated weights of sets.

    A reading is explained by the member that moves it, anything else by the member that explains
    it best.

    Parameters
    ----------
    model : Model
        With no sets of several listed.
    moves : sequence of Move, length E
    trail : sequence of Situation, length E + 1
        Before the first move and after each.

    Attributes
    ----------
    log_evidence : float
        Log weight of all single faults together.
    leading : int
        The likeliest single fault.
    pairs_share : float
        What all pairs together weigh against the single faults.
    """

    def __init__(self, model: Model, moves: Sequence[Move], trail: Sequence[Situation]) -> None:
        self._model = model
        self._space = model.space
        weights = np.stack([_log_weights(model, situation) for situation in trail])
        with np.errstate(invalid="ignore"):
            told = np.diff(weights, axis=0)
        self._told = np.where(np.isfinite(told), np.maximum(told, _RULED_OUT), _RULED_OUT)
        self._moved = _moved(model, moves)
        self._alone = weights[-1]
        self.log_evidence = log_sum(weights[-1])
        self.leading = int(np.argmax(weights[-1]))
        self._families = self._promising()
        self._pairs = self._all_pairs()
        self._pair_scores = self._scores_of_all()
        self.pairs_share = self._share(self._pair_scores)

    def _share(self, scores: FloatArray) -> float:
        return float(np.exp(min(log_sum(scores) - self.log_evidence, 0.0)))

    def best(self, largest: int, most: int) -> tuple[Sets, FloatArray, float]:
        """Return the sets that seem to weigh most, their weights, and that of those left out.

        Parameters
        ----------
        largest : int
            Largest number of faults at once, 2 or 3.
        most : int
            How many sets at most.
        """
        order = np.argsort(-rounded(self._pair_scores), kind="stable")[:most]
        left_out = self._share(np.delete(self._pair_scores, order))
        found: Sets = [tuple(pair) for pair in self._pairs[order].tolist()]
        found += self._refined(found[:_PAIRS_REFINED])
        more = self._extended(found[:_PAIRS_EXTENDED]) if largest > 2 else []
        pairs = list(dict.fromkeys(found))
        scores = np.concatenate([self._scores_of(pairs, 2), self._scores_of(more, 3)])
        best = np.argsort(-rounded(scores), kind="stable")[:most]
        best = best[scores[best] > scores[best[0]] + np.log(_WORTH_TRYING)]
        every = [*pairs, *more]
        weights = np.exp(np.minimum(scores[best] - self.log_evidence, 0.0))
        return [every[index] for index in best], weights, left_out

    def _scores_of(self, sets: Sets, size: int) -> FloatArray:
        return self._scores(np.array(sets, dtype=np.intp).reshape(len(sets), size))

    def _promising(self) -> IntArray:
        """Return the likeliest magnitude of each family that may explain part of the evidence."""
        order = np.argsort(-rounded(self._alone), kind="stable")
        family = self._space.family[order]
        first = np.unique(family, return_index=True)[1]
        those = np.sort(order[first[family[first] >= 0]])
        with np.errstate(divide="ignore"):
            hope = np.log(self._model.prior[those])
        if len(self._told):
            usual = np.median(self._told, axis=1, keepdims=True)
            hope = hope + np.maximum(self._told[:, those] - usual, 0.0).sum(axis=0)
        return np.sort(those[np.argsort(-rounded(hope), kind="stable")[:_FAMILIES_PAIRED]])

    def _all_pairs(self) -> IntArray:
        first, second = np.triu_indices(len(self._families), 1)
        pairs = np.stack([self._families[first], self._families[second]], axis=1)
        return np.asarray(pairs[self._space.compatible(pairs[:, 0], pairs[:, 1])])

    def _scores_of_all(self) -> FloatArray:
        """Return the estimated log weight of all pairs: `_scores` for a whole square at once."""
        assert self._model.together is not None
        with np.errstate(divide="ignore"):
            scores = np.log(self._model.together.priors(self._pairs))
        square = np.zeros((len(self._families), len(self._families)))
        for told, moved in zip(self._told[:, self._families], self._moved, strict=True):
            best = np.maximum(told[:, None], told)
            if moved is not None:
                moves = moved[self._families]
                one = np.where(moves, told, told[:, None])
                best = np.where(moves[:, None], np.where(moves, best, told[:, None]), one)
            square += best
        place = np.searchsorted(self._families, self._pairs)
        return np.asarray(scores + square[place[:, 0], place[:, 1]])

    def _refined(self, pairs: Sets) -> Sets:
        """Return pairs with the magnitudes next to those of the given ones."""
        near = self._space.neighbours
        return [
            tuple(sorted((one, other)))
            for first, second in pairs
            for one in near.get(first, (first,))
            for other in near.get(second, (second,))
        ]

    def _extended(self, pairs: Sets) -> Sets:
        """Return the best sets of three: a pair and one more, or a row of joints."""
        assert self._model.together is not None
        rows = [row for row, _ in self._model.together.rows if len(row) == 3]
        more: Sets = []
        for pair in pairs:
            fits = np.logical_and.reduce(
                [
                    self._space.compatible(np.full_like(self._families, m), self._families)
                    for m in pair
                ]
            )
            more += [tuple(sorted((*pair, third))) for third in self._families[fits].tolist()]
        unique = list(dict.fromkeys([*rows, *more]))
        order = np.argsort(-rounded(self._scores_of(unique, 3)), kind="stable")[:_PAIRS_EXTENDED]
        return [unique[index] for index in order]

    def _scores(self, sets: IntArray) -> FloatArray:
        """Return the estimated log weight of sets of equal size, shape (N, size)."""
        assert self._model.together is not None
        with np.errstate(divide="ignore"):
            scores = np.log(self._model.together.priors(sets))
        for told, moved in zip(self._told, self._moved, strict=True):
            each = told[sets]
            if moved is None:
                scores = scores + each.max(axis=1)
                continue
            moves = moved[sets]
            by_mover = np.where(moves, each, -np.inf).max(axis=1)
            scores = scores + np.where(moves.any(axis=1), by_mover, each[:, 0])
        return np.asarray(scores)


def rounded(values: FloatArray) -> FloatArray:
    """Return values to sort by: in their last bits the order of the evidence shows."""
    return np.round(values, 9)


def _log_weights(model: Model, situation: Situation) -> FloatArray:
    """Return the log weight of each candidate, shape (H,)."""
    return log_by_hypothesis(situation.ensemble, len(model.listed))


def log_by_hypothesis(ensemble: Ensemble, count: int) -> FloatArray:
    """Return the log weight of all worlds of each of some hypotheses, shape (count,)."""
    weights, hypothesis = ensemble.log_weights, ensemble.columns[HYPOTHESIS]
    greatest = np.full(count, -np.inf)
    np.maximum.at(greatest, hypothesis, weights)
    shift = np.where(np.isfinite(greatest), greatest, 0.0)
    sums = np.bincount(hypothesis, np.exp(weights - shift[hypothesis]), count)
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(sums) + shift)


def _moved(model: Model, moves: Sequence[Move]) -> list[BoolArray | None]:
    """Return which candidates move each reading, shape (H,); None for other evidence."""
    found: list[BoolArray | None] = []
    expectations = model.expectations
    gathered = gather(moves, expectations) if expectations is not None else {}
    every = np.arange(len(model.listed))
    healthy = np.full_like(every, len(model.listed))
    for place in range(len(moves)):
        seen = gathered.get(place)
        if (
            seen is None
            or expectations is None
            or not expectations.predicts(seen.point, seen.setup)
        ):
            found.append(None)
        else:
            found.append(expectations.at(seen.point, seen.setup).differs(every, healthy))
    return found
