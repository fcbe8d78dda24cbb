"""What is known when a device comes in: the first event of every job."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import lru_cache
from json import loads
from typing import Any

from nextprobe.board import Board
from nextprobe.diagnosis.options import UNPAIR, WIPE
from nextprobe.errors import MisuseError
from nextprobe.packs import Pack
from nextprobe.packs.known_good import KnownGood
from nextprobe.planning import Limits
from nextprobe.workbench.board_json import board_from_json, board_to_json
from nextprobe.workbench.canonical import JsonValue
from nextprobe.workbench.pinout_json import known_good_from_json, known_good_to_json


@dataclass(frozen=True)
class Package:
    """What a pack says, as it stood when the job was started.

    Parameters
    ----------
    pack : Pack
    board : Board or None
    known_good : tuple of KnownGood
    source : str
        Folder, or a word for where the pack came from.
    hash : str
        SHA-256 over all of it, in hexadecimal.
    """

    pack: Pack
    board: Board | None = None
    known_good: tuple[KnownGood, ...] = ()
    source: str = ""
    hash: str = ""


@dataclass(frozen=True)
class Intake:
    """What was said and agreed when the device came in.

    Parameters
    ----------
    device : str
        What the device is called.
    complaint : str
        The function that fails.
    says : str
        What the customer says.
    history : tuple of str
        What happened to the device, in words of the pack.
    may_wipe, may_unpair : bool
        Whether data may be lost, and parts that are tied to their board.
    ceiling : float or None
        The most that may be charged [currency of the pack].
    """

    device: str
    complaint: str
    says: str = ""
    history: tuple[str, ...] = ()
    may_wipe: bool = False
    may_unpair: bool = False
    ceiling: float | None = None

    @property
    def limits(self) -> Limits:
        """What must not happen in this job."""
        forbidden = {WIPE: not self.may_wipe, UNPAIR: not self.may_unpair}
        effects = frozenset(effect for effect, is_forbidden in forbidden.items() if is_forbidden)
        return Limits(effects, self.ceiling)

    def changed(self, **changes: Any) -> Intake:
        """Return the intake with some of its fields changed.

        Raises
        ------
        MisuseError
            If there is no such field.
        """
        for name in changes:
            if name not in Intake.__dataclass_fields__:
                raise MisuseError(f"an intake has no '{name}'")
        if "history" in changes:
            changes["history"] = tuple(changes["history"])
        return replace(self, **changes)


def check_intake(intake: Intake, pack: Pack) -> None:
    """Refuse an intake that the pack can not serve.

    Raises
    ------
    MisuseError
        If the complaint is no function of the device, a word of the history is unknown, or the
        ceiling makes no sense.
    """
    require_known(intake.complaint, pack.functions, "a function of this device")
    for word in intake.history:
        require_known(word, pack.history, "a word of history")
    _ = intake.limits


def require_known(word: str, words: Mapping[str, Any], what: str) -> None:
    """Raise MisuseError for a word that is not among those known, with the nearest of them."""
    if word in words:
        return
    close = get_close_matches(word, words, 1)
    hint = f"did you mean '{close[0]}'? " if close else ""
    raise MisuseError(f"'{word}' is not {what}; {hint}known here: {', '.join(words)}")


def start_to_json(intake: Intake, package: Package) -> dict[str, JsonValue]:
    """Return the payload of the first event."""
    board = None if package.board is None else board_to_json(package.board)
    return {
        "device": intake.device,
        "complaint": intake.complaint,
        "says": intake.says,
        "history": list(intake.history),
        "may_wipe": intake.may_wipe,
        "may_unpair": intake.may_unpair,
        "ceiling": intake.ceiling,
        "pack": package.pack.model_dump(mode="json", by_alias=True),
        "board": board,
        "known_good": known_good_to_json(package.known_good),
        "pack_source": package.source,
        "pack_hash": package.hash,
    }


@lru_cache(maxsize=8)
def start_from_json(payload_json: str) -> tuple[Intake, Package]:
    """Return what `start_to_json` has written; the same text gives the same objects."""
    data = loads(payload_json)
    return _intake(data), _package(data)


def _intake(data: Mapping[str, Any]) -> Intake:
    history: Sequence[str] = data["history"]
    names = ("device", "complaint", "says", "may_wipe", "may_unpair", "ceiling")
    return Intake(history=tuple(history), **{name: data[name] for name in names})


def _package(data: Mapping[str, Any]) -> Package:
    return Package(
        Pack.model_validate(data["pack"]),
        None if data["board"] is None else board_from_json(data["board"]),
        known_good_from_json(data["known_good"]),
        data["pack_source"],
        data["pack_hash"],
    )
