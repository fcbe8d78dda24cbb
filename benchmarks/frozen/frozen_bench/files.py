"""Where the frozen data lie, and how they are read, written and told to be unchanged."""

from __future__ import annotations

import json
from hashlib import sha256
from pathlib import Path
from typing import Any

VERSION = "v1"
HOME = Path(__file__).resolve().parents[1]
DATA = HOME / "data" / VERSION
MANIFEST = "manifest.json"
PROBLEMS, OPTIMA = "planning.json", "planning_optima.json"
DEVICES, TRUTH = "devices.json", "devices_truth.json"
PACKS = "packs.json"


class EntryError(ValueError):
    """An entry can not be scored; says where and why."""


def read(name: str, folder: Path = DATA) -> Any:
    """Return a file of the data as plain data."""
    return json.loads((folder / name).read_text("utf-8"))


def write(name: str, data: Any, folder: Path = DATA) -> None:
    """Write plain data, one entry of the outermost list or mapping a line, to keep it diffable."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_text(_lines(data), "utf-8")


def _lines(data: Any) -> str:
    if isinstance(data, list):
        return "[\n" + ",\n".join(compact(each) for each in data) + "\n]\n"
    rows = (f"{compact(name)}:{compact(each)}" for name, each in data.items())
    return "{\n" + ",\n".join(rows) + "\n}\n"


def compact(data: Any) -> str:
    """Return plain data as JSON without spaces."""
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"))


def digest(path: Path) -> str:
    """Return the SHA-256 of a file, whatever the line ends of the checkout are."""
    return sha256(path.read_bytes().replace(b"\r\n", b"\n")).hexdigest()


def changed_files(folder: Path = DATA) -> list[str]:
    """Return the names of files that are not as the manifest says, those missing among them."""
    wanted = read(MANIFEST, folder)["sha256"]
    return [
        name
        for name, known in wanted.items()
        if not (folder / name).exists() or digest(folder / name) != known
    ]
