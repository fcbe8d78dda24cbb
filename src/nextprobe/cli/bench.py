"""Commands for the bench: what to do next, and what came of it."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from nextprobe.cli.options import (
    ConnectorOption,
    EffortOption,
    FileOption,
    HomeOption,
    JobOption,
    JsonOption,
    ModeOption,
)
from nextprobe.cli.session import Session, text_from
from nextprobe.errors import DataError, Finding, MisuseError, Where

if TYPE_CHECKING:
    from nextprobe.job import Job
    from nextprobe.workbench.desk import Recorded
    from nextprobe.workbench.outcomes import Result, Touch

Words = Annotated[list[str], typer.Argument(help="What came of it.")]
_SAID_AT_MOST = 4

Device = Annotated[str, typer.Option("--device", help="patient, or donor.")]


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command("next")(next_step)
    for command in (record, read, donor, look, check, trial, refresh, work, note, close):
        app.command()(command)


def next_step(
    *,
    most: Annotated[int, typer.Option("--most", "-n", min=1, help="How many steps.")] = 5,
    effort: EffortOption,
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say what to do next, and why."""
    from nextprobe.cli import tables  # noqa: PLC0415

    session = Session(home, job, as_json)
    opened = session.job()
    found = opened.next_steps(most, effort)
    said, currency = opened.remarks(), opened.knowledge.pack.costs.currency
    ended = opened.so_far.closing
    advice = None if ended else opened.recommend(effort)
    near_tie = advice.near_tie if advice else False
    data = {
        "job": opened.job_id,
        "ended": ended.ending if ended else "",
        "currency": currency,
        "near_tie": near_tie,
        "lower_bound": advice.lower_bound if advice else None,
        "steps": found,
        "remarks": said,
    }
    shown = [*tables.steps(found, currency), *tables.remarks(said)]
    if ended:
        shown.insert(0, tables.line(f"{opened.job_id} has ended: {ended.ending}"))
    session.answer(data, shown, opened.findings())


