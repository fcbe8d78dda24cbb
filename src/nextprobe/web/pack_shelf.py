"""The packs that a server knows, by name: never by a path that somebody sends."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from nextprobe.errors import DataError, Finding
from nextprobe.packs import FunctionClass, Pack, pack_from_template
from nextprobe.readers.pack_folder import (
    PackFolder,
    demo_pack_folder,
    list_demo_packs,
    read_pack_folder,
)
from nextprobe.web.settings import Settings
from nextprobe.web.trouble import NotHereError

PACKS_FOLDER = "packs"


def pack_folders(settings: Settings, home: Path) -> Mapping[str, Path]:
    """Return the folders of packs: the demo packs, and those beside the jobs."""
    if settings.packs is not None:
        return settings.packs
    own = {file.parent.name: file.parent for file in sorted((home / PACKS_FOLDER).glob("*/*.yaml"))}
    return {**{name: demo_pack_folder(name) for name in list_demo_packs()}, **own}


def pack_folder(settings: Settings, home: Path, name: str) -> Path:
    """Return the folder of a pack.

    Raises
    ------
    NotHereError
        If there is none of that name.
    """
    known = pack_folders(settings, home)
    if name not in known:
        raise NotHereError(f"there is no pack {name}; there are: {', '.join(known) or 'none'}")
    return known[name]


def read_pack(folder: Path) -> tuple[PackFolder, tuple[Finding, ...]]:
    """Return a pack as it is on disk now.

    Raises
    ------
    DataError
        If it can not be used at all.
    """
    contents, findings = _read(folder, _stamp(folder))
    if contents is None:
        raise DataError(findings)
    return contents, findings


@lru_cache(maxsize=16)
def _read(
    folder: Path, _stamp: tuple[tuple[str, int, int], ...]
) -> tuple[PackFolder | None, tuple[Finding, ...]]:
    return read_pack_folder(folder)


def _stamp(folder: Path) -> tuple[tuple[str, int, int], ...]:
    try:
        found = [(file.name, file.stat()) for file in folder.iterdir()]
    except OSError:
        return ()
    return tuple(sorted((name, stat.st_mtime_ns, stat.st_size) for name, stat in found))


def template_pack(name: str, device: str = "") -> Pack:
    """Return the pack of a template.

    Raises
    ------
    NotHereError
        If there is none of that name.
    """
    known = [kind.value for kind in FunctionClass]
    if name not in known:
        raise NotHereError(f"there is no template {name}; there are: {', '.join(known)}")
    return pack_from_template(name, device or "device")
