"""Who has logged in, and who has guessed too often."""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from hashlib import sha256
from time import monotonic

COOKIE = "nextprobe-session"
FREE_TRIES = 3
MOST_TRIES = 10
WINDOW = 600.0
"""Failed tries are forgotten after so long [s]; common practice, no published source."""
_LONGEST_DELAY = 8.0
_MOST_SESSIONS = 256


@dataclass(eq=False)
class _Login:
    until: float
    over: asyncio.Event = field(default_factory=asyncio.Event)


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
        self._logins: dict[str, _Login] = {}
        self._failed: list[float] = []

    def opened(self) -> str:
        """Return the cookie of a new login."""
        now = self._clock()
        for name in [name for name, login in self._logins.items() if login.until <= now]:
            self._end(name)
        for name in list(self._logins)[: -_MOST_SESSIONS + 1]:
            self._end(name)
        cookie = secrets.token_urlsafe(32)
        self._logins[_name(cookie)] = _Login(now + self._seconds)
        return cookie

    def is_open(self, cookie: str) -> bool:
        """Tell whether a cookie is that of a login that lasts."""
        login = self._logins.get(_name(cookie))
        return login is not None and login.until > self._clock()

    def close(self, cookie: str) -> None:
        """End a login."""
        self._end(_name(cookie))

    async def over(self, cookie: str) -> None:
        """Wait until a login has ended, or has lasted as long as it may."""
        login = self._logins.get(_name(cookie))
        if login is not None:
            with suppress(TimeoutError):
                await asyncio.wait_for(login.over.wait(), login.until - self._clock())

    def _end(self, name: str) -> None:
        login = self._logins.pop(name, None)
        if login is not None:
            login.over.set()

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
