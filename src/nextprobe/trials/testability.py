"""How well the tests of a pack detect and isolate the faults behind a complaint.

In the terms of IEEE Std 1522 (Testability and Diagnosability Characteristics and Metrics): the
fraction of faults detected, the fraction isolated to groups of one, two and so on, and the
ambiguity groups (after Sheppard and Kaufman 1998, Formal specification of testability metrics in
IEEE P1522, AUTOTESTCON). There a test passes or fails; here each outcome has a chance, so that
two faults count as told apart where whoever has all outcomes takes one for the other at most
once in twenty times.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import FaultKind
from nextprobe.diagnosis import Case
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.options import VERIFICATIONS

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

_TOLD_APART = 0.05
# A chance of new damage that nobody minds.
_HARMLESS = 0.005
GROUP_SIZES = (1, 2, 3, 5, 10)


@dataclass(frozen=True, eq=False)
class Test:
    """What a test may show.

    Parameters
    ----------
    name : str
        Id of the option.
    kind : str
        ``look``, ``check``, ``reading`` or ``trial``.
    chances : ndarray, shape (K, N + 1)
        Of each outcome under each family of faults, then with nothing wrong.
    """

    name: str
    kind: str
    chances: FloatArray


@dataclass(frozen=True)
class Group:
    """Faults that no test tells apart.

    Parameters
    ----------
    faults : tuple of str
        Families, likeliest first.
    share : float
        Of complaints that end in this group, 0 to 1.
    """

    faults: tuple[str, ...]
    share: float


@dataclass(frozen=True)
class Testability:
    """How well faults are detected and isolated; all shares are weighted by the rates.

    Parameters
    ----------
    faults : int
        How many families of faults.
    detected : float
        Share of faults that looks, checks of other functions and readings tell from none.
    isolated : mapping of int to float
        Share of faults for which at most so many remain.
    one_repair : float
        Share of faults for which one repair cures all that remain.
    mean_group : float
        Mean number of faults that remain.
    undetected : tuple of (str, float)
        Faults that are not detected, with their shares.
    groups : tuple of Group
        Ambiguity groups of two and more, likeliest first.
    tests : mapping of str to int
        How many tests there are of each kind.
    """

    faults: int
    detected: float
    isolated: Mapping[int, float]
    one_repair: float
    mean_group: float
    undetected: tuple[tuple[str, float], ...]
    groups: tuple[Group, ...]
    tests: Mapping[str, int] = field(default_factory=dict)

    def measures(self) -> dict[str, object]:
        """Return the numbers as plain data, by the names that programs know them by."""
        return {
            "faults": self.faults,
            "tests": self.tests,
            "detected": self.detected,
            "isolated": self.isolated,
            "isolated_to_one_repair": self.one_repair,
            "mean_ambiguity_group": self.mean_group,
        }


def testability(case: Case) -> Testability:
    """Return how well the faults behind a complaint can be told, at intake."""
    model = case.model
    names, family = model.families
    rates = np.bincount(family, model.prior, len(names)).astype(np.float64)
    tests = list(available_tests(case))
    told = confusions([test.chances for test in tests]) <= _TOLD_APART
    seen = confusions([test.chances for test in tests if test.kind != "trial"]) <= _TOLD_APART
    told_apart, detected = told[:-1, :-1], seen[:-1, -1]
    found = measured(names, rates, told_apart, detected, repairs_by_family(model))
    kinds = [test.kind for test in tests]
    return replace(found, tests={kind: kinds.count(kind) for kind in dict.fromkeys(kinds)})


def measured(
    names: Sequence[str],
    rates: FloatArray,
    told_apart: BoolArray,
    detected: BoolArray,
    repairs: BoolArray,
) -> Testability:
    """Return the measures of faults that are told apart or not.

    Parameters
    ----------
    names : sequence of str, length N
    rates : ndarray, shape (N,)
    told_apart : ndarray of bool, shape (N, N)
    detected : ndarray of bool, shape (N,)
    repairs : ndarray of bool, shape (W, N)
        Which faults each repair cures.
    """
    shares = rates / rates.sum()
    remain = ~told_apart | np.eye(len(names), dtype=np.bool_)
    sizes = remain.sum(axis=1)
    cured = np.array([bool((repairs | ~row).all(axis=1).any()) for row in remain])
    missed = [index for index in np.argsort(-shares, kind="stable") if not detected[index]]
    return Testability(
        len(names),
        float(shares @ detected),
        {size: float(shares @ (sizes <= size)) for size in GROUP_SIZES},
        float(shares @ cured),
        float(shares @ sizes),
        tuple((names[index], float(shares[index])) for index in missed),
        tuple(_groups(names, shares, remain)),
    )


def _groups(names: Sequence[str], shares: FloatArray, remain: BoolArray) -> list[Group]:
    found: dict[bytes, list[int]] = {}
    for index, row in enumerate(remain):
        found.setdefault(row.tobytes(), []).append(index)
    groups = []
    for members in found.values():
        within = np.flatnonzero(remain[members[0]])
        if len(within) > 1:
            order = within[np.argsort(-shares[within], kind="stable")]
            faults = tuple(names[index] for index in order)
            groups.append(Group(faults, float(shares[members].sum())))
    return sorted(groups, key=lambda group: -group.share)


def confusions(tests: Sequence[FloatArray]) -> FloatArray:
    """Return how often one column is taken for another at most, both being equally likely.

    By the best single test it is half the sum of the lesser chances; by all together at most half
    of what their outcomes overlap by, the product of the Bhattacharyya coefficients of the tests
    (Kailath 1967, IEEE Transactions on Communication Technology 15, 52-60; cited from memory).
    The lesser of the two bounds is returned.

    Parameters
    ----------
    tests : sequence of ndarray, shape (K, N) each
        Chances of outcomes; the tests are independent given the column.

    Returns
    -------
    ndarray, shape (N, N)
        From 0, never confused, to a half, alike.
    """
    count = tests[0].shape[1] if tests else 0
    best, overlap = np.full((count, count), 0.5), np.ones((count, count))
    for chances in tests:
        held = np.clip(chances, 0.0, None)
        root = np.sqrt(held)
        overlap *= np.minimum(root.T @ root, 1.0)
        lesser = sum(np.minimum(row[:, None], row[None, :]) for row in held)
        best = np.minimum(best, 0.5 * lesser)
    return np.asarray(np.minimum(best, 0.5 * overlap))


def available_tests(case: Case) -> Iterator[Test]:
    """Yield looks, checks of other functions, readings, and what may be tried."""
    model = case.model
    pool = _pooling(model)
    for name in model.telling_looks:
        rows = np.stack(list(model.look_rows_alone[name].values()))
        nothing = np.clip(1.0 - rows.sum(axis=0), 0.0, 1.0)
        yield Test(f"look:{name}", "look", pool(np.vstack([rows, nothing])))
    for name in model.pack.functions:
        if name != model.complaint and model.stops(name).any():
            yield Test(f"check:{name}", "check", pool(_check(model, name)))
    for name in case.problem.probing.touches:
        alone = case.problem.probing.chances(name)
        kept = [*range(len(model.listed)), alone.shape[1] - 1]
        yield Test(name, "reading", pool(alone[:, kept]))
    for name, gone in _trials(model):
        yield Test(f"trial:{name}", "trial", pool(_trial(model, gone)))


def _pooling(model: Model) -> _Pool:
    names, family = model.families
    weights = np.zeros((len(model.listed) + 1, len(names) + 1))
    weights[np.arange(len(family)), family] = np.maximum(model.prior, 1e-300)
    weights[-1, -1] = 1.0
    return _Pool(weights / weights.sum(axis=0))


@dataclass(frozen=True, eq=False)
class _Pool:
    """Averages over the members of a family, by their rates: sizes of a leak, above all."""

    weights: FloatArray

    def __call__(self, chances: FloatArray) -> FloatArray:
        return np.asarray(chances @ self.weights)


def _check(model: Model, function: str) -> FloatArray:
    """Return the chances that a check passes and fails, shape (2, H + 1)."""
    data = model.pack.functions[function]
    shows = 1.0 - data.intermittent + data.intermittent * data.duty
    fails = np.append(model.stops(function) * shows, 0.0)
    failed = fails * (1.0 - data.check.false_pass) + (1.0 - fails) * data.check.false_fail
    return np.stack([1.0 - failed, failed])


def _trials(model: Model) -> Iterator[tuple[str, FloatArray]]:
    """Yield what may be tried, and the chance that each candidate is gone by it, shape (H,).

    Another module, refreshed where it has to be; a refresh that keeps data; and work that hardly
    does any harm, such as seating a connector anew.
    """
    gentle = {name: cures for name, cures in model.refresh_cures.items()
              if model.pack.refreshes[name].keeps_data}  # fmt: skip
    for slot in model.slots:
        module = model.pack.modules[slot]
        seat = model.of_kind(FaultKind.SEATING, model.seat_of(slot))
        gone = model.module_faults[slot] * (1.0 - module.donor_bad)
        gone = gone + seat * model.pack.work["reseat"].success
        late = module.recognised == "after refresh"
        if late and gentle:
            gone = np.maximum(gone, next(iter(gentle.values())))
        yield slot, np.asarray(gone, dtype=np.float64)
    yield from gentle.items()
    for row, repair in enumerate(model.work):
        work = model.pack.work[repair.work]
        if not work.heat and work.harm <= _HARMLESS:
            yield repair.id, model.cure_chances[row]


def _trial(model: Model, gone: FloatArray) -> FloatArray:
    """Return the chances that the complaint is gone and stays so, or not, shape (2, H + 1).

    What seems to work is checked again and again, as before a device is handed over, and all of it
    once more where a check fails: only a fault that comes and goes may hide from that.
    """
    check, looks = model.function.check, 1 + VERIFICATIONS
    hidden = 1.0 - model.function.duty * (1.0 - check.false_pass)
    always, sometimes = check.false_pass**looks, hidden**looks
    share = model.function.intermittent
    missed = (1.0 - share) * always + share * sometimes
    held = (1.0 - check.false_fail) ** looks
    cured = np.append(gone, 1.0)
    right, wrong = (1.0 - (1.0 - passed) ** 2 for passed in (held, missed))
    works = cured * right + (1.0 - cured) * wrong
    return np.stack([works, 1.0 - works])


def repairs_by_family(model: Model) -> BoolArray:
    """Return which families each repair cures: work, swaps and refreshes, shape (W, N)."""
    names, family = model.families
    cures = [*model.cure_chances, *model.module_faults.values(), *model.refresh_cures.values()]
    rows = [np.bincount(family, np.asarray(row, dtype=np.float64), len(names)) for row in cures]
    return np.array(rows).reshape(len(rows), len(names)) > 0.0
