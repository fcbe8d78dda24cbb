"""The browser of these tests, and processes that keep their byte code as installed programs do."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest
from web_driving import Browser, browsing


@pytest.fixture(scope="session", autouse=True)
def _byte_code(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    base = tmp_path_factory.getbasetemp()
    shared = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PYTHONPYCACHEPREFIX", str(shared / "code"))
        patch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
        yield


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Give a browser; the tests of a file share it."""
    with browsing() as found:
        yield found
