"""A folder that a technician wrote, as a pack, a board and known-good readings."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from nextprobe.board import Board, MeterMode
from nextprobe.board.pinout import PinTable
from nextprobe.board.sketch import sketch_from_pinout
from nextprobe.errors import Finding, MisuseError, Severity, Where
from nextprobe.packs import Pack, pack_hash, resolve
from nextprobe.packs.board_names import missing_on_board
from nextprobe.packs.known_good import KnownGood
from nextprobe.packs.yaml_text import read_yaml
from nextprobe.readers.chains import read_chains
from nextprobe.readers.known_good import read_known_good
from nextprobe.readers.pins import read_pins
from nextprobe.readers.text_file import TextFile, read_text_file

DEVICE, CHAINS, PINS, KNOWN_GOOD = "device.yaml", "chains.txt", "pins.csv", "known_good.csv"


@dataclass(frozen=True)
class PackFolder:
    """All that a folder says of a device.

    Parameters
    ----------
    pack : Pack
        With every default filled in.
    board : Board or None
        None where the folder holds neither chains nor pins.
    known_good : tuple of KnownGood
        Readings of boards known to work, by point.
    hash : str
        SHA-256 over what the pack says and over the other files, in hexadecimal.
    """

    pack: Pack
    board: Board | None
    known_good: tuple[KnownGood, ...]
    hash: str


def read_pack_folder(path: Path | str) -> tuple[PackFolder | None, tuple[Finding, ...]]:
    """Read a device pack; files that are missing only lower the level of knowledge.

    Parameters
    ----------
    path : Path or str
        The folder.

    Returns
    -------
    tuple
        The folder's contents, None if ``device.yaml`` gives no pack; and everything that is
        wrong. Mistakes in the other files leave out no more than their line.
    """
    folder = Path(path)
    device = read_text_file(folder / DEVICE)
    if device.text is None:
        return None, device.findings or (_no_device(folder),)
    yaml = read_yaml(device.text, DEVICE)
    if yaml.findings:
        return None, yaml.findings
    pack, wrong = resolve(yaml.data, DEVICE, yaml.lines)
    if pack is None:
        return None, wrong
    files = {name: read_text_file(folder / name) for name in (CHAINS, PINS, KNOWN_GOOD)}
    found = [*wrong, *(finding for file in files.values() for finding in file.findings)]
    board, known_good = _knowledge(files, pack, found)
    if board is not None:
        found.extend(missing_on_board(pack, board, DEVICE, yaml.lines))
    contents = PackFolder(pack, board, known_good, _hash(pack, files.values()))
    return contents, (*found, *_not_read(folder))


def _no_device(folder: Path) -> Finding:
    what = f"there is no {DEVICE}" if folder.is_dir() else "there is no such folder"
    return Finding(what, Where(str(folder)), f"a pack is a folder with a {DEVICE} in it")


def _knowledge(
    files: dict[str, TextFile], pack: Pack, found: list[Finding]
) -> tuple[Board | None, tuple[KnownGood, ...]]:
    board: Board | None = None
    readings: dict[tuple[str, MeterMode], KnownGood] = {}
    pins, chains, good = files[PINS].text, files[CHAINS].text, files[KNOWN_GOOD].text
    if pins is not None:
        table, wrong = read_pins(pins, source=PINS)
        found.extend(wrong)
        board = sketch_from_pinout(table, pack.device.name) if table.rows else None
        readings.update(_by_point(_from_pins(table)))
    if chains is not None:
        board, wrong = read_chains(chains, CHAINS, onto=board)
        found.extend(wrong)
    if good is not None:
        rows, wrong = read_known_good(good, KNOWN_GOOD, board)
        found.extend(wrong)
        readings.update(_by_point(rows))
    return board, tuple(readings.values())


def _by_point(rows: Iterable[KnownGood]) -> dict[tuple[str, MeterMode], KnownGood]:
    return {(row.point, row.mode): row for row in rows}


def _from_pins(table: PinTable) -> Iterator[KnownGood]:
    for row in table.rows:
        if row.good is not None:
            yield KnownGood(row.point, MeterMode.DIODE, row.good, 1, PINS, row.line)


def _hash(pack: Pack, files: Iterable[TextFile]) -> str:
    digest = hashlib.sha256(pack_hash(pack).encode("ascii"))
    for file in files:
        digest.update(hashlib.sha256(file.data).digest())
    return digest.hexdigest()


def _not_read(folder: Path) -> Iterator[Finding]:
    for file in sorted(folder.glob("board.*")):
        remedy = f"write what matters as {CHAINS}"
        what = "a board in this format is not read from a pack"
        yield Finding(what, Where(file.name), remedy, Severity.WARNING)


def _demo_root() -> Path:
    return Path(str(resources.files("nextprobe.packs").joinpath("demo")))


def list_demo_packs() -> tuple[str, ...]:
    """Return the names of the packs that are shipped for learning."""
    return tuple(sorted(file.parent.name for file in _demo_root().glob(f"*/{DEVICE}")))


def demo_pack_folder(name: str = "courier-handheld") -> Path:
    """Return the folder of a shipped pack.

    Raises
    ------
    MisuseError
        If there is no pack of that name.
    """
    if name not in list_demo_packs():
        raise MisuseError(
            f"there is no demo pack {name}; there are: {', '.join(list_demo_packs())}"
        )
    return _demo_root() / name
