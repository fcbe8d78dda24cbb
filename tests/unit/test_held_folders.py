"""What a server that was killed has left is removed by the next one, and nothing else is."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from nextprobe.web.held_folders import HeldFolder, remove_left
from nextprobe.web.rehearsing import Rehearsals

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows has no such locks")

PREFIX = "nextprobe-rehearsal-"
_SERVER = f"""
import time
from nextprobe.web.held_folders import HeldFolder
folder = HeldFolder("{PREFIX}")
(folder.path / "report").write_text("done")
print(folder.path, flush=True)
time.sleep(600)
"""


@pytest.fixture(autouse=True)
def _place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))


def server(tmp_path: Path) -> tuple[subprocess.Popen[str], Path]:
    """Start a server that has finished a rehearsal; return it with the folder of that."""
    process = subprocess.Popen(
        [sys.executable, "-c", _SERVER],
        stdout=subprocess.PIPE, text=True, env={**os.environ, "TMPDIR": str(tmp_path)},
    )  # fmt: skip
    assert process.stdout is not None
    return process, Path(process.stdout.readline().strip())


def test_what_a_killed_server_left_is_removed_by_the_next(tmp_path: Path) -> None:
    process, folder = server(tmp_path)
    try:
        assert remove_left(PREFIX) == ()
        assert (folder / "report").exists()
    finally:
        process.kill()
        process.communicate()
    assert (folder / "report").exists()
    Rehearsals().close()
    assert not folder.exists()


def test_what_is_held_or_nobody_s_stays(tmp_path: Path) -> None:
    held = HeldFolder(PREFIX)
    unmarked = tmp_path / f"{PREFIX}unmarked"
    unmarked.mkdir()
    away = tmp_path / "away"
    away.mkdir()
    (away / "held").touch()
    link = tmp_path / f"{PREFIX}link"
    link.symlink_to(away)
    linked = tmp_path / f"{PREFIX}linked"
    linked.mkdir()
    (linked / "held").symlink_to(away / "held")
    assert remove_left(PREFIX) == ()
    assert all(path.exists() for path in (held.path, unmarked, away, link, linked))
    held.remove()
    assert not held.path.exists()


def test_a_folder_of_another_user_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / f"{PREFIX}other"
    folder.mkdir()
    (folder / "held").touch()
    with monkeypatch.context() as patch:
        patch.setattr(os, "getuid", lambda: folder.stat().st_uid + 1)
        assert remove_left(PREFIX) == ()
    assert remove_left(PREFIX) == (folder,)
