"""Known-good boards of a workshop, kept beside its jobs.

They are events in a SQLite file of their own, one log for each type of device, so that they are
as safe as jobs are: appended to only, hashed in a chain, on disk before anything is computed. A
correction supersedes a record and a withdrawal takes it out of the account; both stay in the file.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from nextprobe.errors import MisuseError, NextprobeError, StoreConflictError, StoreDamagedError
from nextprobe.reference import GoodBoard, GoodBoards
from nextprobe.store.folder import default_folder, workshop_folder
from nextprobe.store.good_board_json import good_board_from_json, good_board_to_json
from nextprobe.store.memory import MemoryStore
from nextprobe.store.sqlite import SqliteStore
from nextprobe.workbench.corrections import WITHDRAWN
from nextprobe.workbench.entry_names import EntryName, event_named, with_name
from nextprobe.workbench.events import Event
from nextprobe.workbench.log import EventLog
from nextprobe.workbench.ports import EventStore

GOOD_FILE = "known-good.db"
DEVICE, BOARD = "device", "known-good board"


class GoodBoardStore:
    """Known-good boards by type of device.

    Records of a device are numbered from 1.

    Parameters
    ----------
    events : EventStore or None
        Where they are kept; in memory if left out.
    """

    def __init__(self, events: EventStore | None = None) -> None:
        self._events = MemoryStore() if events is None else events

    def devices(self) -> tuple[str, ...]:
        """Return the types of device that boards were kept of."""
        return tuple(row.title for row in self._events.jobs())

    def boards(self, device: str) -> GoodBoards:
        """Return the boards of a type of device as they stand after corrections.

        Raises
        ------
        StoreDamagedError
            If a record can not be read.
        StoreError
            If the store can not be read.
        """
        log = self._log(device)
        return GoodBoards() if log is None else GoodBoards(_standing(log))

    def keep(
        self, board: GoodBoard, supersedes: int | None = None, name: EntryName | None = None
    ) -> GoodBoard:
        """Keep a record; it is on disk when this returns.

        Parameters
        ----------
        board : GoodBoard
        supersedes : int or None
            Number of the record that it corrects, or that it takes up again after a withdrawal.
        name : EntryName or None
            What a client calls this entry.

        Returns
        -------
        GoodBoard
            The record with its number.

        Raises
        ------
        MisuseError
            If there is no such record, or it was corrected before.
        """
        log = self._started(board.device)
        older = None
        if supersedes is not None:
            older = _correctable(log, board.device, supersedes).number
        payload = good_board_to_json(board)
        event = log.append(BOARD, payload if name is None else with_name(payload, name), older)
        return replace(board, number=_shown(event))

    def withdraw(self, device: str, number: int, name: EntryName | None = None) -> None:
        """Take a record out of the account; it stays in the store.

        Raises
        ------
        MisuseError
            If there is no such record, or it was corrected or withdrawn before.
        """
        log = self._log(device)
        if log is None:
            raise MisuseError(f"no known-good board of {device} is kept here")
        event = _correctable(log, device, number)
        if event.kind == WITHDRAWN:
            raise MisuseError(f"record {number} of {device} is withdrawn already")
        log.append(WITHDRAWN, {} if name is None else with_name({}, name), event.number)

    def entered(self, device: str, name: EntryName) -> int | None:
        """Return the number of the record that a client's entry made; None if it is not there.

        Raises
        ------
        RepeatedKeyError
            If the key stands for another entry.
        """
        log = self._log(device)
        event = None if log is None else event_named(log.events(), name)
        return None if event is None else _shown(event)

    def record(self, device: str, number: int) -> GoodBoard:
        """Return a record that stands.

        Raises
        ------
        MisuseError
            If there is none of that number.
        """
        for board in self.boards(device).records:
            if board.number == number:
                return board
        raise MisuseError(f"no record {number} of {device} stands: 'good list' names them")

    def _log(self, device: str) -> EventLog | None:
        name = log_name(device)
        known = any(row.job_id == name for row in self._events.jobs())
        return EventLog(self._events, name) if known else None

    def _started(self, device: str) -> EventLog:
        name = log_name(device)
        try:
            return self._log(device) or EventLog.start(
                self._events, name, DEVICE, {"device": device}, title=device
            )
        except StoreConflictError:  # another bench was first
            return EventLog(self._events, name)


def open_good_boards(folder: Path | None = None) -> GoodBoardStore:
    """Open the known-good boards of a workshop, making folder and file if there are none.

    Raises
    ------
    StoreError
        If the folder or the file can not be used.
    """
    return GoodBoardStore(SqliteStore(workshop_folder(folder) / GOOD_FILE))


def read_good_boards(folder: Path | None = None) -> GoodBoardStore:
    """Open them to read from; where there is no file, none is made and there are no boards.

    Raises
    ------
    StoreError
        If the file can not be used.
    """
    path = (default_folder() if folder is None else folder) / GOOD_FILE
    return GoodBoardStore(SqliteStore(path) if path.exists() else None)


def log_name(device: str) -> str:
    """Return what the log of a type of device is called: the same in any case and spacing."""
    return f"known-good boards of {' '.join(device.split()).casefold()}"


def _standing(log: EventLog) -> tuple[GoodBoard, ...]:
    return tuple(_board(log, event) for event in log.effective() if event.kind != DEVICE)


def _board(log: EventLog, event: Event) -> GoodBoard:
    try:
        if event.kind == BOARD:
            return good_board_from_json(event.payload, _shown(event))
    except (KeyError, TypeError, ValueError, AttributeError, NextprobeError) as error:
        what = f"{log.job_id}: record {_shown(event)} is no known-good board ({error!r})"
        raise StoreDamagedError(f"{what}: go back to a copy of the file") from error
    what = f"{log.job_id}: record {_shown(event)} is a '{event.kind}'"
    raise StoreDamagedError(f"{what}, which this program does not know: update the program")


def _shown(event: Event) -> int:
    """Return the number of a record for people: the first event names the device."""
    return event.number - 1


def _correctable(log: EventLog, device: str, number: int) -> Event:
    """Return the event that a correction of a record supersedes: its withdrawal, if there is one.

    Raises
    ------
    MisuseError
        If there is no such record, or it was corrected before.
    """
    events = log.events()
    if not 1 <= number < len(events):
        raise MisuseError(f"there is no record {number} of {device}; the last is {len(events) - 1}")
    later = {event.supersedes: event for event in events if event.supersedes is not None}
    found = events[number]
    withdrawal = later.get(found.number)
    if withdrawal is not None and withdrawal.kind == WITHDRAWN:
        found = withdrawal
    if found.number in later:
        last = _shown(later[found.number])
        raise MisuseError(f"record {number} of {device} was corrected by record {last}")
    return found
