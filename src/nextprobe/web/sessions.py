"""Who has logged in, and who has guessed too often."""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import Callable
from hashlib import sha256
from time import monotonic

COOKIE = "nextprobe-session"
FREE_TRIES = 3
MOST_TRIES = 10
WINDOW = 600.0
"""Failed tries are forgotten after so long [s]; common practice, no published source."""
_LONGEST_DELAY = 8.0
_MOST_SESSIONS = 256


class Sessions:
    """Logins of one server; they are gone when it stops. Only hashes of cookies are kept.

    Parameters
    ----------
    seconds : float
        How long a login lasts [s].
    clock : callable
        Gives the time [s].
    """

    def __init__(self, seconds: float, clock: Callable[[], float] = monotonic) -> None:
        self._seconds = seconds
        self._clock = clock
        self.trying = asyncio.Lock()
        self._until: dict[str, float] = {}
        self._failed: list[float] = []

    def opened(self) -> str:
        """Return the cookie of a new login."""
        now = self._clock()
        kept = [(name, until) for name, until in self._until.items() if until > now]
        self._until = dict(kept[-_MOST_SESSIONS + 1 :])
        cookie = secrets.token_urlsafe(32)
        self._until[_name(cookie)] = now + self._seconds
        return cookie

    def is_open(self, cookie: str) -> bool:
        """Tell whether a cookie is that of a login that lasts."""
        return self._until.get(_name(cookie), 0.0) > self._clock()

    def close(self, cookie: str) -> None:
        """End a login."""
        self._until.pop(_name(cookie), None)

    def note_failure(self) -> float:
        """Note a wrong passphrase, and return how long to wait before saying so [s]."""
        self._failed = [*self._recent(), self._clock()]
        extra = len(self._failed) - FREE_TRIES
        return min(0.5 * 2.0**extra, _LONGEST_DELAY) if extra > 0 else 0.25

    def wait(self) -> float:
        """Return how long nobody may try [s]; 0 if somebody may.

        Counted for all clients together: one passphrase serves all, and an address costs nothing.
        """
        recent = self._recent()
        return 0.0 if len(recent) < MOST_TRIES else WINDOW - (self._clock() - recent[0])

    def _recent(self) -> list[float]:
        now = self._clock()
        return [moment for moment in self._failed if now - moment < WINDOW]


def _name(cookie: str) -> str:
    return sha256(cookie.encode("utf-8", "replace")).hexdigest()
