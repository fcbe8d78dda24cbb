"""Importing brings in no more than it needs: a command must answer fast."""

from __future__ import annotations

import subprocess
import sys

import pytest

LEFT_FOR_LATER = {
    "nextprobe": ["numpy", "scipy", "pydantic", "sqlalchemy"],
    "nextprobe.cli.main": ["numpy", "scipy", "pydantic", "sqlalchemy"],
    "nextprobe.diagnosis": ["scipy.optimize", "scipy.sparse.csgraph", "sqlalchemy"],
}


@pytest.mark.parametrize("module", LEFT_FOR_LATER)
def test_what_an_import_leaves_for_later(module: str) -> None:
    code = f"import sys, {module}; print(*sorted(sys.modules))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = run.stdout.split()
    assert module in loaded
    assert not set(LEFT_FOR_LATER[module]) & set(loaded)
