"""The wheel that users install holds everything the program reads."""

from __future__ import annotations

import os
import shutil
import subprocess
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.slow
@pytest.mark.skipif(
    shutil.which("uv") is None and not os.environ.get("CI"), reason="uv is not installed"
)
def test_the_wheel_holds_the_data_of_the_package(tmp_path: Path) -> None:
    command = ["uv", "build", "--quiet", "--wheel", "--out-dir", str(tmp_path), str(ROOT)]
    subprocess.run(command, check=True)
    with zipfile.ZipFile(next(tmp_path.glob("*.whl"))) as wheel:
        packed = set(wheel.namelist())
    source = ROOT / "src"
    files = {
        path.relative_to(source).as_posix()
        for path in (source / "nextprobe").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert files <= packed
    assert "nextprobe/py.typed" in packed
    assert any(name.endswith(".yaml") for name in packed)
    assert not any(name.startswith("tests/") for name in packed)
