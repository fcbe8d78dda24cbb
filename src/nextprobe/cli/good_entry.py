"""Commands that keep known-good boards: typed, from a table, or the donor of a job."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from nextprobe.cli.options import ConnectorOption, HomeOption, JobOption, JsonOption, ModeOption
from nextprobe.cli.session import Session, text_from
from nextprobe.errors import DataError, Finding, MisuseError, Where

if TYPE_CHECKING:
    from nextprobe.job.good_shelf import GoodShelf
    from nextprobe.reference import GoodBoard
    from nextprobe.store import GoodBoardStore

Pack = Annotated[str, typer.Argument(help="Pack folder, or the name of a demo pack.")]
Number = Annotated[int, typer.Argument(help="Number of the record, as 'good list' shows it.")]
Label = Annotated[str, typer.Option("--board", "-b", help="Serial number or label of the board.")]
By = Annotated[str, typer.Option("--by", help="Who measured.")]
On = Annotated[str, typer.Option("--on", help="Day of measuring, as in 2026-11-20.")]
MeterName = Annotated[str, typer.Option("--meter", help="Which meter.")]
Plugged = Annotated[
    list[str] | None,
    typer.Option("--plugged", help="Module that was plugged in; may be repeated."),
]
Clamped = Annotated[
    str, typer.Option("--clamped", help="Pin or net of the lead that stays on; ground if not.")
]
Negative = Annotated[
    bool, typer.Option("--negative-clamped", help="That lead was the negative one.")
]
Celsius = Annotated[
    float | None, typer.Option("--celsius", help="Temperature of the board, if not of the room.")
]
Source = Annotated[str, typer.Option("--source", help="Where the readings come from.")]


def add(
    pack: Pack,
    readings: Annotated[
        list[str] | None, typer.Argument(help="J4.12 452 J4.13 OL …, or J4.12=452 ….")
    ] = None,
    *,
    label: Label,
    source_file: Annotated[
        str | None, typer.Option("--from", help="Read them from a file; - for standard input.")
    ] = None,
    connector: ConnectorOption = "J1",
    mode: ModeOption = "diode",
    by: By = "",
    on: On = "",
    meter: MeterName = "",
    source: Source = "typed",
    plugged: Plugged = None,
    clamped: Clamped = "GND",
    negative_clamped: Negative = False,
    celsius: Celsius = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Keep the readings of one board: a pin and its value each."""
    from nextprobe.job.good_entry import bench_setup, day, typed_readings  # noqa: PLC0415
    from nextprobe.reference import GoodBoard  # noqa: PLC0415
    from nextprobe.workbench.meter_entry import mode_of  # noqa: PLC0415

    text = text_from(source_file) if source_file else _lines(readings or [])
    store, shelf = _opened(home, pack)
    setup = bench_setup(
        shelf.pack, shelf.board, mode_of(mode), plugged=plugged or (), clamped=clamped,
        negative_clamped=negative_clamped, celsius=celsius,
    )  # fmt: skip
    origin = Path(source_file).name if source_file not in (None, "-") else "readings"
    values, findings = typed_readings(text, connector, setup.mode, shelf.board, origin)
    record = GoodBoard(shelf.device, label, values, setup, meter, by, day(on), source)
    _keep(Session(home, None, as_json), store, shelf, [record], findings)


