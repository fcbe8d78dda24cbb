"""What sets of faults may weigh, estimated from how well single faults explain the evidence."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from nextprobe.belief.ensemble import log_sum
from nextprobe.diagnosis.pieces import log_by_candidate, pieces
from nextprobe.diagnosis.replay import Replayed

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
Sets = list[tuple[int, ...]]

_FAMILIES_PAIRED = 150
_PAIRS_REFINED = 60
_PAIRS_EXTENDED = 10
_WORTH_TRYING = 1e-4


class SetEstimate:
    """Estimated weights of sets.

    A reading is explained by the member that moves it, anything else by the member that explains
    it best.

    Parameters
    ----------
    replayed : Replayed
        As of :func:`~nextprobe.diagnosis.pieces.pieces`.

    Attributes
    ----------
    log_evidence : float
        Log weight of all single faults together.
    leading : int
        The likeliest single fault.
    pairs_share : float
        What all pairs together weigh against the single faults.
    """

    def __init__(self, replayed: Replayed) -> None:
        self._model = model = replayed.model
        self._space = model.space
        self._pieces = pieces(replayed)
        self._alone = log_by_candidate(model, replayed.trail[-1])
        self.log_evidence = log_sum(self._alone)
        self.leading = int(np.argmax(self._alone))
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
        for told, _ in self._pieces:
            hope = hope + np.maximum(told[those] - np.median(told), 0.0)
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
        for every, moved in self._pieces:
            told = every[self._families]
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
        for told, moved in self._pieces:
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
