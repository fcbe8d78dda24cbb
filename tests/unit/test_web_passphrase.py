"""The passphrase is kept as a hash that only its owner can read."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from nextprobe.errors import MisuseError
from nextprobe.web.passphrase import VARIABLE, keep_hash, known_hash, matches

WORDS = "three blue kettles"


def test_it_is_kept_as_a_hash_for_its_owner_only(tmp_path: Path) -> None:
    file = tmp_path / "passphrase"
    file.write_text("older")
    file.chmod(0o644)
    keep_hash(file, WORDS)
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    kept = known_hash(file, {})
    assert WORDS not in file.read_text() and kept.startswith("$argon2id$")
    assert matches(kept, WORDS)
    assert not matches(kept, "three blue kettle")
    assert known_hash(None, {VARIABLE: kept}) == kept
    assert known_hash(None, {}) == ""


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such permissions")
def test_a_file_that_others_can_read_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "passphrase"
    keep_hash(file, WORDS)
    file.chmod(0o640)
    with pytest.raises(MisuseError, match="chmod 600"):
        known_hash(file, {})


@pytest.mark.parametrize("content", ["", "secret", "\udcff"])
def test_a_file_without_a_hash_is_refused(tmp_path: Path, content: str) -> None:
    file = tmp_path / "passphrase"
    file.write_bytes(content.encode("utf-8", "surrogateescape"))
    file.chmod(0o600)
    with pytest.raises(MisuseError):
        known_hash(file, {})


def test_what_makes_no_sense_is_refused(tmp_path: Path) -> None:
    with pytest.raises(MisuseError, match="characters"):
        keep_hash(tmp_path / "passphrase", "short")
    assert not (tmp_path / "passphrase").exists()
    with pytest.raises(MisuseError, match="can not be written"):
        keep_hash(tmp_path / "none" / "passphrase", WORDS)
    with pytest.raises(MisuseError, match="can not be read"):
        known_hash(tmp_path / "passphrase", {})
    with pytest.raises(MisuseError, match="no hash"):
        known_hash(None, {VARIABLE: "plain words"})
    assert not matches("plain words", "plain words")
