"""The passphrase: only its hash is kept, in a file for its owner or in the environment."""

from __future__ import annotations

import os
import stat
from collections.abc import Mapping
from pathlib import Path

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from argon2.profiles import RFC_9106_LOW_MEMORY

from nextprobe.errors import MisuseError

VARIABLE = "NEXTPROBE_PASSPHRASE_HASH"
SHORTEST = 10
"""Fewest characters of a passphrase; common practice, no published source."""

_hasher = PasswordHasher.from_parameters(RFC_9106_LOW_MEMORY)


def hashed(passphrase: str) -> str:
    """Return the hash of a passphrase (argon2id; RFC 9106, section 4, second choice).

    Raises
    ------
    MisuseError
        If it is too short to be one.
    """
    if len(passphrase) < SHORTEST:
        raise MisuseError(f"a passphrase has {SHORTEST} characters or more: several words do well")
    return _hasher.hash(passphrase)


def matches(known_hash: str, passphrase: str) -> bool:
    """Tell whether a passphrase is the one with this hash."""
    try:
        return _hasher.verify(known_hash, passphrase)
    except (VerificationError, InvalidHashError):
        return False


def keep_hash(file: Path, passphrase: str) -> None:
    """Write the hash of a passphrase to a file that only its owner can read.

    Raises
    ------
    MisuseError
        If the passphrase is too short, or the file can not be written.
    """
    text = f"{hashed(passphrase)}\n"
    try:
        file.unlink(missing_ok=True)
        with os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as out:
            out.write(text)
    except OSError as error:
        raise MisuseError(f"{file} can not be written: {error.strerror}") from error


def known_hash(file: Path | None, environment: Mapping[str, str] = os.environ) -> str:
    """Return the hash that the server is to use; empty if there is no passphrase.

    Raises
    ------
    MisuseError
        If the file can not be read, others can read it, or there is no hash in it.
    """
    text = environment.get(VARIABLE, "") if file is None else _read(file)
    if text and not text.startswith("$argon2"):
        place = VARIABLE if file is None else str(file)
        raise MisuseError(f"{place} holds no hash: make one with 'nextprobe passphrase FILE'")
    return text


def _read(file: Path) -> str:
    try:
        mode = file.stat().st_mode
        if os.name != "nt" and mode & (stat.S_IRWXG | stat.S_IRWXO):
            raise MisuseError(f"others can read {file}: do chmod 600 {file}")
        return file.read_text("utf-8").strip() or "-"
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not text"
        raise MisuseError(f"{file} can not be read: {reason}") from error
