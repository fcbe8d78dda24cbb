"""Small text files that people wrote, with a finding in place of every exception."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from nextprobe.errors import Finding, Where

MAX_BYTES = 4_000_000


@dataclass(frozen=True)
class TextFile:
    """What a file holds.

    Parameters
    ----------
    text : str or None
        None where the file is missing or could not be read.
    data : bytes
        The same, as stored.
    findings : tuple of Finding
        Why there is no text. A missing file has none.
    """

    text: str | None = None
    data: bytes = b""
    findings: tuple[Finding, ...] = ()


def read_text_file(path: Path) -> TextFile:
    """Read a text file in UTF-8, with or without a byte order mark."""
    try:
        if not path.exists():
            return TextFile()
        if not path.is_file():
            return _refused(path, "this is not a file", "put a text file in its place")
        if path.stat().st_size > MAX_BYTES:
            what = f"the file has {path.stat().st_size} bytes, more than {MAX_BYTES}"
            return _refused(path, what, "split it or cut it down")
        data = path.read_bytes()
    except OSError as error:
        return _refused(path, f"the file can not be read: {error.strerror}", "check its rights")
    try:
        return TextFile(data.decode("utf-8-sig"), data)
    except UnicodeDecodeError as error:
        where = Where(path.name, data.count(b"\n", 0, error.start) + 1)
        what = f"this is not text in UTF-8: byte 0x{data[error.start]:02x}"
        return TextFile(findings=(Finding(what, where, "save the file again as UTF-8"),))


def _refused(path: Path, what: str, remedy: str) -> TextFile:
    return TextFile(findings=(Finding(what, Where(path.name), remedy),))
