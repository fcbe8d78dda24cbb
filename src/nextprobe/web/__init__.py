"""The bench in a browser: a server with a JSON interface over the same use cases as the CLI.

``docs/api.md`` describes it. Nothing here computes: every route asks a :class:`nextprobe.Job`, in
the one thread that owns the job, so that the server goes on answering meanwhile.
"""

from nextprobe.web.app import create_app
from nextprobe.web.settings import Settings

__all__ = ["Settings", "create_app"]
