"""From a step and what came of it to the moves that the log keeps."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from nextprobe.board import MeterMode, OverRange, Reading
from nextprobe.diagnosis import Act, Case, Check, Gauge, Look, Move, Probe, Refresh, Work
from nextprobe.diagnosis.acts import DONE, FAILED, FAILS, FINISHED, NOTHING, PATIENT, WORKS
from nextprobe.diagnosis.ids import named, place_and_mode, slug
from nextprobe.diagnosis.options import acts_of
from nextprobe.errors import DataError, Finding, MisuseError, Severity, Where
from nextprobe.workbench.meter_entry import (
    Entered,
    entered_current,
    entered_value,
    known_measurement,
)

REFRESH_FAILED = "refresh failed"
Touch = tuple[str, Entered]
Result = Entered | Mapping[str, Entered | Sequence[Entered]] | Sequence[Touch]

_FAILED_REFRESH = re.compile(rf"{REFRESH_FAILED}(?:[\s:,(]+(?P<code>[^\s)]+)\)?)?", re.IGNORECASE)


@dataclass(frozen=True)
class Outcome:
    """What came of a step.

    Parameters
    ----------
    moves : tuple of Move
    findings : tuple of Finding
        What is worth saying about it.
    code : str
        Error code of a failed refresh.
    """

    moves: tuple[Move, ...]
    findings: tuple[Finding, ...] = ()
    code: str = ""


def answers(case: Case, acts: Sequence[Act]) -> tuple[str, ...]:
    """Return the words that may be recorded for a step with these acts; none for a reading."""
    last = acts[-1] if acts else None
    if isinstance(last, Look):
        return (*case.model.pack.looks[last.name].outcomes, NOTHING)
    if not isinstance(last, Check):
        return (DONE,) if isinstance(last, Work) else ()
    refresh = (REFRESH_FAILED,) if any(isinstance(act, Refresh) for act in acts) else ()
    return (WORKS, FAILS, *refresh)


def label_shown(label: str) -> str:
    """Return what came of a step by the word that is recorded for it."""
    return REFRESH_FAILED if label == FAILED else label


def outcome_of(case: Case, step: str, result: Result, time: float = 0.0) -> Outcome:
    """Return the moves of a step, given what came of it.

    Parameters
    ----------
    case : Case
        As it stands before the step.
    step : str
        A known id.
    result : str, float, OverRange, mapping or sequence
        A word; a value for a reading; values by pin for a run.
    time : float
        When [s since the epoch].

    Raises
    ------
    DataError
        If the result is none of this step, or no reading; nothing is to be recorded then.
    """
    kind, _, rest = step.partition(":")
    if kind == "probe":
        if not isinstance(result, str | int | float | OverRange):
            raise MisuseError(f"{step} takes one value; a run takes several")
        place, mode = place_and_mode(rest)
        return touch(case, place, result, mode=mode, time=time)
    if kind == "run":
        return _run_outcome(case, step, result, time)
    if kind == "current":
        return _current(case, step, result)
    if kind == "lift":
        return _lifted(case, step, result, time)
    if not isinstance(result, str):
        raise DataError([Finding(f"{result!r} is no result of {step}", Where(name=step))])
    return worded(case, step, acts_of(case.model, case.situation, step), result)


def _run_outcome(case: Case, step: str, result: Result, time: float) -> Outcome:
    """Return the moves of a run, each point measured as the run does."""
    run = case.problem.probing.runs.get(step)
    mode = run.measurements[0].setup.mode if run is not None else MeterMode.DIODE
    own = {item.place: item for item in run.measurements} if run is not None else {}
    own |= {item.point: item for item in own.values()}
    touches = [
        (own[point].place if point in own else point, value)
        for point, value in run_touches(case, step, result)
    ]
    return many_touches(case, touches, mode=mode, time=time)


def _current(case: Case, step: str, result: Result) -> Outcome:
    """Return the move of a supply current; OL, or what is beyond it, is the limit."""
    (act,) = acts_of(case.model, case.situation, step)
    supply = case.model.pack.supply_current
    assert isinstance(act, Gauge) and supply is not None
    amperes = entered_current(result, step, supply.limit)
    return Outcome((Move(act, repr(amperes)),))


def _lifted(case: Case, step: str, result: Result, time: float) -> Outcome:
    """Return the moves of a part that was taken off, and of the reading after it."""
    if not isinstance(result, str | int | float | OverRange):
        raise MisuseError(f"{step} takes one value")
    work, probe = acts_of(case.model, case.situation, step)
    assert isinstance(work, Work) and isinstance(probe, Probe)
    off = frozenset({*case.situation.configuration.removed, work.place})
    read = touch(case, probe.point, result, mode=probe.mode, time=time, removed=off)
    return Outcome((Move(work, DONE), *read.moves), read.findings)


def worded(case: Case, step: str, acts: Sequence[Act], result: str) -> Outcome:
    """Return the moves of acts that end with a word."""
    words = answers(case, acts)
    failed = _FAILED_REFRESH.fullmatch(" ".join(result.split()))
    if failed and REFRESH_FAILED in words:
        return _stopped(case, acts, failed["code"] or "")
    said = " ".join(result.split()).lower()
    by_lower = {word.lower(): word for word in words}
    if said not in by_lower:
        raise DataError([_not_a_result(step, result, words)])
    final = by_lower[said]
    moves = [_done(act) for act in acts[:-1]] + [Move(acts[-1], final)]
    return Outcome(tuple(moves))


def _not_a_result(step: str, result: str, words: Sequence[str]) -> Finding:
    close = get_close_matches(result.lower(), words, 1)
    hint = f"did you mean '{close[0]}'? " if close else ""
    said = f"'{result}' is no result of {step}" if result else f"{step} needs a result"
    return Finding(said, Where(name=step), f"{hint}record one of: {', '.join(words)}")


def _done(act: Act) -> Move:
    return Move(act, FINISHED if isinstance(act, Refresh) else DONE)


def _stopped(case: Case, acts: Sequence[Act], code: str) -> Outcome:
    """Return the moves up to the refresh that failed."""
    place = next(index for index, act in enumerate(acts) if isinstance(act, Refresh))
    refresh = acts[place]
    assert isinstance(refresh, Refresh)
    moves = (*(_done(act) for act in acts[:place]), Move(refresh, FAILED, code=code))
    return Outcome(moves, tuple(_about(case, refresh, code)), code)


def _about(case: Case, refresh: Refresh, code: str) -> Iterator[Finding]:
    codes = case.model.pack.refreshes[refresh.name].codes
    if code in codes:
        yield Finding(f"{code}: {codes[code]}", Where(name=refresh.name), severity=Severity.NOTE)
    elif code:
        what = f"the pack does not know the code {code}; it is kept"
        remedy = f"known: {', '.join(codes)}" if codes else "add it to the pack"
        yield Finding(what, Where(name=refresh.name), remedy, Severity.WARNING)


def free_work(case: Case, name: str, place: str, result: str = "") -> Outcome:
    """Return the moves of any work at any place, and of the check after it if there was one."""
    work = named(case.model.pack.work, slug(name))
    acts: list[Act] = [Work(work, place)]
    findings = tuple(_odd_place(case, place))
    if not result:
        return Outcome((Move(acts[0]),), findings)
    acts.append(Check(case.model.complaint))
    outcome = worded(case, f"{work} {place}", acts, result)
    return Outcome(outcome.moves, findings)


def _odd_place(case: Case, place: str) -> Iterator[Finding]:
    board, pack = case.brief.board, case.model.pack
    known = place in pack.modules or place in pack.functions or place in case.model.seats
    if known or (board is not None and (place in board.by_reference or board.has_point(place))):
        return
    if any(repair.place == place for repair in case.model.work):
        return
    what = f"nothing called {place} is known; the work is kept, and moves no suspicion"
    yield Finding(what, Where(name=place), severity=Severity.WARNING)


def touch(
    case: Case,
    point: str,
    entered: Entered,
    *,
    device: str = PATIENT,
    mode: MeterMode = MeterMode.DIODE,
    time: float = 0.0,
    removed: frozenset[str] | None = None,
) -> Outcome:
    """Return the move of one reading, with the parts off the board that are off now."""
    board = case.brief.board
    item, findings = known_measurement(point, mode, board)
    value = entered_value(entered, mode, item.place, case.brief.meter)
    if removed is None:
        removed = case.situation.configuration.removed if device == PATIENT else frozenset()
    item = item.without(removed)
    expectations = case.model.expectations
    known = board is not None and board.has_point(item.point)
    if known and expectations is not None and not expectations.predicts(item.point, item.setup):
        what = "kept, and not weighed: the pack does not say what this rail carries"
        remedy = "name it with its volts under 'rails' in the pack"
        findings.append(Finding(what, Where(name=item.place), remedy, Severity.NOTE))
    reading = Reading(item.point, value, item.setup, time=time)
    return Outcome((Move(item.act(device), "", reading),), tuple(findings))


def many_touches(
    case: Case,
    touches: Iterable[Touch],
    *,
    device: str = PATIENT,
    mode: MeterMode = MeterMode.DIODE,
    time: float = 0.0,
) -> Outcome:
    """Return the moves of many readings; those that are none are left out, with a finding.

    Raises
    ------
    DataError
        If none of them is a reading.
    """
    moves: list[Move] = []
    findings: list[Finding] = []
    for point, entered in touches:
        try:
            one = touch(case, point, entered, device=device, mode=mode, time=time)
        except DataError as error:
            findings.extend(error.findings)
        else:
            moves.extend(one.moves)
            findings.extend(item for item in one.findings if item not in findings)
    if not moves:
        raise DataError(findings or [Finding("no reading was given", remedy="as in J4.12 452")])
    return Outcome(tuple(moves), tuple(findings))


def run_touches(case: Case, step: str, result: Result) -> list[Touch]:
    """Return the touches of a run; a bare pin belongs to the connector of the run."""
    if isinstance(result, str | int | float | OverRange):
        remedy = "give a value for each pin, as in 3=0.658 4=OL"
        raise DataError([Finding(f"'{result}' is no result of a run", Where(name=step), remedy)])
    connector = step.split(":")[1] if step.startswith("run:") else ""
    pairs = result.items() if isinstance(result, Mapping) else result
    return [
        (f"{connector}.{pin}" if _is_bare(case, connector, pin) else pin, value)
        for pin, entered in pairs
        for value in _values(entered)
    ]


def _values(entered: Entered | Sequence[Entered]) -> Sequence[Entered]:
    return [entered] if isinstance(entered, str | int | float | OverRange) else entered


def _is_bare(case: Case, connector: str, pin: str) -> bool:
    """Tell whether a pin is written without its connector."""
    if not connector or "." in pin:
        return False
    board = case.brief.board
    if board is not None and pin in board.by_reference:
        return False
    return pin.isdigit() or board is None or board.has_point(f"{connector}.{pin}")
