"""What is known of the device now: the pack as it came, and everything learnt since."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from nextprobe.board import Board, MeterMode, PinTable, Role, with_inferred_roles
from nextprobe.diagnosis import Brief, Move, Reference, Work
from nextprobe.diagnosis.case import References
from nextprobe.errors import Finding, Severity, Where
from nextprobe.packs import Pack
from nextprobe.packs.known_good import KnownGood
from nextprobe.workbench.board_json import board_digest
from nextprobe.workbench.intake import Intake
from nextprobe.workbench.pinned_board import merged_pinouts, with_pinout
from nextprobe.workbench.record import ChainNote, JobRecord
from nextprobe.workbench.texts import ChainReader

# Work that is done where a module plugs in.
_AT_SEATS = ("reseat", "clean", "ultrasonic", "connector replace")


@dataclass(frozen=True)
class Knowledge:
    """The device as it is known now.

    Parameters
    ----------
    pack : Pack
    board : Board or None
    references : mapping of (str, MeterMode) to Reference
        Readings of boards that work.
    findings : tuple of Finding
        What of the log could not be used.
    """

    pack: Pack
    board: Board | None
    references: References
    findings: tuple[Finding, ...] = ()


def knowledge_of(record: JobRecord, read_chains: ChainReader) -> Knowledge:
    """Put together what is known of the device.

    Pinouts come first and chains are read onto them, whatever the order in which they were
    typed. Chains that were typed onto another board than the present one are read again.
    """
    learnt, package = record.learnt, record.package
    table = merged_pinouts(learnt.pinouts)
    board = with_pinout(package.board, table, record.intake.device)
    findings: list[Finding] = []
    for note in learnt.chains:
        board = _with_chains(board, note, read_chains, findings)
    board = _with_roles(board, learnt.roles, findings)
    if board is not None and (learnt.pinouts or learnt.chains):
        board = with_inferred_roles(board)
    pack = linked(package.pack, record.intake.complaint, table)
    return Knowledge(pack, board, _references(package.known_good, table), tuple(findings))


def brief_of(intake: Intake, knowledge: Knowledge) -> Brief:
    """Return what a case is opened with."""
    return Brief(
        knowledge.pack,
        intake.complaint,
        knowledge.board,
        intake.history,
        intake.limits,
        knowledge.references,
    )


def weighed_moves(moves: Iterable[Move], pack: Pack) -> tuple[Move, ...]:
    """Return the moves that the diagnosis weighs, with places as the pack names them now.

    Work that was done at a module before its connector was known counts at the connector.
    """
    return tuple(_placed(move, pack) for move in moves)


def _placed(move: Move, pack: Pack) -> Move:
    act = move.act
    if not isinstance(act, Work) or act.name not in _AT_SEATS or act.place not in pack.modules:
        return move
    connector = pack.modules[act.place].connector
    return move if connector is None else replace(move, act=Work(act.name, connector))


def _with_chains(
    board: Board | None, note: ChainNote, read_chains: ChainReader, findings: list[Finding]
) -> Board:
    if board_digest(board) == note.onto:
        return note.board
    again, wrong = read_chains(note.text, "chains of this job", board)
    findings.extend(wrong)
    return again


def _with_roles(
    board: Board | None, roles: Iterable[tuple[str, Role]], findings: list[Finding]
) -> Board | None:
    for point, role in roles:
        if board is None or not board.has_point(point):
            what = f"{point} was given the role {role}, but no board has it now"
            findings.append(Finding(what, Where(name=point), severity=Severity.WARNING))
        else:
            board = board.with_roles({board.net_of(point): role})
    return board


def linked(pack: Pack, complaint: str, table: PinTable) -> Pack:
    """Return the pack in which the module of the complaint plugs into the pinout's connector.

    Nothing changes where the connector of each module is known, or belongs to another one.
    """
    taken = {module.connector for module in pack.modules.values()}
    free = [name for name in table.connectors if name not in taken]
    open_ends = [
        name
        for name in pack.functions[complaint].needs.modules
        if pack.modules[name].connector is None
    ]
    if not free or not open_ends:
        return pack
    return _plugged_into(pack, open_ends[0], free[0])


def _plugged_into(pack: Pack, slot: str, connector: str) -> Pack:
    module = pack.modules[slot].model_copy(update={"connector": connector})
    looks = dict(pack.looks)
    name = f"look at the {slot} connector"
    if name in looks and looks[name].connector is None:
        looks[name] = looks[name].model_copy(update={"connector": connector})
    origin = {f"modules.{slot}.connector": "pinout typed in this job"}
    return pack.model_copy(
        update={
            "modules": {**pack.modules, slot: module},
            "looks": looks,
            "provenance": {**pack.provenance, **origin},
        }
    )


def _references(known_good: Iterable[KnownGood], table: PinTable) -> References:
    references = {
        (row.point, row.mode): Reference(row.value, row.boards, row.source, row.spread)
        for row in known_good
    }
    for pin in table.rows:
        if pin.good is not None:
            references.setdefault((pin.point, MeterMode.DIODE), Reference(pin.good, 1, "pinout"))
    return references
