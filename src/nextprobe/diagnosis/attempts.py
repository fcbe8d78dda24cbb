"""Work that did not help: how often it was done, and how far it can still be trusted.

How well a piece of work takes on one device is the same each time that it is tried. Over devices
the chance of success is taken to have a beta distribution whose mean is what the pack says and
which is worth ``n`` attempts: where the fault is still there after ``k`` of them, the next succeeds
with ``c n / (n + k)`` (Gelman et al. 2013, Bayesian Data Analysis, 3rd ed., 2.4, of the beta and
binomial distributions). How many attempts it is worth is common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Collection

_WORTH = 2.0
_MOST = 3


def attempts(tried: Collection[str], work: str) -> int:
    """Return how often a piece of work was done, by what is noted as tried."""
    return sum(_mark(work, number) in tried for number in range(1, _MOST + 1))


def attempt_noted(tried: Collection[str], work: str) -> tuple[str, ...]:
    """Return what to note once a piece of work was done again.

    The last attempt takes the name of the work itself: it is not offered any more.
    """
    number = attempts(tried, work) + 1
    return (_mark(work, number), work) if number >= _MOST else (_mark(work, number),)


def trust(failed: int) -> float:
    """Return the factor on the chance of success after some failed attempts, 0 to 1."""
    return _WORTH / (_WORTH + failed)


def trust_now(tried: Collection[str], work: str) -> float:
    """Return the factor on the chance that a piece of work succeeds now, by what was tried."""
    return trust(attempts(tried, work))


def failed_refresh(name: str) -> str:
    """Name a refresh that stopped half-way, to count it by."""
    return f"refresh:{name}:failed"


def finishing(success: float, tried: Collection[str], name: str) -> float:
    """Return the chance that a refresh finishes, after those that did not."""
    return success * trust_now(tried, failed_refresh(name))


def done_before(tried: Collection[str]) -> frozenset[str]:
    """Return the work that was done already: again is on the shop's own account."""
    return frozenset(name.partition("#")[0] for name in tried if name.endswith("#1"))


def _mark(work: str, number: int) -> str:
    return f"{work}#{number}"
