"""Rehearsals on disk: one device a line, so that what is done survives whatever stops it."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from nextprobe.errors import DataError, Finding, Where
from nextprobe.trials.record import DeviceRecord, record_from
from nextprobe.trials.strategies.tuning import Tuned

FORMAT = 1


@dataclass
class RehearsalFile:
    """A file of JSON lines: what was rehearsed, the tuned orders, then the devices.

    Parameters
    ----------
    path : Path
    header : mapping of str to plain data
        What the devices depend on; a file with another header is refused.
    """

    path: Path
    header: Mapping[str, Any]
    orders: dict[str, Tuned] = field(default_factory=dict)
    records: dict[int, DeviceRecord] = field(default_factory=dict)

    def open(self) -> None:
        """Read what is there, or begin the file.

        A last line that was cut off is taken away.

        Raises
        ------
        DataError
            If it is no file of a rehearsal, of another one, damaged, or can not be written.
        """
        try:
            self._open()
        except OSError as error:
            raise self._refused(f"the file can not be used: {error.strerror}") from error

    def _open(self) -> None:
        data = self.path.read_bytes() if self.path.exists() else b""
        whole = data[: data.rfind(b"\n") + 1]
        if not whole:
            if data:
                raise self._refused("this is no file of a rehearsal", 1)
            self.path.write_text(_line({"rehearsal": FORMAT, **self.header}), "utf-8")
            return
        for number, text in enumerate(whole.decode("utf-8", "replace").splitlines(), start=1):
            self._take(number, self._parsed(number, text))
        if len(whole) < len(data):
            self.path.write_bytes(whole)

    def _parsed(self, number: int, text: str) -> dict[str, Any]:
        try:
            found = json.loads(text)
        except ValueError:
            found = None
        if not isinstance(found, dict):
            raise self._refused("this line is damaged", number)
        return found

    def _take(self, number: int, found: dict[str, Any]) -> None:
        if number == 1:
            self._check(found)
            return
        try:
            if "order" in found:
                words = tuple(found["order"])
                self.orders[found["complaint"]] = Tuned(words, **found["tuned"])
            else:
                record = record_from(found)
                self.records[record.number] = record
        except (KeyError, TypeError, ValueError) as error:
            raise self._refused("this line is damaged", number) from error

    def _check(self, found: dict[str, Any]) -> None:
        if found.get("rehearsal") != FORMAT:
            raise self._refused("this is no file of a rehearsal that this version can read", 1)
        plain = json.loads(json.dumps(dict(self.header)))
        for name, wanted in plain.items():
            if found.get(name) != wanted:
                was = json.dumps(found.get(name), ensure_ascii=False)
                what = f"these devices were played with {name} {was}, not {json.dumps(wanted)}"
                raise self._refused(what, 1, name)

    def _refused(self, what: str, line: int | None = None, name: str | None = None) -> DataError:
        remedy = "give the same options and pack as then, or begin another file"
        return DataError([Finding(what, Where(str(self.path), line, name=name), remedy)])

    def add_order(self, complaint: str, tuned: Tuned) -> None:
        """Write a tuned order down."""
        self.orders[complaint] = tuned
        self._append({"complaint": complaint, **order_data(tuned)})

    def add(self, record: DeviceRecord) -> None:
        """Write a device down."""
        self.records[record.number] = record
        self._append(record.as_data())

    def _append(self, data: Mapping[str, Any]) -> None:
        try:
            with self.path.open("a", encoding="utf-8") as file:
                file.write(_line(data))
        except OSError as error:
            raise self._refused(f"the file can not be written: {error.strerror}") from error

    def upto(self, devices: int) -> Iterator[DeviceRecord]:
        """Yield the records of the devices that are asked for."""
        return (record for number, record in self.records.items() if number < devices)


@dataclass
class InMemory(RehearsalFile):
    """The same where nothing is to be kept."""

    def open(self) -> None:
        """Have nothing to read."""

    def _append(self, data: Mapping[str, Any]) -> None:
        del data


def order_data(tuned: Tuned) -> dict[str, Any]:
    """Return a tuned order as plain data."""
    about = {"mean_cost": tuned.mean_cost, "devices": tuned.devices, "tried": tuned.tried}
    return {"order": list(tuned.order), "tuned": about}


def _line(data: Mapping[str, Any]) -> str:
    return json.dumps(data, ensure_ascii=False, separators=(",", ":")) + "\n"
