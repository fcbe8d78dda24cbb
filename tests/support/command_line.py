"""The command line, run inside the test, with what it printed."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, NamedTuple

import pytest

from nextprobe.cli.main import main

DONE, FOUND, MISUSED = 0, 1, 2


class Answer(NamedTuple):
    """What a command printed."""

    code: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        """What it printed as JSON."""
        return json.loads(self.out)


Run = Callable[..., Answer]


def runner(capsys: pytest.CaptureFixture[str]) -> Run:
    """Return what runs a command; none may end in a traceback."""

    def command(*words: str) -> Answer:
        code = main(words)
        printed = capsys.readouterr()
        assert "Traceback" not in printed.out + printed.err
        return Answer(code, printed.out, printed.err)

    return command
