"""Starting a job, once for each key."""

from __future__ import annotations

from threading import Lock
from typing import Any

from nextprobe.errors import MisuseError, NextprobeError, RepeatedKeyError, StoreError
from nextprobe.job import Job
from nextprobe.web.bodies import NewJob
from nextprobe.web.entering import enter, name_of
from nextprobe.web.pack_shelf import pack_folder, read_pack, template_pack
from nextprobe.web.plainly import sent_findings
from nextprobe.web.workshop import Workshop
from nextprobe.workbench.entry_names import ENTRY, EntryName
from nextprobe.workbench.intake import require_known


class Starts:
    """Which job each key has started, read from the jobs themselves.

    Parameters
    ----------
    workshop : Workshop
    """

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop
        self._read: set[str] = set()
        self._known: dict[str, tuple[str, str]] = {}
        self._lock = Lock()

    def start(self, body: NewJob) -> tuple[str, bool, list[dict[str, Any]]]:
        """Start a job unless the key has started one.

        Returns
        -------
        tuple
            Name of the job, whether it was there already, and findings.

        Raises
        ------
        RepeatedKeyError
            If the key has started another job.
        NextprobeError
            As `Job.start` does.
        """
        name = name_of(body, "start")
        with self._lock:
            known = self._job_of(name)
            if known is not None:
                return known, True, []
            job = self._started(body, name)
            self._note(job.job_id, name)
            return job.job_id, False, sent_findings(job.started_with)

    def _started(self, body: NewJob, name: EntryName) -> Job:
        workshop = self._workshop
        if (body.pack is None) == (body.template is None):
            raise MisuseError("a job starts from a pack or from a template: give one of the two")
        folder = None
        if body.pack is not None:
            folder = pack_folder(workshop.settings, workshop.home, body.pack)
        pack = template_pack(body.template or "") if folder is None else read_pack(folder)[0].pack
        for function in body.checks:
            require_known(function, pack.functions, "a function of this device")
        return Job.start(
            folder,
            template=body.template,
            device=body.device,
            complaint=body.complaint,
            says=body.says,
            history=body.history,
            may_wipe=body.may_wipe,
            may_unpair=body.may_unpair,
            ceiling=body.ceiling,
            store=workshop.store,
            job_id=body.name,
            tables=workshop.tables,
            name=name,
        )

    def _job_of(self, name: EntryName) -> str | None:
        for row in self._workshop.store.jobs():
            if row.job_id not in self._read:
                self._look(row.job_id)
        job, request = self._known.get(name.key, ("", ""))
        if job and request != name.request:
            raise RepeatedKeyError(
                f"the key {name.key} has started job {job}, which is another: make a new key"
            )
        return job or None

    def _look(self, job_id: str) -> None:
        self._read.add(job_id)
        try:
            mark = self._workshop.store.read(job_id)[0].payload.get(ENTRY)
        except StoreError:  # one damaged job does not keep others from being started
            return
        if mark is not None:
            self._known[mark["key"]] = (job_id, mark["request"])

    def _note(self, job_id: str, name: EntryName) -> None:
        self._read.add(job_id)
        self._known[name.key] = (job_id, name.request)


def record_checks(job: Job, body: NewJob) -> list[dict[str, Any]]:
    """Record what was checked at intake, each once; return what was wrong with them."""
    name, findings = name_of(body, "start"), []
    for number, (function, result) in enumerate(body.checks.items(), start=1):
        entry = _check(function, result)
        try:
            findings += enter(job, name.part(number), entry)["findings"]
        except NextprobeError as error:
            findings.append(_not_recorded(function, error))
    return findings


def _check(function: str, result: str) -> Any:
    return lambda job: job.check(function, result)


def _not_recorded(function: str, error: Exception) -> dict[str, Any]:
    where = {"source": "checks", "line": None, "column": None, "name": function}
    remedy = "record the check again"
    return {"severity": "error", "what": str(error), "where": where, "remedy": remedy}
