"""Weighted possible worlds: a discrete belief kept in logarithms."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nextprobe.errors import MisuseError

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

_SUM_TOLERANCE = 1e-9
_Scalar = TypeVar("_Scalar", bound=np.generic)


def log_sum(log_terms: FloatArray) -> float:
    """Return the logarithm of the sum of exponentials, at any magnitude.

    Parameters
    ----------
    log_terms : ndarray, shape (R,)
        Minus infinity stands for zero.
    """
    if log_terms.size == 0:
        return -math.inf
    greatest = float(log_terms.max())
    if not math.isfinite(greatest):
        return greatest
    return greatest + math.log(float(np.exp(log_terms - greatest).sum()))


def _read_only(array: NDArray[_Scalar]) -> NDArray[_Scalar]:
    if not array.flags.writeable:
        return array
    view = array.view()
    view.flags.writeable = False
    return view


@dataclass(frozen=True, eq=False)
class Ensemble:
    """Possible worlds of one device, each drawn once, with their weights.

    A row is a world: one value for every latent quantity, coded as a whole number. What is
    drawn once per device (which cause, whether it shows itself) is a column, so that a
    repeated check is not taken for fresh proof.

    Parameters
    ----------
    log_weights : ndarray, shape (R,)
        Natural logarithms of the weights: prior times the likelihood of all evidence so far.
        They need not sum to one.
    columns : mapping of str to ndarray of int, each of shape (R,)
        Codes of the latent quantities, not negative.
    log_omitted : float
        Logarithm of an upper bound on the weight of all worlds that were left out, on the
        same scale as `log_weights`.
    within : mapping of str to ndarray, each of shape (R, K)
        Chances of the K values of further latent quantities, given the world and the evidence:
        quantities that are independent of each other once the world is known need no worlds of
        their own (Rao-Blackwellisation; Casella and Robert 1996, Biometrika 83, 81-94).

    Raises
    ------
    MisuseError
        If the shapes differ or a weight is not a number.
    """

    log_weights: FloatArray
    columns: Mapping[str, IntArray]
    log_omitted: float = -math.inf
    within: Mapping[str, FloatArray] = field(default_factory=dict)

    def __post_init__(self) -> None:
        weights = np.asarray(self.log_weights, dtype=np.float64)
        if weights.ndim != 1 or np.isnan(weights).any():
            raise MisuseError("log weights must be one row of numbers")
        columns = {}
        for name, codes in self.columns.items():
            array = np.asarray(codes, dtype=np.intp)
            if array.shape != weights.shape:
                raise MisuseError(f"column {name} has {array.shape}, weights {weights.shape}")
            columns[name] = _read_only(array)
        for name, chances in self.within.items():
            if chances.ndim != 2 or len(chances) != weights.size:
                raise MisuseError(
                    f"chances of {name} have {chances.shape}, weights {weights.shape}"
                )
        object.__setattr__(self, "log_weights", _read_only(weights))
        object.__setattr__(self, "columns", columns)

    def __len__(self) -> int:
        return int(self.log_weights.size)

    # Operations: each returns a new ensemble.

    def condition(self, log_likelihood: ArrayLike, log_best: float = 0.0) -> Ensemble:
        """Weigh every world by how likely it makes a piece of evidence (Bayes' rule).

        Parameters
        ----------
        log_likelihood : array_like, shape (R,)
            Natural logarithm of P(evidence | world) or of a density; minus infinity allowed.
        log_best : float
            The best that any omitted world could have made of it. The default, 0, holds for
            probabilities; give it for densities, which may exceed one.
        """
        weights = self.log_weights + np.asarray(log_likelihood, dtype=np.float64)
        if weights.shape != self.log_weights.shape:
            raise MisuseError(f"one likelihood per world is needed, {len(self)} of them")
        return replace(self, log_weights=weights, log_omitted=self.log_omitted + log_best)

    def learned(self, name: str, chances: FloatArray) -> Ensemble:
        """Return the same worlds with the chances of a quantity within them, shape (R, K)."""
        return replace(self, within={**self.within, name: chances})

    def split(self, column: str, values: ArrayLike, probabilities: ArrayLike) -> Ensemble:
        """Turn every world into K worlds that differ in one new or replaced column.

        Parameters
        ----------
        column : str
            Its name.
        values : array_like of int, shape (K,)
            Codes.
        probabilities : array_like, shape (K,) or (R, K)
            Of each code, given the world; each row sums to one. Worlds of probability zero
            are not made.

        Raises
        ------
        MisuseError
            If a row does not sum to one or has a negative entry.
        """
        codes = np.asarray(values, dtype=np.intp)
        chances = np.broadcast_to(
            np.asarray(probabilities, dtype=np.float64), (len(self), codes.size)
        )
        if (chances < 0.0).any() or (abs(chances.sum(axis=1) - 1.0) > _SUM_TOLERANCE).any():
            raise MisuseError(f"probabilities of {column} must be positive and sum to one")
        row, code = np.nonzero(chances)
        columns = {name: kept[row] for name, kept in self.columns.items()}
        columns[column] = codes[code]
        weights = self.log_weights[row] + np.log(chances[row, code])
        within = {name: kept[row] for name, kept in self.within.items()}
        return Ensemble(weights, columns, self.log_omitted, within)

    def assign(self, column: str, values: ArrayLike) -> Ensemble:
        """Return the same worlds with one column set.

        Parameters
        ----------
        column : str
            Its name, new or known.
        values : array_like of int, shape (R,) or ()
            Its code in each world, or one for all.
        """
        codes = np.broadcast_to(np.asarray(values, dtype=np.intp), self.log_weights.shape)
        return replace(self, columns={**self.columns, column: codes})

    def without(self, *names: str) -> Ensemble:
        """Drop columns that no longer matter; worlds alike in the rest become one."""
        columns = {name: kept for name, kept in self.columns.items() if name not in names}
        return replace(self, columns=columns).merged()

    def selected(self, keep: NDArray[np.bool_] | IntArray) -> Ensemble:
        """Return only some worlds; the bound on what is omitted is left as it was.

        Parameters
        ----------
        keep : ndarray of bool, shape (R,), or of int, shape (N,)
            Which.
        """
        columns = {name: kept[keep] for name, kept in self.columns.items()}
        within = {name: kept[keep] for name, kept in self.within.items()}
        return Ensemble(self.log_weights[keep], columns, self.log_omitted, within)

    def merged(self) -> Ensemble:
        """Sum worlds that are alike in every column and drop the impossible ones."""
        possible = self.log_weights > -math.inf
        if not possible.all():
            return self.selected(possible).merged()
        if len(self) < 2:
            return self
        key = self._keys()
        order = np.argsort(key, kind="stable")
        ranked = key[order]
        starts = np.flatnonzero(np.concatenate(([True], ranked[1:] != ranked[:-1])))
        if starts.size == len(self):
            return self
        weights = self.log_weights[order]
        greatest = np.maximum.reduceat(weights, starts)
        sizes = np.diff(np.append(starts, len(self)))
        scaled = np.exp(weights - np.repeat(greatest, sizes))
        summed = greatest + np.log(np.add.reduceat(scaled, starts))
        columns = {name: kept[order[starts]] for name, kept in self.columns.items()}
        shares = (scaled / np.repeat(np.exp(summed - greatest), sizes))[:, None]
        within = {
            name: np.add.reduceat(shares * kept[order], starts, axis=0)
            for name, kept in self.within.items()
        }
        return Ensemble(summed, columns, self.log_omitted, within)

    def pruned(self, keep_mass: float) -> Ensemble:
        """Drop the least likely worlds and add their weight to what is omitted.

        Parameters
        ----------
        keep_mass : float
            Share of the total weight that must stay, above 0 and up to 1.

        Raises
        ------
        MisuseError
            If the share is out of range or no world is possible.
        """
        if not 0.0 < keep_mass <= 1.0:
            raise MisuseError(f"a share of {keep_mass} can not be kept")
        order = np.argsort(-self.log_weights, kind="stable")
        kept_before = np.concatenate(([0.0], np.cumsum(self.probabilities[order])[:-1]))
        count = int(np.count_nonzero(kept_before < keep_mass))
        dropped = log_sum(self.log_weights[order[count:]])
        kept = self.selected(np.sort(order[:count]))
        omitted = float(np.logaddexp(self.log_omitted, dropped))
        return replace(kept, log_omitted=omitted)

    @cached_property
    def normalised(self) -> Ensemble:
        """The same belief with weights that sum to one."""
        shift = self._possible_log_evidence()
        return replace(
            self, log_weights=self.log_weights - shift, log_omitted=self.log_omitted - shift
        )

    # Queries.

    @cached_property
    def log_evidence(self) -> float:
        """Logarithm of the sum of all weights; minus infinity if no world is possible."""
        return log_sum(self.log_weights)

    @cached_property
    def probabilities(self) -> FloatArray:
        """Posterior probability of each world, shape (R,).

        Raises
        ------
        MisuseError
            If no world is possible.
        """
        return np.exp(self.log_weights - self._possible_log_evidence())

    @property
    def omitted_share(self) -> float:
        """Upper bound on the posterior probability of what was left out.

        Near one it says nothing: the bound is vacuous.
        """
        total = float(np.logaddexp(self.log_evidence, self.log_omitted))
        return math.exp(self.log_omitted - total) if math.isfinite(total) else 1.0

    def marginal(self, column: str, size: int = 0) -> FloatArray:
        """Return the probability of each code of a column.

        Parameters
        ----------
        column : str
            Its name.
        size : int
            Least length of the result.

        Returns
        -------
        ndarray, shape (K,)
            Indexed by code.
        """
        sums: FloatArray = np.bincount(
            self.columns[column], weights=self.probabilities, minlength=size
        ).astype(np.float64, copy=False)
        return sums

    def expectation(self, values: ArrayLike) -> float:
        """Return the mean of a quantity over the worlds.

        Parameters
        ----------
        values : array_like, shape (R,)
            Its value in each.
        """
        return float(self.probabilities @ np.asarray(values, dtype=np.float64))

    def _possible_log_evidence(self) -> float:
        if self.log_evidence == -math.inf:
            raise MisuseError("no world that is considered explains the evidence")
        return self.log_evidence

    def _keys(self) -> IntArray:
        """Return one number per world, equal where all columns are equal."""
        key = np.zeros(len(self), dtype=np.intp)
        span = 1
        for codes in self.columns.values():
            low, high = int(codes.min()), int(codes.max())
            if span * (high - low + 1) > np.iinfo(np.intp).max:
                key = np.unique(key, return_inverse=True)[1].reshape(-1)
                span = int(key.max()) + 1
            key = key * (high - low + 1) + (codes - low)
            span *= high - low + 1
        return key
