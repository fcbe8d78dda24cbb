"""A Ctrl-C waits until nothing is locked; the second one does not."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator

import pytest

from nextprobe.trials.held_interrupts import held_interrupts

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals are sent as on POSIX systems")


@pytest.fixture(autouse=True)
def _usual_handler() -> Iterator[None]:
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


def interrupt() -> None:
    signal.raise_signal(signal.SIGINT)


def test_an_interrupt_comes_when_it_is_asked_for() -> None:
    done = []
    with pytest.raises(KeyboardInterrupt), held_interrupts() as heed:
        heed()
        interrupt()
        done.append("the work that must not be cut")
        heed()
        done.append("never")
    assert done == ["the work that must not be cut"]
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_an_interrupt_that_nobody_asked_for_comes_at_the_end() -> None:
    done = []
    with pytest.raises(KeyboardInterrupt), held_interrupts():
        interrupt()
        done.append("the work that must not be cut")
    assert done == ["the work that must not be cut"]


def test_the_second_interrupt_comes_at_once() -> None:
    with pytest.raises(KeyboardInterrupt), held_interrupts():
        interrupt()
        interrupt()
        pytest.fail("the second one was held as well")


def test_who_ignores_interrupts_goes_on_ignoring_them() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with held_interrupts() as heed:
        interrupt()
        heed()
    assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN


def test_other_threads_leave_the_handler_alone() -> None:
    seen = []

    def work() -> None:
        with held_interrupts() as heed:
            seen.append(signal.getsignal(signal.SIGINT))
            heed()

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    assert seen == [signal.default_int_handler]
