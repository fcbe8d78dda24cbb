"""What every request must pass, and what every answer says: names, origins, sizes, logins.

A page of another site must not be able to talk to the server, not even with a name that it makes
point here (DNS rebinding): the Host header must be one of the server's own names, and whatever
says that it comes from elsewhere is refused.
"""

from __future__ import annotations

import socket
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from ipaddress import ip_address
from typing import Any
from urllib.parse import urlsplit

from starlette.exceptions import HTTPException

from nextprobe.web.sessions import COOKIE, Sessions
from nextprobe.web.settings import Settings, is_everywhere
from nextprobe.web.trouble import answer, error_json

Message = MutableMapping[str, Any]
Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
Application = Callable[[Scope, Receive, Send], Awaitable[None]]

API = "/api/v1"
_OPEN = (f"{API}/session", f"{API}/about", f"{API}/openapi.json")
"""What the interface answers before a login."""

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=()",
}
FILE_HEADERS = {
    name: HEADERS[name] for name in ("X-Content-Type-Options", "Cross-Origin-Resource-Policy")
}
"""Of scripts and styles: they are no documents, and a policy is longer than some of them."""
_OWN_NAMES = ("localhost", "127.0.0.1", "::1")


class Guard:
    """Stands before an application.

    Parameters
    ----------
    app : callable
        An ASGI application.
    settings : Settings
    sessions : Sessions
    """

    def __init__(self, app: Application, settings: Settings, sessions: Sessions) -> None:
        self._app = app
        self._settings = settings
        self._sessions = sessions
        names = {*_OWN_NAMES, settings.host.strip("[]"), *settings.names}
        if is_everywhere(settings.host):
            names.add(socket.gethostname())
        self._names = frozenset(name.lower() for name in names)
        self._given = frozenset(name.lower() for name in settings.names)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        refusal = self._refusal(scope)
        if refusal is not None:
            await self._refuse(scope, receive, send, *refusal)
        elif scope["type"] == "websocket":
            await self._app(scope, receive, send)
        else:
            measured = _Measured(self._limit(scope), receive)
            await self._app(scope, measured.receive, _dressed(scope, send))

    def _refusal(self, scope: Scope) -> tuple[int, str, str, str] | None:
        headers = _headers(scope)
        if not self._is_ours(headers.get("host", "")):
            return 403, "host", "this server does not go by that name", "use the address it printed"
        if self._is_foreign(scope, headers):
            return (
                403,
                "origin",
                "this request comes from another site",
                "use the server's own page",
            )
        if scope["type"] == "http" and (found := self._wrong_body(scope, headers)) is not None:
            return found
        if self._needs_login(scope, headers):
            return 401, "login", "log in first", f"POST {API}/session with the passphrase"
        return None

    def _is_ours(self, host: str) -> bool:
        try:
            parts = urlsplit(f"//{host}")
            name, port = (parts.hostname or "").lower(), parts.port
        except ValueError:
            return False
        if parts.username is not None or parts.path or not name:
            return False
        if name in self._given:  # perhaps at the port of a proxy
            return True
        if self._settings.port is not None and (port or 80) != self._settings.port:
            return False
        return name in self._names or (is_everywhere(self._settings.host) and _is_address(name))

    def _is_foreign(self, scope: Scope, headers: dict[str, str]) -> bool:
        origin, host = headers.get("origin"), headers["host"].lower()
        over_tls = self._settings.behind_tls and urlsplit(f"//{host}").hostname in self._given
        schemes = ("https",) if over_tls else ("http", "https")
        if origin is not None and origin.lower() not in [f"{each}://{host}" for each in schemes]:
            return True
        site = headers.get("sec-fetch-site", "none")
        opens_page = scope.get("method") == "GET" and headers.get("sec-fetch-mode") == "navigate"
        is_page = opens_page and not scope["path"].startswith(API)
        return site not in ("same-origin", "none") and not is_page

    def _wrong_body(
        self, scope: Scope, headers: dict[str, str]
    ) -> tuple[int, str, str, str] | None:
        length = headers.get("content-length", "0")
        limit = self._limit(scope)
        if not length.isdecimal() or int(length) > limit:
            return 413, "too large", f"at most {limit} bytes can be sent here", "send less"
        has_body = length != "0" or "transfer-encoding" in headers
        kind = headers.get("content-type", "").partition(";")[0].strip().lower()
        if not has_body or scope["method"] in ("GET", "HEAD") or _takes_photo(scope):
            return None
        if kind != "application/json":
            return 415, "media type", "this is not JSON", "send Content-Type: application/json"
        return None

    def _limit(self, scope: Scope) -> int:
        return self._settings.photo_bytes if _takes_photo(scope) else self._settings.json_bytes

    def _needs_login(self, scope: Scope, headers: dict[str, str]) -> bool:
        path = scope["path"]
        if not self._settings.passphrase_hash or not path.startswith("/api/") or path in _OPEN:
            return False
        return not self._sessions.is_open(cookie_in(headers.get("cookie", "")))

    async def _refuse(  # noqa: PLR0917
        self, scope: Scope, receive: Receive, send: Send, status: int, kind: str, says: str,
        remedy: str,
    ) -> None:  # fmt: skip
        if scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.close", "code": 4000 + status, "reason": says})
            return
        response = answer(status, error_json(kind, says, remedy=remedy))
        await response(scope, receive, _dressed(scope, send))


class _Measured:
    """Counts what is received, where the length was not said or not true."""

    def __init__(self, limit: int, receive: Receive) -> None:
        self._left = limit
        self._receive = receive

    async def receive(self) -> Message:
        """Return the next part of the body.

        Raises
        ------
        HTTPException
            If there is too much.
        """
        message = await self._receive()
        self._left -= len(message.get("body", b""))
        if self._left < 0:
            raise HTTPException(413, "more was sent than can be taken")
        return message


def cookie_in(header: str) -> str:
    """Return the cookie of the login in a header; empty if there is none."""
    try:
        found = SimpleCookie(header).get(COOKIE)
    except CookieError:
        return ""
    return "" if found is None else found.value


def _dressed(scope: Scope, send: Send) -> Send:
    """Return a sender that adds the headers of every answer."""
    is_file = scope["path"].startswith("/static/") and scope["path"].endswith((".js", ".css"))
    headers = FILE_HEADERS if is_file else HEADERS
    extra = [(name.lower().encode(), text.encode()) for name, text in headers.items()]
    if scope["path"].startswith("/api/"):
        extra.append((b"cache-control", b"no-store"))

    async def dressed(message: Message) -> None:
        if message["type"] == "http.response.start":
            given = {name.lower() for name, _ in message.get("headers", [])}
            added = [pair for pair in extra if pair[0] not in given]
            message = {**message, "headers": [*message.get("headers", []), *added]}
        await send(message)

    return dressed


def _takes_photo(scope: Scope) -> bool:
    path: str = scope["path"]
    return path.startswith(f"{API}/jobs/") and path.endswith("/photos")


def _headers(scope: Scope) -> dict[str, str]:
    return {name.decode("latin-1").lower(): text.decode("latin-1")
            for name, text in scope["headers"]}  # fmt: skip


def _is_address(name: str) -> bool:
    try:
        ip_address(name)
    except ValueError:
        return False
    return True
