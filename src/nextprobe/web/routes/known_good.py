"""Known-good boards: what is kept of them, and what one more should read."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query

from nextprobe.board import MeterMode
from nextprobe.job.good_data import misfit_findings, misfit_rows, point_row, record_rows
from nextprobe.job.good_shelf import GoodShelf
from nextprobe.web.asking import PackName, WorkshopHere, errors
from nextprobe.web.good_shown import FitShown, PointShown, RecordShown
from nextprobe.web.good_store import good_shelf_named, good_store
from nextprobe.web.plainly import sent, sent_findings
from nextprobe.web.shapes import many, shape
from nextprobe.web.trouble import FindingShown
from nextprobe.workbench.meter_entry import known_point

router = APIRouter(tags=["known-good"])

DevicesAnswer = shape("GoodDevices", "Types of device that boards are kept of.", devices=many(str))
BoardsAnswer = shape(
    "GoodBoards",
    "The boards that are kept of a device, and how well each fits the others.",
    device=str,
    boards=many(RecordShown),
    misfits=many(FitShown),
    findings=many(FindingShown),
)
PointsAnswer = shape(
    "GoodPoints",
    "What one more good board should read, point by point.",
    device=str,
    points=many(PointShown),
    findings=many(FindingShown),
)


@router.get("/known-good", response_model=DevicesAnswer, responses=errors())
async def list_devices(workshop: WorkshopHere) -> object:
    """List the types of device that boards are kept of."""
    return {"devices": await workshop.do(lambda: list(good_store(workshop).devices()))}


@router.get("/known-good/{pack}", response_model=BoardsAnswer, responses=errors(404))
async def list_boards(pack: PackName, workshop: WorkshopHere) -> object:
    """List the boards that are kept of a device."""

    def shown() -> Any:
        shelf = good_shelf_named(workshop, pack)
        return sent(
            {
                "device": shelf.device,
                "boards": record_rows(shelf),
                "misfits": misfit_rows(shelf),
                "findings": sent_findings((*shelf.findings, *misfit_findings(shelf))),
            }
        )

    return await workshop.do(shown)


@router.get("/known-good/{pack}/points", response_model=PointsAnswer, responses=errors(404))
async def show_points(
    pack: PackName,
    workshop: WorkshopHere,
    point: Annotated[str, Query(max_length=200, description="all of them if empty")] = "",
    mode: Annotated[MeterMode | None, Query(description="in one mode only")] = None,
) -> object:
    """Show what one more good board should read, and how sure that is by now."""
    return await workshop.do(lambda: _points(good_shelf_named(workshop, pack), point, mode))


def _points(shelf: GoodShelf, point: str, mode: MeterMode | None) -> Any:
    name = known_point(point, shelf.board)[0] if point.strip() else ""
    places = [place for place in shelf.points(mode) if not name or place[0] in (name, point)]
    return sent(
        {
            "device": shelf.device,
            "points": [point_row(shelf, *place) for place in places],
            "findings": sent_findings(shelf.findings),
        }
    )
