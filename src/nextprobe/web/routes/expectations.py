"""What the meter should show, what it did show, and what boards that work show."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path

from nextprobe.board import BenchSetup, MeterMode, PartKind
from nextprobe.errors import MisuseError
from nextprobe.job import Job
from nextprobe.web.asking import BenchHere, Mode, Most, Point, WorkshopHere, errors
from nextprobe.web.board_layout import layout_of
from nextprobe.web.plainly import sent
from nextprobe.web.shapes import many, maybe, shape, shape_of
from nextprobe.web.trouble import NotHereError
from nextprobe.workbench.differences import DifferenceRecord
from nextprobe.workbench.meter_entry import known_point
from nextprobe.workbench.reading_spread import PinExpectation, pin_expectation

router = APIRouter(tags=["expectations"])
_DIGITS = 7

PointAnswer = shape(
    "PointExpected",
    "What to expect at a point.",
    job=str,
    version=int,
    expectation=shape_of(PinExpectation),
)
PinShown = shape(
    "Pin",
    "A pin of a connector.",
    pin=(str, "its number"),
    point=str,
    net=str,
    expectation=(maybe(PinExpectation), "null where nothing is predicted"),
)
ConnectorAnswer = shape(
    "ConnectorExpected",
    "Expected against measured for each pin of a connector, in order.",
    job=str,
    version=int,
    reference=str,
    mode=MeterMode,
    pins=many(PinShown),
)
DifferencesAnswer = shape(
    "Differences",
    "The patient against boards that work, worst first, with what each difference suggests.",
    job=str,
    version=int,
    differences=many(shape_of(DifferenceRecord)),
)


@router.get("/jobs/{job}/expected", response_model=PointAnswer, responses=errors(404))
async def expected(bench: BenchHere, point: Point, mode: Mode = MeterMode.DIODE) -> object:
    """Say what the meter should show at a point: healthy, under suspects, as a distribution."""

    def shown(job: Job) -> dict[str, Any]:
        where, _ = known_point(point, job.knowledge.board)
        found = _briefly(pin_expectation(job.case, where, mode))
        return {"job": job.job_id, "version": len(job.events()), "expectation": found}

    return await bench.answer("expected", point, mode, use=shown)


@router.get(
    "/jobs/{job}/connectors/{reference}", response_model=ConnectorAnswer, responses=errors(404)
)
async def connector(
    bench: BenchHere,
    workshop: WorkshopHere,
    reference: Annotated[str, Path(max_length=100, description="as in J4")],
    mode: Mode = MeterMode.DIODE,
) -> object:
    """Say the same of each pin of a connector, in order."""

    def shown(job: Job) -> dict[str, Any]:
        found = _connector(job, reference, mode)
        if (solve := job.case.solve_board()) is not None:
            workshop.ahead(solve)
        return found

    return await bench.answer("connector", reference, mode, use=shown)


def _connector(job: Job, reference: str, mode: MeterMode) -> dict[str, Any]:
    board = job.knowledge.board
    part = None if board is None else board.by_reference.get(reference)
    if board is None or part is None or part.kind is not PartKind.CONNECTOR:
        raise NotHereError(f"no connector {reference} is known in this job")
    order = dict(layout_of(board).connectors())[reference]
    job.case.foresee([f"{reference}.{number}" for number in order], BenchSetup(mode))
    return {
        "job": job.job_id,
        "version": len(job.events()),
        "reference": reference,
        "mode": mode,
        "pins": [
            {
                "pin": number,
                "point": f"{reference}.{number}",
                "net": part.pin(number).net,
                "expectation": _or_nothing(job, f"{reference}.{number}", mode),
            }
            for number in order
        ],
    }


def _or_nothing(job: Job, point: str, mode: MeterMode) -> Any:
    try:
        return _briefly(pin_expectation(job.case, point, mode))
    except MisuseError:
        return None


def _briefly(found: PinExpectation) -> Any:
    """Return an expectation as it is sent: a picture needs no more digits of a distribution."""
    told = sent(found)
    told["spread"] |= {
        name: [float(f"{number:.{_DIGITS}g}") for number in told["spread"][name]]
        for name in ("edges", "chances", "healthy")
    }
    return told


@router.get("/jobs/{job}/differences", response_model=DifferencesAnswer, responses=errors(404))
async def differences(bench: BenchHere, most: Most = 5) -> object:
    """Compare with a donor and with known-good boards, worst first."""

    def shown(job: Job) -> dict[str, Any]:
        found = sent(job.differences(most))
        return {"job": job.job_id, "version": len(job.events()), "differences": found}

    return await bench.ask(shown)
