"""A line between a browser and a server that can be cut, or lose all answers."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Literal
from urllib.parse import urlsplit

State = Literal["up", "cut", "mute"]
_PIECE = 65536


class Line:
    """Passes on what both sides say, as long as it is up.

    Parameters
    ----------
    port : int
        Of the server on this machine.
    """

    def __init__(self, port: int) -> None:
        self._server = port
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port = int(self._listener.getsockname()[1])
        self._state: State = "up"
        self._ends: set[socket.socket] = set()
        self._channels: set[socket.socket] = set()
        self._lost: set[socket.socket] = set()
        self._lock = threading.Lock()
        self._threads = [threading.Thread(target=self._accept, daemon=True)]
        self._threads[0].start()

    def cut(self) -> None:
        """Break every connection, and take no new one."""
        self._state = "cut"
        self._break()

    def mute(self) -> None:
        """Pass on what the browser says and lose what the server answers."""
        self._state = "mute"

    def lose_channels(self) -> None:
        """Let the live channels of now fall silent without a word to either side."""
        self._lost |= self._channels

    def mend(self) -> None:
        """Pass everything on again; what hung on the broken line is gone."""
        self._state = "up"
        self._break()

    def close(self) -> None:
        """Break every connection for good."""
        self._state = "cut"
        with suppress(OSError):
            self._listener.shutdown(socket.SHUT_RDWR)
        self._listener.close()
        self._break()
        for thread in list(self._threads):
            thread.join(5.0)

    def _break(self) -> None:
        with self._lock:
            ends = list(self._ends)
        for end in ends:
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def _accept(self) -> None:
        while True:
            try:
                near, _ = self._listener.accept()
            except OSError:
                return
            thread = threading.Thread(target=self._joined, args=(near,), daemon=True)
            self._threads.append(thread)
            thread.start()

    def _joined(self, near: socket.socket) -> None:
        with near:
            if self._state == "cut":
                return
            try:
                far = socket.create_connection(("127.0.0.1", self._server))
            except OSError:
                return
            with far:
                with self._lock:
                    self._ends |= {near, far}
                there = threading.Thread(target=self._pass_on, args=(near, far), daemon=True)
                there.start()
                self._pass_on(far, near, answers=True)
                there.join()
                with self._lock:
                    for known in (self._ends, self._channels, self._lost):
                        known -= {near, far}

    def _pass_on(
        self, source: socket.socket, sink: socket.socket, *, answers: bool = False
    ) -> None:
        with suppress(OSError):
            while piece := source.recv(_PIECE):
                if b"upgrade: websocket" in piece.lower():
                    self._channels |= {source, sink}
                if source not in self._lost and not (answers and self._state == "mute"):
                    sink.sendall(piece)
        for end in (source, sink):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)


@contextmanager
def lined(base: str) -> Iterator[tuple[Line, str]]:
    """Give a line to a server, and the address at which the line takes browsers.

    The server must have been told that it also goes by ``127.0.0.1`` at other ports.
    """
    line = Line(urlsplit(base).port or 80)
    try:
        yield line, f"http://127.0.0.1:{line.port}"
    finally:
        line.close()
