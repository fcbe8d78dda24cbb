"""Numbers in words: chances, changes of odds."""

from __future__ import annotations

import math

# Kass and Raftery 1995, Bayes Factors, J. Am. Stat. Assoc. 90, p. 777 (from memory): a factor up
# to 3 is not worth more than a bare mention, to 20 positive, to 150 strong, above very strong.
_GRADES = ((3.0, "a little"), (20.0, "clearly"), (150.0, "much"))
_NO_CHANGE = 1.05
_GREAT = 1e6


def say_factor(factor: float) -> str:
    """Return a change of odds in words: ``clearly more likely``.

    Grades after Kass and Raftery 1995.
    """
    size = max(factor, 1.0 / factor) if factor > 0.0 else math.inf
    if size < _NO_CHANGE:
        return "about as likely as before"
    grade = next((word for limit, word in _GRADES if size <= limit), "very much")
    return f"{grade} {'more' if factor > 1.0 else 'less'} likely"


def say_times(factor: float) -> str:
    """Return how often something is as great, to two digits: ``4.1 times``."""
    rounded = float(f"{factor:.2g}")
    return f"{rounded:,g} times" if rounded < _GREAT else f"10^{math.log10(factor):.0f} times"


def say_probability(probability: float) -> str:
    """Return a probability in words."""
    steps = ((0.95, "almost certain"), (0.75, "very likely"), (0.5, "likely"), (0.2, "possible"),
             (0.05, "unlikely"))  # fmt: skip
    return next((word for limit, word in steps if probability >= limit), "very unlikely")


def say_share(probability: float) -> str:
    """Return a probability as people write it: ``42 %``, ``0.4 %``, ``below 0.1 %``.

    Nothing here is ever certain, so that 100 % is never said.
    """
    percent = 100.0 * probability
    if percent > 99.9:
        return "above 99.9 %"
    if percent >= 9.95:
        return f"{percent:.0f} %"
    return f"{percent:.1f} %" if percent >= 0.1 else "below 0.1 %"
