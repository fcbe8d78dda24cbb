"""Where jobs live when nobody says where (XDG Base Directory Specification 0.8)."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from nextprobe.errors import StoreError
from nextprobe.store.folder import default_folder, workshop_folder


@pytest.fixture(autouse=True)
def _home(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", "/home/mara")
    monkeypatch.setenv("USERPROFILE", "/home/mara")


@pytest.mark.parametrize(
    ("environment", "platform", "expected"),
    [
        ({}, "linux", "/home/mara/.local/share/nextprobe"),
        ({"XDG_DATA_HOME": "/data"}, "linux", "/data/nextprobe"),
        ({"XDG_DATA_HOME": "data"}, "linux", "/home/mara/.local/share/nextprobe"),
        ({"XDG_DATA_HOME": "/data"}, "darwin", "/home/mara/Library/Application Support/nextprobe"),
        ({"LOCALAPPDATA": "/local"}, "win32", "/local/nextprobe"),
        ({}, "win32", "/home/mara/AppData/Local/nextprobe"),
        ({"NEXTPROBE_HOME": "~/jobs", "XDG_DATA_HOME": "/data"}, "linux", "/home/mara/jobs"),
        ({"NEXTPROBE_HOME": ""}, "linux", "/home/mara/.local/share/nextprobe"),
    ],
)
def test_default_folder(environment: dict[str, str], platform: str, expected: str) -> None:
    assert default_folder(environment, platform) == Path(expected)


def test_a_folder_is_made_for_its_owner(tmp_path: Path) -> None:
    folder = workshop_folder(tmp_path / "a" / "b")
    assert folder.is_dir()
    assert not any(folder.iterdir())
    if os.name == "posix":
        assert folder.stat().st_mode & 0o077 == 0
    assert workshop_folder(folder) == folder


def test_a_folder_that_can_not_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(StoreError, match="choose another folder with NEXTPROBE_HOME"):
        workshop_folder(tmp_path / "file" / "jobs")


def test_a_user_without_a_home_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def homeless() -> Path:
        raise RuntimeError("no home")

    monkeypatch.setattr(Path, "home", homeless)
    with pytest.raises(StoreError, match="set NEXTPROBE_HOME"):
        default_folder({}, "linux")