def read_table(
    pack: Pack,
    file: Annotated[str, typer.Argument(help="Table of readings; - for standard input.")],
    *,
    label: Annotated[
        str, typer.Option("--board", "-b", help="Label of the board, if the table names none.")
    ] = "",
    mode: ModeOption = "diode",
    by: By = "",
    on: On = "",
    meter: MeterName = "",
    source: Source = "",
    plugged: Plugged = None,
    clamped: Clamped = "GND",
    negative_clamped: Negative = False,
    celsius: Celsius = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Keep the boards of a table: points down, and a column for each board."""
    from nextprobe.job.good_entry import bench_setup, day  # noqa: PLC0415
    from nextprobe.readers.good_boards import read_good_boards  # noqa: PLC0415
    from nextprobe.reference import GoodBoard  # noqa: PLC0415
    from nextprobe.workbench.meter_entry import mode_of  # noqa: PLC0415

    text = text_from(file)
    store, shelf = _opened(home, pack)
    name = "standard input" if file == "-" else Path(file).name
    columns, findings = read_good_boards(text, name, mode=mode_of(mode), board=shelf.board)
    records = []
    for column in columns:
        if not (column.label or label):
            raise MisuseError(f"{name} does not say which board it is: name it with --board")
        setup = bench_setup(
            shelf.pack, shelf.board, column.mode, plugged=plugged or (), clamped=clamped,
            negative_clamped=negative_clamped, celsius=celsius,
        )  # fmt: skip
        origin = f"{source or name}, line {column.line}, column {column.column}"
        called = column.label or label
        records.append(
            GoodBoard(shelf.device, called, column.readings, setup, meter, by, day(on), origin)
        )
    if not records:
        raise DataError(findings or [Finding("there is no reading in it", Where(name))])
    _keep(Session(home, None, as_json), store, shelf, records, findings)


def keep(
    *,
    label: Annotated[
        str, typer.Option("--board", "-b", help="Label of the donor; after the job if left out.")
    ] = "",
    device: Annotated[
        str, typer.Option("--device", help="Which donor, where there were several.")
    ] = "",
    job: JobOption = None,
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Keep the donor board that was measured in a job; later jobs count it."""
    from nextprobe.job.good_boards import donor_boards  # noqa: PLC0415
    from nextprobe.job.good_shelf import shelf_of_job  # noqa: PLC0415
    from nextprobe.store import open_good_boards  # noqa: PLC0415

    session = Session(home, job, as_json)
    opened = session.job()
    store = open_good_boards(home)
    shelf = shelf_of_job(opened, store)
    records = donor_boards(opened, label, device, shelf.boards)
    _keep(session, store, shelf, records)


def correct(
    pack: Pack,
    number: Number,
    readings: Annotated[
        list[str] | None, typer.Argument(help="J4.12 452 …: what these points really read.")
    ] = None,
    *,
    label: Annotated[str, typer.Option("--board", "-b", help="What it should be called.")] = "",
    home: HomeOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record what a board really read, or its label; the old record stays in the file."""
    from nextprobe.job.good_boards import corrected, misfits_of  # noqa: PLC0415
    from nextprobe.job.good_entry import typed_readings  # noqa: PLC0415

    if not readings and not label:
        raise MisuseError("give the readings that were wrong, as in J4.12 452, or a --board")
    store, shelf = _opened(home, pack)
    old = store.record(shelf.device, number)
    values, findings = (
        typed_readings(_lines(readings), "", old.setup.mode, shelf.board) if readings else ((), ())
    )
    new = store.keep(corrected(old, values, label), supersedes=number)
    odd = misfits_of(store, [new], shelf.priors)
    _said(Session(home, None, as_json), shelf, [new], (*findings, *odd))


def withdraw(
    pack: Pack, number: Number, *, home: HomeOption = None, as_json: JsonOption = False
) -> None:
    """Take a record out of the account; it stays in the file."""
    from nextprobe.cli.say import say_count  # noqa: PLC0415
    from nextprobe.cli.tables import line  # noqa: PLC0415

    store, shelf = _opened(home, pack)
    store.withdraw(shelf.device, number)
    left = len(store.boards(shelf.device).labels)
    data = {"device": shelf.device, "withdrawn": number, "boards": left}
    said = f"record {number} of {shelf.device} no longer counts; {say_count(left, 'board')} left"
    Session(home, None, as_json).answer(data, [line(said)])


def _opened(home: Path | None, pack: str) -> tuple[GoodBoardStore, GoodShelf]:
    from nextprobe.job.good_shelf import good_shelf  # noqa: PLC0415
    from nextprobe.store import open_good_boards  # noqa: PLC0415

    store = open_good_boards(home)
    return store, good_shelf(pack, store)


def _keep(
    session: Session,
    store: GoodBoardStore,
    shelf: GoodShelf,
    records: Sequence[GoodBoard],
    findings: Sequence[Finding] = (),
) -> None:
    from nextprobe.job.good_boards import keep_all  # noqa: PLC0415

    kept, found = keep_all(store, records, shelf.priors)
    _said(session, shelf, kept, (*findings, *found))


def _said(
    session: Session, shelf: GoodShelf, kept: Sequence[GoodBoard], findings: Sequence[Finding]
) -> None:
    """Say what was kept."""
    from nextprobe.cli.say import say_count  # noqa: PLC0415
    from nextprobe.cli.tables import line  # noqa: PLC0415
    from nextprobe.job.good_data import record_row  # noqa: PLC0415

    shown = [
        line(
            f"{record.number}  {record.label}: {say_count(len(record.readings), 'reading')} in "
            f"{record.setup.mode.value} mode, kept for {shelf.device}"
        )
        for record in kept
    ]
    data = {"device": shelf.device, "kept": [record_row(record) for record in kept]}
    session.answer(data, shown or [line("nothing was added")], findings)


def _lines(words: Sequence[str]) -> str:
    """Return typed readings a line: J4.12=452, or a point and its value in turn."""
    if not words:
        raise MisuseError("give readings, as in J4.12 452, or a file with --from (- for stdin)")
    if all("=" in word for word in words):
        return "\n".join(words)
    if any("=" in word for word in words) or len(words) % 2:
        raise MisuseError("give a point and its value in turn, as in J4.12 452 J4.13 OL")
    pairs = zip(words[::2], words[1::2], strict=True)
    return "\n".join(f"{point} {value}" for point, value in pairs)
