"""Nextprobe: a workbench for board-level repair of handheld electronics.

`nextprobe.Job` is the way in; it is loaded when it is first asked for, so that importing the
package takes no time.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from nextprobe.job import Job

__version__ = "0.1.0"

__all__ = ["Job", "__version__"]


def __getattr__(name: str) -> object:
    if name == "Job":
        from nextprobe.job import Job  # noqa: PLC0415

        return Job
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
