"""The known-good boards that a server keeps, by the name of a pack or of a device."""

from __future__ import annotations

from nextprobe.job.good_shelf import GoodShelf
from nextprobe.packs import pack_from_template
from nextprobe.store import GoodBoardStore, open_good_boards
from nextprobe.web.pack_shelf import pack_folders, read_pack
from nextprobe.web.trouble import NotHereError
from nextprobe.web.workshop import Workshop


def good_store(workshop: Workshop) -> GoodBoardStore:
    """Return the known-good boards beside the jobs."""
    if workshop.good is None:
        workshop.good = open_good_boards(workshop.home)
    return workshop.good


def good_shelf_named(workshop: Workshop, name: str) -> GoodShelf:
    """Return the known-good boards of a pack, or of a device that boards are kept of.

    Raises
    ------
    NotHereError
        If there is none of that name.
    DataError
        If the pack can not be used at all.
    """
    store = good_store(workshop)
    folder = pack_folders(workshop.settings, workshop.home).get(name)
    if folder is not None:
        contents, findings = read_pack(folder)
        boards = store.boards(contents.pack.device.name)
        return GoodShelf(contents.pack, contents.board, contents.known_good, boards, findings)
    for device in store.devices():
        if device.casefold() == name.casefold():
            pack = pack_from_template("camera", device)
            return GoodShelf(pack, None, (), store.boards(device))
    raise NotHereError(f"there is no pack {name}, and no board is kept of such a device")
