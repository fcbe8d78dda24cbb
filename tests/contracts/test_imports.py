"""Importing brings in no more than it needs: a command must answer fast."""

from __future__ import annotations

import subprocess
import sys

import pytest

LEFT_FOR_LATER = {
    "nextprobe": ["numpy", "scipy", "pydantic", "sqlalchemy"],
    "nextprobe.cli.main": ["numpy", "scipy", "pydantic", "sqlalchemy", "fastapi", "uvicorn"],
    "nextprobe.diagnosis": ["scipy.optimize", "scipy.sparse.csgraph", "sqlalchemy"],
}


@pytest.mark.parametrize("module", LEFT_FOR_LATER)
def test_what_an_import_leaves_for_later(module: str) -> None:
    code = f"import sys, {module}; print(*sorted(sys.modules))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = run.stdout.split()
    assert module in loaded
    assert not set(LEFT_FOR_LATER[module]) & set(loaded)


def test_the_help_of_all_commands_leaves_the_engine_for_later() -> None:
    code = "import sys; from nextprobe.cli.main import application; application()"
    run = subprocess.run(
        [sys.executable, "-c", f"{code}; print(*sorted(sys.modules))"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    loaded = run.stdout.split()
    assert "nextprobe.cli.rehearse" in loaded
    assert not {*LEFT_FOR_LATER["nextprobe.cli.main"], "nextprobe.diagnosis"} & set(loaded)
