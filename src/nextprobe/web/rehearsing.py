"""Rehearsals that run in processes of their own, one for each pack."""

from __future__ import annotations

import atexit
import json
import subprocess
import sys
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from typing import Any

from nextprobe.errors import MisuseError
from nextprobe.web.held_folders import HeldFolder, remove_left
from nextprobe.web.trouble import NotHereError, RefusedError

_PROGRAM = "nextprobe.cli.watched_rehearsal"
_LONGEST_WORDS = 400
_LAST_WAIT = 3.0
_PREFIX = "nextprobe-rehearsal-"


@dataclass(frozen=True)
class Progress:
    """What a rehearsal does just now, and how far that is.

    Parameters
    ----------
    doing : str
        ``tuning static orders``, then ``playing devices``.
    about : str
        Which one, in words.
    done : float
        Of `of`.
    of : int
        How many orders at most, or devices.
    left : float or None
        How long this takes still, at most [s]; None as long as nobody can tell.
    """

    doing: str
    about: str
    done: float
    of: int
    left: float | None


@dataclass
class Rehearsal:
    """A rehearsal that was started.

    Parameters
    ----------
    process : Popen
    held : HeldFolder
        For what it writes.
    planned : int
        How many devices.
    complaint : str
        Of which function; of all if empty.
    started : float
        [s since the epoch]
    stopped : bool
        Whether somebody has stopped it.
    """

    process: subprocess.Popen[bytes]
    held: HeldFolder
    planned: int
    complaint: str
    started: float
    stopped: bool = False

    @property
    def folder(self) -> Path:
        """Where it writes."""
        return self.held.path

    @property
    def running(self) -> bool:
        """Whether it still runs."""
        return self.process.poll() is None

    def done(self) -> int:
        """Return how many devices are played."""
        try:
            lines = (self.folder / "devices").read_bytes().splitlines()
        except OSError:
            return 0
        return min(self.planned, sum(b'"device":' in line for line in lines))

    def progress(self) -> Progress | None:
        """Return what it does just now; None before it does anything, and after its end."""
        if not self.running:
            return None
        try:
            return Progress(**json.loads((self.folder / "progress").read_text("utf-8")))
        except (OSError, ValueError, TypeError):
            return None

    def ask_to_stop(self) -> None:
        """Have it end and say what was played by then; nothing happens if it has ended."""
        assert self.process.stdin is not None
        with suppress(OSError):
            self.process.stdin.write(b".")
            self.process.stdin.flush()

    def report(self) -> dict[str, Any] | None:
        """Return the measures once it has ended; None before, or if there are none."""
        if self.running:
            return None
        try:
            found: dict[str, Any] = json.loads((self.folder / "report").read_text("utf-8"))
        except (OSError, ValueError):
            return None
        return found

    def failed(self) -> str:
        """Say why it has not run to its end; empty if it has, or runs, or was stopped."""
        if self.running or self.stopped or self.report() is not None:
            return ""
        words = (self.folder / "said").read_text("utf-8", "replace").strip()
        return words[-_LONGEST_WORDS:] or f"it ended with {self.process.returncode}"

    def plots(self) -> list[str]:
        """Return the names of its pictures."""
        if self.running:
            return []
        return sorted(file.stem for file in (self.folder / "plots").glob("*.svg"))

    def plot(self, name: str) -> bytes:
        """Return a picture.

        Raises
        ------
        NotHereError
            If there is none of that name.
        """
        if name not in self.plots():
            raise NotHereError("this rehearsal has no such picture")
        return (self.folder / "plots" / f"{name}.svg").read_bytes()


class Rehearsals:
    """The last rehearsal of each pack; they end with the server.

    What those of a server that was killed have left is removed.
    """

    def __init__(self) -> None:
        remove_left(_PREFIX)
        self._known: dict[str, Rehearsal] = {}
        self._lock = Lock()
        atexit.register(self.close)

    def of(self, pack: str) -> Rehearsal | None:
        """Return the last rehearsal of a pack."""
        return self._known.get(pack)

    def start(self, pack: str, folder: Path, devices: int, complaint: str) -> None:
        """Start a rehearsal of the pack in a folder.

        Raises
        ------
        RefusedError
            If another one runs: two would only slow each other and the bench.
        """
        with self._lock:
            busy = [name for name, each in self._known.items() if each.running]
            if busy:
                says = f"a rehearsal of {busy[0]} is running"
                raise RefusedError(409, "conflict", says, "wait for it, or stop it")
            self._forget(pack)
            held = HeldFolder(_PREFIX)
            place = held.path
            words = [
                str(place),
                "rehearse", str(folder), "--devices", str(devices), "--json", "--processes", "1",
                "--resume", str(place / "devices"), "--plots", str(place / "plots"),
                "--progress", str(place / "progress"),
                *(["--complaint", complaint] if complaint else []),
            ]  # fmt: skip
            with (place / "report").open("wb") as report, (place / "said").open("wb") as said:
                process = subprocess.Popen(
                    [sys.executable, "-m", _PROGRAM, *words],
                    stdin=subprocess.PIPE,  # it ends when nobody holds the other end
                    stdout=report,
                    stderr=said,
                )
            self._known[pack] = Rehearsal(process, held, devices, complaint, time.time())

    def stop(self, pack: str) -> None:
        """Stop a rehearsal; what was played by then is shown.

        Raises
        ------
        MisuseError
            If none of this pack was started.
        """
        found = self.of(pack)
        if found is None:
            raise MisuseError(f"no rehearsal of {pack} was started here")
        if found.running:
            found.stopped = True
            found.ask_to_stop()

    def close(self) -> None:
        """End them all and remove what they have written."""
        for pack in list(self._known):
            self._forget(pack)

    def _forget(self, pack: str) -> None:
        found = self._known.pop(pack, None)
        if found is None:
            return
        if found.running:
            found.process.terminate()
            try:
                found.process.wait(_LAST_WAIT)
            except subprocess.TimeoutExpired:
                found.process.kill()
                found.process.wait()
        if found.process.stdin is not None:
            with suppress(OSError):
                found.process.stdin.close()
        found.held.remove()
