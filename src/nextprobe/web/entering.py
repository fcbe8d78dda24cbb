"""How an entry is made: once for each key, and what is answered to it."""

from __future__ import annotations

import json
from collections.abc import Callable
from hashlib import sha256
from typing import Any

from nextprobe.errors import DataError, Finding, NextprobeError, Where
from nextprobe.job import Job
from nextprobe.web.bodies import Body
from nextprobe.web.plainly import sent_findings
from nextprobe.web.shapes import many, shape
from nextprobe.web.trouble import FindingShown
from nextprobe.workbench.desk import Recorded
from nextprobe.workbench.entry_names import EntryName

Entry = Callable[[Job], Recorded]

RecordedShown = shape(
    "Recorded",
    "An event that is on disk.",
    event=(int, "its number in the log"),
    kind=str,
    step=(str, "id of the step, where there is one"),
    said=(many(str), "in words"),
)
Entered = shape(
    "Entered",
    "The answer to an entry, once it is on disk; what follows from it is computed afterwards.",
    job=str,
    version=(int, "of the job: number of its events"),
    recorded=RecordedShown,
    repeated=(bool, "whether it was there already, under the same key"),
    findings=many(FindingShown),
)


def name_of(body: Body, about: str) -> EntryName:
    """Return the name of an entry.

    Parameters
    ----------
    body : Body
    about : str
        What sort of entry it is.
    """
    return EntryName(body.key, digest(about, body.said()))


def digest(about: str, said: object) -> str:
    """Return what tells one request from another."""
    text = json.dumps([about, said], sort_keys=True, ensure_ascii=True)
    return sha256(text.encode()).hexdigest()[:32]


def enter(job: Job, name: EntryName, entry: Entry) -> dict[str, Any]:
    """Make an entry, unless it is there, and return the answer.

    What was written and can not be computed with is an answer with a finding: it is on disk.

    Raises
    ------
    NextprobeError
        If nothing was written.
    """
    known = job.entered(name)
    repeated = known is not None
    if known is None:
        try:
            with job.named(name):
                entry(job)
        except DataError:
            if job.entered(name) is None:
                raise
        known = job.entered(name)
        assert known is not None
    return {
        "job": job.job_id,
        "version": len(job.events()),
        "recorded": {
            "event": known.event,
            "kind": known.kind,
            "step": known.step,
            "said": list(known.said),
        },
        "repeated": repeated,
        "findings": sent_findings((*known.findings, *_trouble(job, known.event))),
    }


def _trouble(job: Job, event: int) -> tuple[Finding, ...]:
    try:
        _ = job.case.situation
    except (NextprobeError, ArithmeticError, ValueError, LookupError) as error:
        what = f"event {event} is recorded, but nothing can be computed now: {error}"
        return (Finding(what, Where(name=f"event {event}"), f"correct or withdraw {event}"),)
    return ()
