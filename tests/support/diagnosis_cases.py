"""A small invented device for tests of diagnosis and trials, and the demo pack beside it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from math import log
from typing import Any

from nextprobe.board import (
    OVER_RANGE,
    BenchSetup,
    Board,
    FaultKind,
    MeterMode,
    OverRange,
    Reading,
)
from nextprobe.diagnosis import Brief, Case, Check, Fit, Look, Move, Probe, Reference, Refresh, Work
from nextprobe.diagnosis.acts import DONOR, FAILED, FAILS, FINISHED, ORIGINAL, PATIENT, WORKS
from nextprobe.diagnosis.candidates import Candidate
from nextprobe.diagnosis.tables import FaultTables
from nextprobe.packs import Pack, resolve
from nextprobe.planning import Limits, Option
from nextprobe.readers.chains import read_chains
from nextprobe.readers.pack_folder import PackFolder, demo_pack_folder, read_pack_folder

LATE, PROMPT = "scan head", "viewfinder"
"""Two modules: the first is recognised after a refresh only, the second at once."""

TABLES = FaultTables()
"""Shared by all cases, since equal boards need solving only once."""

PANNIER: dict[str, Any] = {
    "device": {"name": "Pannier 1", "maker": "Osterly Instruments", "cell": True},
    "functions": {
        "scanner": {
            "class": "camera",
            "title": "reading labels",
            "needs": {"modules": [LATE], "chips": ["U1", "U2"], "nets": ["SC_*"]},
        },
        "viewfinder": {
            "class": "camera",
            "needs": {"modules": [PROMPT], "chips": ["U1"]},
        },
        "sound": {"class": "sound", "needs": {"modules": ["speaker"], "chips": ["U3"]}},
    },
    "modules": {
        LATE: {
            "title": "scan head",
            "connector": "J1",
            "price": 48,
            "minutes": 5,
            "recognised": "after refresh",
            "pairing": [
                {"part": "trigger", "grade": "lost while away", "lost": "the trigger, meanwhile"}
            ],
            "cautions": [
                "Unplug the battery before the connector of the module is opened or closed.",
                "The aiming light is a laser. Cover it; never look into it while powered.",
                "The trigger on this flex is paired. Keep the original flex with its board.",
            ],
        },
        PROMPT: {"connector": "J2", "price": 22, "minutes": 4},
        "speaker": {"connector": "J3", "price": 7, "minutes": 5},
    },
}

CHAINS = """
board Pannier 1 main board
J1.1 > SC_L0P_J > C1 100n > U1.A1 > SC_L0P
SC_L0P_J | D1 esd unidirectional > GND
J1.2 > SC_L0N_J > C2 100n > U1.A2 > SC_L0N
SC_L0N_J | D2 esd unidirectional > GND
J1.3 > SC_CKP_J > C3 100n > U1.A3 > SC_CKP
J1.4 > SC_SDA > U1.A4
SC_SDA > R1 2k2 > VDD18
J1.5 > SC_VDD > FB1 120R@100MHz > U2.5 > SC_VDD12
SC_VDD | C4 1u > GND
J1.6 > SC_IO > FB2 120R@100MHz > VDD18
J1.7 > GND
J2.1 > VF_D_J > R2 33R > U1.B1 > VF_D
J2.2 > VF_SDA > U1.B2
VF_SDA > R3 2k2 > VDD18
J2.3 > VF_IO > FB3 120R@100MHz > VDD18
J2.4 > GND
J3.1 > SPK > U3.1
J3.2 > GND
U3.2 > VSYS
U3.3 > GND
U2.1 > VSYS
U2.2 > GND
VSYS | C6 10u > GND
U1.C1 > VDD18
VDD18 | C5 10u > GND
U1.C2 > GND
U1.D1 > S1 > TP1.1
U1.D2 > S2 > TP2.1
U1.D3 > S3 > TP3.1
U1.D4 > S4 > TP4.1
U1.D5 > S5 > TP5.1
U1.D6 > S6 > TP6.1
U1.D7 > S7 > TP7.1
U1.D8 > S8 > TP8.1
U1.D9 > S9 > TP9.1
part U1 chip processor
part U2 chip scanner core regulator
part U3 chip audio amplifier
part J1 connector scan head
part J2 connector viewfinder
part J3 connector speaker
role VDD18 rail
role VSYS rail
role SC_VDD rail
role SC_VDD12 rail
role SC_IO rail
role VF_IO rail
role SC_L0P_J lane
role SC_L0P lane
role SC_L0N_J lane
role SC_L0N lane
role SC_CKP_J lane
role SC_CKP lane
role SC_SDA open drain
role VF_SDA open drain
role VF_D_J logic
role VF_D logic
role SPK analogue
"""


def pannier(**changes: Any) -> Pack:
    """Return the pack of the small device; `changes` are laid over its top-level entries."""
    return _changed(changes) if changes else _unchanged()


@cache
def _unchanged() -> Pack:
    return _changed({})


def _changed(changes: dict[str, Any]) -> Pack:
    raw = {name: _laid_over(PANNIER.get(name), entry) for name, entry in changes.items()}
    pack, findings = resolve({**PANNIER, **raw}, "pannier")
    assert pack is not None, [str(item) for item in findings]
    assert findings == (), [str(item) for item in findings]
    return pack


def _laid_over(old: Any, new: Any) -> Any:
    if not isinstance(old, dict) or not isinstance(new, dict):
        return new
    return {**old, **{name: _laid_over(old.get(name), entry) for name, entry in new.items()}}


@cache
def small_board() -> Board:
    """Return the board of the small device."""
    board, findings = read_chains(CHAINS)
    assert findings == (), [str(item) for item in findings]
    return board


@cache
def demo() -> PackFolder:
    """Return the demo pack."""
    folder, findings = read_pack_folder(demo_pack_folder())
    assert folder is not None
    assert findings == ()
    return folder


def small_case(
    moves: Iterable[Move] = (),
    *,
    pack: Pack | None = None,
    board: bool = False,
    complaint: str = "scanner",
    history: Sequence[str] = (),
    limits: Limits | None = None,
    references: dict[tuple[str, MeterMode], Reference] | None = None,
) -> Case:
    """Return a case of the small device; cases alike but for their moves share what they know."""
    if pack is None and not history and limits is None and references is None:
        return _plain_case(board, complaint).after(*moves)
    brief = Brief(
        pack or pannier(),
        complaint,
        small_board() if board else None,
        tuple(history),
        limits or Limits(),
        references or {},
    )
    return Case(brief, tuple(moves), TABLES)


@cache
def _plain_case(board: bool, complaint: str) -> Case:
    return fresh_case(board=board, complaint=complaint)


def fresh_case(
    moves: Iterable[Move] = (), *, board: bool = False, complaint: str = "scanner"
) -> Case:
    """Return a case of the small device that shares nothing but fault tables with others."""
    brief = Brief(pannier(), complaint, small_board() if board else None)
    return Case(brief, tuple(moves), TABLES)


def demo_references() -> dict[tuple[str, MeterMode], Reference]:
    """Return the known-good readings of the demo pack."""
    return {
        (row.point, row.mode): Reference(row.value, row.boards, row.source)
        for row in demo().known_good
    }


@cache
def demo_case(complaint: str = "imaging", limits: Limits | None = None) -> Case:
    """Return a case of the demo device; evidence is added with `after`."""
    folder = demo()
    brief = Brief(folder.pack, complaint, folder.board, (), limits or Limits(), demo_references())
    return Case(brief, (), TABLES)


def check(function: str, result: str, times: int = 1) -> Move:
    return Move(Check(function, times), result)


def works(function: str = "scanner", times: int = 1) -> Move:
    return check(function, WORKS, times)


def fails(function: str = "scanner", times: int = 1) -> Move:
    return check(function, FAILS, times)


def fit(slot: str = LATE, instance: str = DONOR) -> Move:
    return Move(Fit(slot, instance))


def refit(slot: str = LATE) -> Move:
    return Move(Fit(slot, ORIGINAL))


def refresh(result: str = FINISHED, name: str = "update") -> Move:
    return Move(Refresh(name), result)


def work(name: str, place: str) -> Move:
    return Move(Work(name, place))


def look(name: str, result: str) -> Move:
    return Move(Look(name), result)


def probe(
    point: str, value: float | OverRange = OVER_RANGE, *, touch: str = "", device: str = PATIENT
) -> Move:
    return Move(Probe(point, device), "", Reading(point, value, touch=touch))


def chance(case: Case, kind: FaultKind | str, place: str | None = None) -> float:
    """Return the probability of a kind of fault (at a place), or of a family by its key."""
    if isinstance(kind, FaultKind):
        start = f"{kind.value.replace(' ', '-')}:"
        return sum(
            suspect.probability
            for suspect in case.suspects()
            if suspect.key.startswith(start) and (place is None or suspect.key == start + place)
        )
    return sum(suspect.probability for suspect in case.suspects() if suspect.key == kind)


def remaining(case: Case) -> float:
    """Return the probability that something is still wrong."""
    return sum(suspect.remaining for suspect in case.suspects())


def log_odds(probability: float) -> float:
    return log(probability / (1.0 - probability))


def candidate_of(case: Case, key: str) -> Candidate:
    """Return the listed candidate with the key of a fault."""
    return next(item for item in case.model.listed if item.fault.key == key)


def healthy(case: Case, point: str) -> float | OverRange:
    """Return what a good board shows at a point in diode mode."""
    assert case.model.expectations is not None
    return case.model.expectations.at(point, BenchSetup()).healthy


def option_ids(case: Case, kind: str = "") -> list[str]:
    """Return the ids of what is offered now, of one kind or of all."""
    offered = case.problem.options(case.situation)
    return [option.id for option in offered if not kind or option.kind == kind]


def offered(case: Case, name: str) -> Option:
    """Return an option that is offered now, by its id."""
    return next(o for o in case.problem.options(case.situation) if o.id == name)


STORY: tuple[Move, ...] = (
    look("liquid indicator", "nothing"),
    works("viewfinder"),
    probe("J1.1", 0.66),
    probe("J1.5", 0.45),
    fails(),
    fit(),
    fails(),
    refresh(FAILED),
    refresh(),
    fails(),
    refit(),
    probe("J1.1", 0.25),
    work("protection replace", "D1"),
    probe("J1.1", 0.65),
    works(),
    works(times=5),
)
"""A swap that misleads, a refresh that fails, a repair between readings of one point."""
