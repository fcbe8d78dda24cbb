"""What every store asks of an event before it takes it."""

from __future__ import annotations

from nextprobe.errors import MisuseError, StoreConflictError
from nextprobe.workbench.events import Event, canonical_json, content_hash, verify_chain
from nextprobe.workbench.ports import JobRow


def first_row(job_id: str, first: Event, title: str) -> JobRow:
    """Line of a new job in the list."""
    canonical_json([job_id, title])
    if not job_id.strip() or not job_id.isprintable():
        raise MisuseError(f"{job_id!r} can not be the name of a job: use letters and digits")
    broken = verify_chain((first,))
    if broken:
        raise MisuseError(f"job {job_id} can not begin so: {broken}")
    return JobRow(job_id, title, events=1, head=first.hash)


def next_row(job: JobRow, event: Event) -> JobRow:
    """Line of a job after its next event."""
    if event.hash != content_hash(event):
        raise MisuseError(f"event {event.number} of job {job.job_id} does not match its hash")
    if (event.number, event.previous) != (job.events + 1, job.head):
        raise StoreConflictError(
            f"event {event.number} does not follow the last event of job {job.job_id}, number "
            f"{job.events}: somebody wrote meanwhile; nothing was stored: read again and retry"
        )
    return JobRow(job.job_id, job.title, event.number, event.hash)


def exists_already(job_id: str) -> StoreConflictError:
    """Error for a name that is taken."""
    return StoreConflictError(f"there is a job {job_id} already: give the new one another name")


def unknown(job_id: str) -> MisuseError:
    """Error for a job that is not there."""
    return MisuseError(f"there is no job {job_id}")
