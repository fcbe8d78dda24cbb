"""A folder that a technician wrote, as a pack, a board and known-good readings."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path

from nextprobe.board import Board, MeterMode
from nextprobe.board.pinout import PinTable
from nextprobe.board.understanding import understand
from nextprobe.errors import Finding, MisuseError, Severity, Where
from nextprobe.packs import Pack, pack_hash, resolve
from nextprobe.packs.board_names import missing_on_board
from nextprobe.packs.known_good import KnownGood
from nextprobe.packs.yaml_text import read_yaml
from nextprobe.readers.board_file import read_board_file
from nextprobe.readers.chains import read_chains
from nextprobe.readers.clamp_files import clamp_file_names, with_published_clamps
from nextprobe.readers.known_good import read_known_good
from nextprobe.readers.pins import read_pins
from nextprobe.readers.text_file import TextFile, read_text_file
from nextprobe.workbench.pinned_board import with_pinout

DEVICE, CHAINS, PINS, KNOWN_GOOD = "device.yaml", "chains.txt", "pins.csv", "known_good.csv"
BOARDS = ("board.kicad_pcb", "board.net")
"""Files of an EDA tool, the best one first: only one is read."""


@dataclass(frozen=True)
class PackFolder:
    """All that a folder says of a device.

    Parameters
    ----------
    pack : Pack
        With every default filled in.
    board : Board or None
        None where the folder holds no board file, chains or pins. What is typed is added to
        what the board file says.
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
    drawn = next((folder / name for name in BOARDS if (folder / name).is_file()), None)
    board, known_good = _knowledge(files, _drawn(drawn, pack, found), pack, found)
    if board is not None:
        found.extend(missing_on_board(pack, board, DEVICE, yaml.lines))
    board, wrong = with_published_clamps(board, pack, folder, DEVICE, yaml.lines)
    found.extend(wrong)
    others = [drawn, *(folder / name for name in clamp_file_names(pack))]
    contents = PackFolder(pack, board, known_good, _hash(pack, files.values(), others))
    return contents, (*found, *_not_read(folder, drawn))


def _no_device(folder: Path) -> Finding:
    what = f"there is no {DEVICE}" if folder.is_dir() else "there is no such folder"
    return Finding(what, Where(str(folder)), f"a pack is a folder with a {DEVICE} in it")


def _drawn(file: Path | None, pack: Pack, found: list[Finding]) -> Board | None:
    """Return the board that was drawn with an EDA tool, with ground and roles told apart."""
    if file is None:
        return None
    board, wrong = read_board_file(file)
    found.extend(wrong)
    return None if board is None else understand(replace(board, name=pack.device.name)).board


def _knowledge(
    files: dict[str, TextFile], board: Board | None, pack: Pack, found: list[Finding]
) -> tuple[Board | None, tuple[KnownGood, ...]]:
    readings: dict[tuple[str, MeterMode], KnownGood] = {}
    pins, chains, good = files[PINS].text, files[CHAINS].text, files[KNOWN_GOOD].text
    if pins is not None:
        table, wrong = read_pins(pins, source=PINS)
        found.extend(wrong)
        board = with_pinout(board, table, pack.device.name)
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


def _hash(pack: Pack, files: Iterable[TextFile], others: Iterable[Path | None]) -> str:
    digest = hashlib.sha256(pack_hash(pack).encode("ascii"))
    for file in files:
        digest.update(hashlib.sha256(file.data).digest())
    for other in others:
        if other is not None:
            digest.update(_digest_of(other))
    return digest.hexdigest()


def _digest_of(file: Path) -> bytes:
    try:
        return hashlib.sha256(file.read_bytes()).digest()
    except OSError:
        return b""


def _not_read(folder: Path, drawn: Path | None) -> Iterator[Finding]:
    for file in sorted(folder.glob("board.*")):
        if file == drawn:
            continue
        if file.name in BOARDS:
            what, remedy = f"{BOARDS[0]} is read instead of this", "delete one of the two"
        else:
            what = "a board in this format is not read from a pack"
            remedy = f"export it as {BOARDS[0]}, or write what matters as {CHAINS}"
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
