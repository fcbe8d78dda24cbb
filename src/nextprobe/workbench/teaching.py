"""Entries by which a job learns about the board: pinouts, chains, roles."""

from __future__ import annotations

from difflib import get_close_matches

from nextprobe.board import Board, Role
from nextprobe.errors import DataError, Finding, MisuseError
from nextprobe.workbench.board_json import board_digest, board_to_json
from nextprobe.workbench.draft import Draft
from nextprobe.workbench.pinout_json import pinout_to_json
from nextprobe.workbench.record import CHAINS, PINOUT, ROLE
from nextprobe.workbench.texts import ChainReader, PinoutReader


def pinout_draft(text: str, connector: str, read_pinout: PinoutReader) -> Draft:
    """Return the entry of a pinout.

    Raises
    ------
    DataError
        If no pin can be read.
    """
    table, findings = read_pinout(text, connector, "pinout")
    if not table.rows:
        remedy = "write a pin a line, as in: 12 CAM_SDA .452"
        raise DataError(findings or [Finding("there is no pin in the pinout", remedy=remedy)])
    good = sum(row.good is not None for row in table.rows)
    said = f"{len(table.rows)} pins of {', '.join(table.connectors)}, {good} with a good reading"
    payload = {"text": text, "connector": connector, "pins": pinout_to_json(table)}
    return Draft(PINOUT, payload, said=(said,), findings=findings)


def chains_draft(text: str, board: Board | None, read_chains: ChainReader) -> Draft:
    """Return the entry of some chains, with the board that they make of `board`.

    Raises
    ------
    DataError
        If the text adds nothing to the board.
    """
    grown, findings = read_chains(text, "chains", board)
    before = board_digest(board)
    if not grown.parts or board_digest(grown) == before:
        remedy = "write a chain a line, as in: J4.12 > C87 100n > U3.AB4"
        raise DataError(
            findings or [Finding("these chains add nothing to the board", remedy=remedy)]
        )
    known = board.by_reference if board is not None else {}
    new = [part.reference for part in grown.parts if part.reference not in known]
    said = f"{len(grown.parts)} parts and {len(grown.nets)} nets are known now"
    added = (f"new: {', '.join(new)}",) if new else ()
    payload = {"text": text, "onto": before, "board": board_to_json(grown)}
    return Draft(CHAINS, payload, said=(said, *added), findings=findings)


def role_draft(point: str, role: str | Role, board: Board | None) -> Draft:
    """Return the entry that says what the net under a point is for.

    Raises
    ------
    MisuseError
        If there is no such role or no such point.
    """
    word = str(role).strip().lower().replace("-", " ")
    roles = [known.value for known in Role]
    if word not in roles:
        close = get_close_matches(word, roles, 1) or roles
        raise MisuseError(f"'{role}' is not a role; known here: {', '.join(close)}")
    if board is None:
        raise MisuseError(f"no board is known yet: {point} has no net; add a pinout or a chain")
    net = board.net_of(point)
    return Draft(ROLE, {"point": point, "role": word}, said=(f"{net} is {word}",))
