"""What the expected readings of a step rest on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from nextprobe.board import GROUND
from nextprobe.diagnosis import Act, Case, Probe, Reference
from nextprobe.diagnosis.acts import PATIENT
from nextprobe.workbench.remarks import Remark


def grounds(case: Case, acts: Sequence[Act]) -> Iterator[Remark]:
    """Say how many known-good boards stand behind the readings of a step, and which.

    Parameters
    ----------
    case : Case
    acts : sequence of Act
        Of the step.
    """
    probes = [act for act in acts if isinstance(act, Probe) and act.device == PATIENT]
    found = [reference for act in probes if (reference := _behind(case, act)) is not None]
    if not found:
        return
    if len(probes) == 1:
        [good] = found
        text = f"what a good board reads at {probes[0].point} rests on: {good.source}"
        yield Remark("known-good", text, {"boards": good.boards})
        return
    fewest, most = (pick(good.boards for good in found) for pick in (min, max))
    each = f"{fewest}" if fewest == most else f"{fewest} to {most}"
    boards = "board" if most == 1 else "boards"
    computed = len(probes) - len(found)
    rest = f"; {computed} are computed from the circuit" if computed else ""
    text = f"of {len(probes)} points {len(found)} rest on {each} known-good {boards} each{rest}"
    numbers = {"points": len(found), "fewest": fewest, "most": most, "computed": computed}
    yield Remark("known-good", text, numbers)


def _behind(case: Case, act: Probe) -> Reference | None:
    expectations, board = case.model.expectations, case.brief.board
    known = board is not None and board.has_point(act.point)
    if expectations is None or not known or act.clamped != GROUND:
        return None
    return expectations.reference(act.point, act.mode)