def record(
    step: Annotated[str, typer.Argument(help="Id of the step, as 'next' gives it.")],
    result: Annotated[
        list[str] | None,
        typer.Argument(help="works, fails, what was seen, a value, or PIN=VALUE … for a run."),
    ] = None,
    *,
    source: FileOption = None,
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record what came of a step, recommended or not."""
    entered = _entered(step, result or [], source)
    _write(Session(home, job, as_json), lambda opened: opened.record(step, entered))


def read(
    point: Annotated[
        str, typer.Argument(help="Pin or net, as in J4.12; or PIN=VALUE, many at once.")
    ] = "",
    value: Annotated[
        list[str] | None, typer.Argument(help="What the meter shows, as in 0.452 or OL.")
    ] = None,
    *,
    source: FileOption = None,
    connector: ConnectorOption = "J1",
    mode: ModeOption = "diode",
    device: Device = "patient",
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record a reading, or many: J4.12=0.452 …, or a pin and its value a line with --from."""
    words = [point, *(value or [])]
    if source is None and "=" not in point:
        shown = " ".join(words[1:])
        if not shown:
            raise MisuseError("give a point and what the meter shows, as in J4.12 0.452")
        session = Session(home, job, as_json)
        _write(session, lambda opened: opened.read(point, shown, device, mode))
        return
    text = _readings(source, words)
    _write(
        Session(home, job, as_json),
        lambda opened: opened.read_text(text, device, mode=mode, connector=connector),
    )


def donor(
    readings: Annotated[
        list[str] | None, typer.Argument(help="PIN=VALUE, as in J4.12=0.452; many at once.")
    ] = None,
    *,
    source: FileOption = None,
    connector: ConnectorOption = "J1",
    mode: ModeOption = "diode",
    device: Device = "donor",
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record readings of a donor board, many pins at once."""
    text = _readings(source, readings or [])
    _write(
        Session(home, job, as_json),
        lambda opened: opened.read_text(text, device, mode=mode, connector=connector),
    )


def _readings(source: str | None, words: list[str]) -> str:
    """Return readings a line, from a file or from the command line."""
    text = text_from(source) if source else "\n".join(words)
    if not text.strip():
        raise MisuseError("give readings, as in J4.12=0.452, or a file with --from (- for stdin)")
    return text


def look(
    name: Annotated[str, typer.Argument(help="Which look, as in liquid-indicator.")],
    result: Words,
    *,
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record what was seen by eye, in a log or by a self-test."""
    seen = " ".join(result)
    _write(Session(home, job, as_json), lambda opened: opened.look(name, seen))


def check(
    function: Annotated[str, typer.Argument(help="Which function.")],
    result: Annotated[str, typer.Argument(help="works or fails.")],
    *,
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record whether a function works."""
    _write(Session(home, job, as_json), lambda opened: opened.check(function, result))


def trial(
    module: Annotated[str, typer.Argument(help="Which module.")],
    result: Words,
    *,
    form: Annotated[
        str,
        typer.Option(
            help="fit, fit-refresh, refresh (as fitted), second, or refit (the original)."
        ),
    ] = "fit",
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record a trial with a known-good module."""
    seen = " ".join(result)
    _write(Session(home, job, as_json), lambda opened: opened.trial(module, seen, form))


def refresh(
    name: Annotated[str, typer.Argument(help="Which refresh: update, restore.")],
    result: Words,
    *,
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record a firmware refresh with the originals fitted."""
    seen = " ".join(result)
    _write(Session(home, job, as_json), lambda opened: opened.refresh(name, seen))


def work(
    name: Annotated[str, typer.Argument(help="Which work, as in clean or small-passive.")],
    place: Annotated[str, typer.Argument(help="Part, connector or module.")],
    result: Annotated[str, typer.Argument(help="works or fails, if it was checked after.")] = "",
    *,
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record work that was done."""
    _write(Session(home, job, as_json), lambda opened: opened.work(name, place, result))


def note(
    text: Annotated[list[str], typer.Argument(help="The remark.")],
    *,
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Keep a remark; it never changes a probability."""
    _write(Session(home, job, as_json), lambda opened: opened.note(" ".join(text)))


def close(
    ending: Annotated[str, typer.Argument(help="close, decline or escalate.")] = "close",
    *,
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """End a job."""
    _write(Session(home, job, as_json), lambda opened: opened.close(ending))


def _write(session: Session, entry: Callable[[Job], Recorded]) -> None:
    opened = session.job()
    answer_recorded(session, opened, entry(opened))


def answer_recorded(session: Session, opened: Job, recorded: Recorded) -> None:
    """Say what was written, and who is suspected now."""
    from nextprobe.cli import tables  # noqa: PLC0415

    data = {
        "job": opened.job_id,
        "recorded": {
            "event": recorded.event,
            "kind": recorded.kind,
            "step": recorded.step,
            "said": recorded.said,
        },
        "remarks": opened.remarks(),
    }
    shown = [tables.line(f"{recorded.event}  {_briefly(recorded.said)}")]
    shown += tables.remarks(opened.remarks())
    if opened.so_far.closing is None:
        shown += tables.suspects(opened.suspects(3, reasons=False), reasons=False)
    session.answer(data, shown, recorded.findings)


def _briefly(said: Sequence[str]) -> str:
    """Return what was recorded; the middle of a long list is left out."""
    if len(said) <= _SAID_AT_MOST:
        return "; ".join(said)
    return f"{len(said)} readings: {said[0]}; {said[1]}; …; {said[-1]}"


def _entered(step: str, words: list[str], source: str | None) -> Result:
    """Return what was entered for a step: a word, a value, or touches for a run."""
    if source is not None:
        return _from_text(text_from(source))
    if step.startswith("run:"):
        return [_touch(word) for word in words]
    return " ".join(words)


def entered_again(words: list[str], source: str | None) -> Result:
    """Return what is entered in place of an earlier result, whatever the step."""
    pairs = bool(words) and all("=" in word for word in words)
    return _entered("run:" if pairs else "", words, source)


def _touch(word: str) -> Touch:
    pin, equals, value = word.partition("=")
    if not equals:
        raise DataError([Finding(f"'{word}' is no reading", remedy="write PIN=VALUE, as in 3=OL")])
    return pin.strip(), value.strip()


def _from_text(text: str) -> Result:
    """Read JSON (a mapping, or pairs of pin and value), or a word."""
    if not text.lstrip().startswith(("{", "[")):
        return text.strip()
    try:
        data = json.loads(text)
        pairs = data.items() if isinstance(data, dict) else data
        return [(str(pin), value) for pin, value in pairs]
    except (ValueError, TypeError) as error:
        remedy = 'write {"J4.3": 0.658} or [["J4.3", 0.658]]'
        raise DataError([Finding(f"this is no result: {error}", Where("JSON"), remedy)]) from None
