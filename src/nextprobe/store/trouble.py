"""What goes wrong with a database file, said so that a person knows what to do."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError

from nextprobe.errors import StoreDamagedError, StoreError, StoreLockedError

_LOCKED = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_UNUSABLE = {
    sqlite3.SQLITE_FULL: "the disk is full; nothing was stored: make room and try again",
    sqlite3.SQLITE_READONLY: "it is read-only: check its permissions and those of its folder",
    sqlite3.SQLITE_PERM: "there is no permission to use it: check the permissions of its folder",
    sqlite3.SQLITE_CANTOPEN: "it can not be opened: check that it is a file and its folder exists",
    sqlite3.SQLITE_IOERR: "the disk could not be read or written: check the disk, then try again",
    sqlite3.SQLITE_NOMEM: "there is not enough memory",
    sqlite3.SQLITE_CONSTRAINT: "it refused the change",
}


@contextmanager
def in_words(path: Path) -> Iterator[None]:
    """Turn errors of the database library into the ones of :mod:`nextprobe.errors`."""
    try:
        yield
    except PoolTimeoutError as error:
        raise _locked(path) from error
    except DBAPIError as error:
        raise _store_error(path, error.orig or error) from error
    except (sqlite3.Error, UnicodeDecodeError) as error:  # damage can reach into its messages
        raise _store_error(path, error) from error


def damaged(path: Path, what: str, remedy: str = "") -> StoreDamagedError:
    """Error for a damaged file: what, where, what to try."""
    advice = remedy or "go back to a copy of it"
    return StoreDamagedError(f"{path}: {what} ({advice}; the file has been left as it is)")


def _store_error(path: Path, error: BaseException) -> StoreError:
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_CORRUPT) & 0xFF
    if code in _LOCKED:
        return _locked(path)
    if code in _UNUSABLE:
        return StoreError(f"{path}: {_UNUSABLE[code]} ({error})")
    return damaged(path, f"the file is damaged, or no store of jobs: {error}")


def _locked(path: Path) -> StoreLockedError:
    return StoreLockedError(
        f"{path}: another program is writing to it and has not finished; nothing was stored: "
        "try again, and if it stays so, close the other program"
    )
