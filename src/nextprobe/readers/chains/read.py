"""From the text of chains to a board."""

from __future__ import annotations

from nextprobe.board import Board
from nextprobe.errors import Finding
from nextprobe.readers.chains.declare import declare_first, declare_last
from nextprobe.readers.chains.draft import Draft, draft_of
from nextprobe.readers.chains.grammar import Chain, parse
from nextprobe.readers.chains.join import ChainReader
from nextprobe.readers.chains.notes import Notes


def read_chains(
    text: str, source: str = "chains.txt", onto: Board | None = None
) -> tuple[Board, tuple[Finding, ...]]:
    """Read chains, in the notation that `nextprobe.readers.chains` describes.

    Parameters
    ----------
    text : str
        Any text; a line with a mistake is left out, with a finding.
    source : str
        What findings call the text, and the board if nothing else names it.
    onto : Board or None
        A board to add the chains to. Names that were made up give way to names in the text, and a
        stand-in leaves a net where a chain leads to a real chip.

    Returns
    -------
    (Board, tuple of Finding)
        Findings in the order of the lines.
    """
    statements, findings = parse(text, source)
    name = source.rsplit("/", 1)[-1].rsplit(".", 1)[0]
    draft = Draft(name) if onto is None else draft_of(onto)
    notes = Notes(source, list(findings))
    declare_first(statements, draft, notes)
    reader = ChainReader(draft, notes, statements)
    for statement in statements:
        if isinstance(statement, Chain):
            reader.read(statement)
    reader.look_back()
    declare_last(statements, draft, notes)
    return draft.board(), notes.in_order()
