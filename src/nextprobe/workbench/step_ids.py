"""Every step that a job can record, offered now or not, by its stable id."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches

from nextprobe.diagnosis import Case
from nextprobe.diagnosis.ids import slug
from nextprobe.diagnosis.lifting import LIFT, lifted
from nextprobe.diagnosis.options import TERMINAL, VERIFY, gentle_refresh
from nextprobe.errors import UnknownStepError

PROBE = "probe"
FORMS = ("fit", "fit-refresh", "refresh", "refit", "second")


def step_ids(case: Case) -> tuple[str, ...]:
    """Return the ids of all steps but single readings of any point."""
    return tuple(dict.fromkeys(_all(case)))


def _all(case: Case) -> Iterator[str]:
    """Yield ids; those that are offered now, which take longest to find, come last."""
    pack = case.model.pack
    yield from (f"check:{slug(name)}" for name in pack.functions)
    yield from (f"look:{slug(name)}" for name in pack.looks)
    yield from (f"refresh:{name}" for name in pack.refreshes)
    for slot in pack.modules:
        for form in FORMS:
            if "refresh" not in form or gentle_refresh(pack) is not None:
                yield f"trial:{slug(slot)}:{form}"
    yield from case.model.work_by_id
    stages = pack.supply_current.stages() if pack.supply_current else {}
    yield from (f"current:{slug(name)}" for name in stages)
    if case.brief.board is not None:
        board = case.brief.board
        parts = (part.reference for part in board.parts)
        yield from (f"{LIFT}:{name}" for name in parts if lifted(board, name) is not None)
    yield from case.problem.probing.runs
    yield from case.problem.probing.touches
    yield VERIFY
    yield from sorted(TERMINAL)
    yield from (option.id for option in case.problem.options(case.situation))


def known_step(case: Case, step: str) -> str:
    """Return the id that is meant.

    Blanks and hyphens, capitals and small letters count as the same.

    Raises
    ------
    UnknownStepError
        If there is no such step; the message lists ids that are like it.
    """
    if step.startswith(f"{PROBE}:") and step.partition(":")[2].strip():
        return step
    if step in _all(case):
        return step
    folded = {slug(name).lower(): name for name in step_ids(case)}
    meant = slug(step.strip()).lower()
    if meant in folded:
        return folded[meant]
    raise UnknownStepError(_unknown(step, meant, folded))


def _unknown(step: str, meant: str, folded: dict[str, str]) -> str:
    close = get_close_matches(meant, folded, 4, 0.5)
    if close:
        return f"there is no step '{step}'; like it: {', '.join(folded[name] for name in close)}"
    return f"there is no step '{step}'; 'next' lists the steps of this job"


def known_work(case: Case, name: str) -> str:
    """Return the name of a kind of work in the pack.

    Raises
    ------
    UnknownStepError
        If the pack has no such work.
    """
    by_slug = {slug(word): word for word in case.model.pack.work}
    if slug(name) not in by_slug:
        close = get_close_matches(slug(name), by_slug, 3) or sorted(by_slug)
        raise UnknownStepError(f"there is no work '{name}'; known here: {', '.join(close)}")
    return by_slug[slug(name)]
