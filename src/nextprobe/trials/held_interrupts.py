"""Ctrl-C held back until it can do no harm."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def held_interrupts() -> Iterator[Callable[[], None]]:
    """Hold a Ctrl-C back until it is asked for, or to the end; a second one is not held.

    Raised in the middle of what takes locks one after the other, an interrupt leaves some of them
    locked, and whoever waits for these waits for ever.

    Yields
    ------
    callable
        Raises KeyboardInterrupt if there was a Ctrl-C since. Outside the main thread, and where
        Ctrl-C does not raise in the first place, it does nothing.
    """
    usual = signal.getsignal(signal.SIGINT) is signal.default_int_handler
    if not usual or threading.current_thread() is not threading.main_thread():
        yield _nothing_came
        return
    came: list[int] = []

    def note(number: int, _frame: object) -> None:
        came.append(number)
        if len(came) > 1:
            raise KeyboardInterrupt

    def heed() -> None:
        if came:
            raise KeyboardInterrupt

    signal.signal(signal.SIGINT, note)
    try:
        yield heed
        heed()
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)


def _nothing_came() -> None:
    pass
