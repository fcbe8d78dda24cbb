"""Running the server: one process, a socket that is ours before anything is said."""

from __future__ import annotations

import socket
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import uvicorn

from nextprobe.errors import MisuseError
from nextprobe.web.app import create_app
from nextprobe.web.settings import Settings, is_everywhere

_LONGEST_MESSAGE = 64 * 1024
_PATIENCE = 5
_TURN = 0.0005
"""How long a thread that computes may keep the others from answering [s]."""


@contextmanager
def listening(host: str, port: int) -> Iterator[socket.socket]:
    """Give a socket that listens.

    Raises
    ------
    MisuseError
        If there is no such address, or somebody else listens there.
    """
    try:
        found = socket.getaddrinfo(host.strip("[]"), port, type=socket.SOCK_STREAM)
        family, kind, protocol, _, place = found[0]
        made = socket.socket(family, kind, protocol)
    except (OSError, UnicodeError) as error:
        raise MisuseError(f"{host} is no address of this machine: {error}") from error
    with made:
        try:
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            made.bind(place)
        except OSError as error:
            raise MisuseError(
                f"nobody can listen at {host}, port {port}: {error.strerror}; choose another --port"
            ) from error
        yield made


def address(settings: Settings) -> str:
    """Return where a browser on this machine finds the server."""
    host = "127.0.0.1" if is_everywhere(settings.host) else settings.host.strip("[]")
    return f"http://{f'[{host}]' if ':' in host else host}:{settings.port}/"


class _Server(uvicorn.Server):
    """Says when it answers."""

    def __init__(self, config: uvicorn.Config, ready: Callable[[], None]) -> None:
        super().__init__(config)
        self._ready = ready

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Start, and say so."""
        await super().startup(sockets)
        if self.started:
            self._ready()


def run(settings: Settings, listener: socket.socket, ready: Callable[[], None]) -> None:
    """Serve until somebody interrupts.

    Parameters
    ----------
    settings : Settings
    listener : socket
    ready : callable
        Called once the server answers.
    """
    options: dict[str, Any] = {
        "log_level": "warning",
        "access_log": False,
        "server_header": False,
        "proxy_headers": False,
        "ws_max_size": _LONGEST_MESSAGE,
        "timeout_graceful_shutdown": _PATIENCE,
    }
    sys.setswitchinterval(_TURN)
    _Server(uvicorn.Config(create_app(settings), **options), ready).run([listener])
