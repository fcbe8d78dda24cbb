"""Processes started by these tests keep their byte code, as installed programs do."""

from __future__ import annotations

from collections.abc import Iterator

import pytest


@pytest.fixture(scope="session", autouse=True)
def _byte_code(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PYTHONPYCACHEPREFIX", str(tmp_path_factory.mktemp("code")))
        patch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
        yield
