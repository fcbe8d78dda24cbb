"""Values in words for tables."""

from __future__ import annotations

from nextprobe.board import say_value
from nextprobe.workbench.phrases import say_share

__all__ = ["say_chance", "say_count", "say_minutes", "say_money", "say_share", "say_value"]


def say_money(amount: float, currency: str) -> str:
    """Return an amount of money."""
    return f"{amount:z.2f} {currency}"


def say_minutes(attended: float, elapsed: float) -> str:
    """Return how long something takes."""
    if elapsed > attended + 0.5:
        return f"{attended:.0f} min of work, done after {elapsed:.0f} min"
    return f"{attended:.0f} min" if attended >= 1.0 else "under 1 min"


def say_chance(probability: float) -> str:
    """Return a chance in per cent."""
    percent = 100.0 * probability
    return f"{percent:.0f} %" if percent >= 1.0 else "< 1 %"


def say_count(count: int, word: str) -> str:
    """Return a number of things."""
    return f"1 {word}" if count == 1 else f"{count} {word}s"
