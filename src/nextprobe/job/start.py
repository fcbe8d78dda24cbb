"""What a job starts from: a pack folder, a demo pack, a pack object or a template."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from nextprobe.errors import DataError, Finding, MisuseError, StoreConflictError
from nextprobe.packs import Pack, pack_from_template, pack_hash
from nextprobe.readers.pack_folder import (
    PackFolder,
    demo_pack_folder,
    list_demo_packs,
    read_pack_folder,
)
from nextprobe.workbench.entry_names import EntryName, with_name
from nextprobe.workbench.intake import Intake, Package, check_intake, start_to_json
from nextprobe.workbench.log import EventLog
from nextprobe.workbench.ports import EventStore
from nextprobe.workbench.record import STARTED

_ATTEMPTS = 20


def package_from(
    pack: Pack | Path | str | None, template: str | None, device: str | None
) -> tuple[Package, tuple[Finding, ...]]:
    """Return the pack that a job starts from, and what is wrong with it.

    Parameters
    ----------
    pack : Pack, Path, str or None
        A pack, its folder, or the name of a demo pack.
    template : str or None
        Class of function, where there is no pack.
    device : str or None
        What the device is called, where a template is used.

    Raises
    ------
    MisuseError
        Unless there is a pack or a template, and not both.
    DataError
        If the pack can not be used at all.
    """
    if (pack is None) == (template is None):
        raise MisuseError("a job starts from a pack or from a template: give one of the two")
    if template is not None:
        resolved = pack_from_template(template, device or "device")
        return Package(resolved, source=f"template {template}", hash=pack_hash(resolved)), ()
    if isinstance(pack, Pack):
        return Package(pack, source="given", hash=pack_hash(pack)), ()
    assert pack is not None
    folder = named_folder(pack)
    contents, findings = read_pack_folder(folder)
    if contents is None:
        raise DataError(findings)
    return _package(contents, str(folder)), findings


def named_folder(pack: Path | str) -> Path:
    """Return the folder of a pack that is given by path or by name.

    Raises
    ------
    MisuseError
        If there is none.
    """
    if isinstance(pack, str) and pack in list_demo_packs():
        return demo_pack_folder(pack)
    folder = Path(pack)
    if not folder.exists():
        known = ", ".join(list_demo_packs())
        raise MisuseError(
            f"there is no pack folder {pack}, and no demo pack of that name ({known})"
        )
    return folder


def _package(contents: PackFolder, source: str) -> Package:
    return Package(contents.pack, contents.board, contents.known_good, source, contents.hash)


def whole_intake(intake: Intake, package: Package) -> Intake:
    """Return the intake with what the pack says where nothing was said.

    Raises
    ------
    MisuseError
        If the complaint is missing where there are several functions, or the pack can not
        serve the intake.
    """
    pack = package.pack
    complaint = intake.complaint
    if not complaint:
        if len(pack.functions) > 1:
            raise MisuseError(f"say what fails; one of: {', '.join(pack.functions)}")
        complaint = next(iter(pack.functions))
    ceiling = pack.costs.ceiling if intake.ceiling is None else intake.ceiling
    device = intake.device or pack.device.name
    whole = replace(intake, device=device, complaint=complaint, ceiling=ceiling)
    check_intake(whole, pack)
    return whole


def start_log(
    store: EventStore,
    intake: Intake,
    package: Package,
    job_id: str | None = None,
    name: EntryName | None = None,
) -> EventLog:
    """Write the first event of a job, under a short name of its own.

    Parameters
    ----------
    store : EventStore
    intake : Intake
    package : Package
    job_id : str or None
        What the job is called; made from the device if left out.
    name : EntryName or None
        What a client calls this entry.

    Raises
    ------
    StoreConflictError
        If there is a job called `job_id`.
    """
    title = f"{intake.device}: {intake.complaint}"
    payload = start_to_json(intake, package)
    if name is not None:
        payload = with_name(payload, name, (title,))
    for attempt in range(_ATTEMPTS):
        called = job_id or next_id(store, intake.device, attempt)
        try:
            return EventLog.start(
                store, called, STARTED, payload, title=title, pack_hash=package.hash
            )
        except StoreConflictError:
            if job_id or attempt == _ATTEMPTS - 1:
                raise
    raise AssertionError("unreachable")


def next_id(store: EventStore, device: str, skip: int = 0) -> str:
    """Return a short name for a new job, as in ``satchel-3-001``."""
    stem = re.sub(r"[^a-z0-9]+", "-", device.lower()).strip("-")[:24].strip("-") or "job"
    pattern = re.compile(rf"{re.escape(stem)}-(\d+)")
    matches = [pattern.fullmatch(row.job_id) for row in store.jobs()]
    last = max((int(match[1]) for match in matches if match), default=0)
    return f"{stem}-{last + 1 + skip:03d}"
