"""Device packs: what they say, their boards, and what they can and can not tell apart."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any

from fastapi import APIRouter, Path, Query

from nextprobe.errors import DataError, Finding, MisuseError
from nextprobe.job.shelf import shelf_from
from nextprobe.packs import FunctionClass, Pack
from nextprobe.readers.pack_folder import PackFolder
from nextprobe.trials.testability import testability as measured
from nextprobe.web.asking import PackName, WorkshopHere, errors
from nextprobe.web.board_shown import BoardShown, board_json
from nextprobe.web.pack_shelf import pack_folder, pack_folders, read_pack, template_pack
from nextprobe.web.plainly import sent, sent_findings
from nextprobe.web.shapes import many, maybe, shape
from nextprobe.web.trouble import FindingShown, NotHereError
from nextprobe.web.workshop import Workshop

router = APIRouter(tags=["packs"])

PackLine = shape(
    "PackLine",
    "A pack in the list.",
    name=str,
    device=str,
    functions=(dict[str, str], "titles by name"),
    jobs=(dict[str, str], "ready-made jobs to learn from: titles by name"),
    usable=(bool, "whether a job can be started from it"),
)
PacksAnswer = shape(
    "Packs", "The packs that the server knows.", packs=many(PackLine), templates=many(FunctionClass)
)
Reference = shape(
    "KnownGoodReading",
    "A reading of boards that work.",
    point=str,
    mode=str,
    value=(maybe(float), "[V, ohm or F]; null for over-range"),
    boards=int,
    source=str,
)
PackAnswer = shape(
    "PackAnswer",
    "All that a pack says, with every default filled in.",
    name=str,
    hash=str,
    pack=Pack,
    known_good=many(Reference),
    findings=many(FindingShown),
)
TemplateAnswer = shape(
    "TemplateAnswer", "What is taken for granted where there is no pack.", template=str, pack=Pack
)
Share = shape("Share", "A fault, and its share of complaints.", fault=str, title=str, share=float)
Ambiguous = shape(
    "AmbiguityGroup",
    "Faults that no test tells apart.",
    faults=many(str),
    titles=many(str),
    share=(float, "of complaints that end in this group, 0 to 1"),
)
TestabilityAnswer = shape(
    "TestabilityAnswer",
    "How well faults are detected and isolated, in the terms of IEEE Std 1522.",
    device=str,
    complaint=str,
    faults=(int, "how many families of faults"),
    tests=(dict[str, int], "how many tests of each kind"),
    detected=(float, "share of faults that looks, checks and readings tell from none"),
    isolated=(dict[str, float], "share of faults for which at most so many remain"),
    isolated_to_one_repair=float,
    mean_ambiguity_group=float,
    undetected=many(Share),
    ambiguity_groups=many(Ambiguous),
    findings=many(FindingShown),
)


@router.get("/packs", response_model=PacksAnswer, responses=errors())
async def list_packs(workshop: WorkshopHere) -> object:
    """List the packs, and the templates for devices without one."""
    return await workshop.do(partial(_listed, workshop))


@router.get("/packs/{pack}", response_model=PackAnswer, responses=errors(404))
async def show_pack(pack: PackName, workshop: WorkshopHere) -> object:
    """Show a pack: functions and history for intake, modules, refreshes, looks, work, costs."""
    contents, findings = await workshop.do(partial(_pack, workshop, pack))
    good = [
        {
            "point": row.point,
            "mode": row.mode.value,
            "value": row.value if isinstance(row.value, float) else None,
            "boards": row.boards,
            "source": row.source,
        }
        for row in contents.known_good
    ]
    return {
        "name": pack,
        "hash": contents.hash,
        "pack": contents.pack,
        "known_good": good,
        "findings": sent_findings(findings),
    }


@router.get("/packs/{pack}/board", response_model=BoardShown, responses=errors(404))
async def show_board(pack: PackName, workshop: WorkshopHere) -> object:
    """Show the board of a pack: parts, nets, pads with their places, connectors."""

    def shown() -> dict[str, Any]:
        contents, _ = _pack(workshop, pack)
        if contents.board is None:
            raise NotHereError(f"the pack {pack} has no board")
        return board_json(contents.board, contents.pack)

    return await workshop.do(shown)


@router.get("/packs/{pack}/testability", response_model=TestabilityAnswer, responses=errors(404))
async def testability(
    pack: PackName,
    workshop: WorkshopHere,
    complaint: Annotated[str, Query(max_length=200, description="the function that fails")],
) -> object:
    """Say which faults the tests of a pack detect, and what they can never tell apart."""
    return await workshop.study(partial(_testability, workshop, pack, complaint))


@router.get("/templates/{template}", response_model=TemplateAnswer, responses=errors(404))
async def show_template(
    template: Annotated[str, Path(max_length=100, description="class of function")],
    workshop: WorkshopHere,
) -> object:
    """Show what is taken for granted of a device without a pack."""
    pack = await workshop.do(partial(template_pack, template))
    return {"template": template, "pack": pack}


def _pack(workshop: Workshop, name: str) -> tuple[PackFolder, tuple[Finding, ...]]:
    return read_pack(pack_folder(workshop.settings, workshop.home, name))


def _listed(workshop: Workshop) -> dict[str, Any]:
    rows = []
    for name, folder in pack_folders(workshop.settings, workshop.home).items():
        try:
            pack = read_pack(folder)[0].pack
        except DataError:
            rows.append({"name": name, "device": "", "functions": {}, "jobs": {}, "usable": False})
            continue
        titles = {word: function.title for word, function in pack.functions.items()}
        jobs = {job: ready.title for job, ready in pack.jobs.items()}
        device = pack.device.name
        rows.append(
            {"name": name, "device": device, "functions": titles, "jobs": jobs, "usable": True}
        )
    return {"packs": rows, "templates": list(FunctionClass)}


def _testability(workshop: Workshop, pack: str, complaint: str) -> Any:
    folder = pack_folder(workshop.settings, workshop.home, pack)
    contents, findings = read_pack(folder)
    if complaint not in contents.pack.functions:
        known = ", ".join(contents.pack.functions)
        raise MisuseError(f"'{complaint}' is not a function of this device; known here: {known}")
    key = contents.hash, complaint
    if key not in workshop.measured:
        shelf, _ = shelf_from(folder, workshop.tables)
        case = shelf.case(complaint)
        titles = {suspect.key: suspect.title for suspect in case.suspects()}
        workshop.measured[key] = measured(case), titles
    found, titles = workshop.measured[key]
    return sent(
        {
            "device": contents.pack.device.name,
            "complaint": complaint,
            **found.measures(),
            "undetected": [
                {"fault": name, "title": titles.get(name, name), "share": share}
                for name, share in found.undetected
            ],
            "ambiguity_groups": [
                {
                    "faults": group.faults,
                    "titles": [titles.get(name, name) for name in group.faults],
                    "share": group.share,
                }
                for group in found.groups
            ],
            "findings": sent_findings(findings),
        }
    )
