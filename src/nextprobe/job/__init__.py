"""One device from intake to handover: where stores, readers and the workbench meet."""

from nextprobe.job.job import Job

__all__ = ["Job"]
