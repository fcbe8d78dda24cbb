"""Scripts, styles and pictures of the pages: packed once, and kept by browsers under their content.

All are served below a name made from the content of all of them, so that a script finds the others
of its own version beside itself. What is asked for below another name, or none, is asked for again
each time.
"""

from __future__ import annotations

import gzip
import re
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

STATIC = Path(__file__).parent / "static"
AT = "/static"

_KINDS = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml"}
_IMPORT = re.compile(r'^(?:import .*|\} )from "\./([\w-]+\.js)";$', re.M)
# Only what fills its lines: nothing that a line runs can begin or end so.
_COMMENT = re.compile(rb"^[ \t]*(?://.*|/\*(?:[^*]|\*(?!/))*\*/)[ \t]*$", re.M)
_COMMENTED = (".js", ".css")
_FOREVER = "public, max-age=31536000, immutable"


@dataclass(frozen=True)
class StaticFile:
    """A file as it is sent.

    Parameters
    ----------
    kind : str
        Its media type.
    plain : bytes
    packed : bytes
        The same, compressed.
    """

    kind: str
    plain: bytes
    packed: bytes


@cache
def static_files() -> dict[str, StaticFile]:
    """Return the files by name."""
    return {
        file.name: _prepared(_KINDS[file.suffix], _sent(file))
        for file in sorted(STATIC.iterdir())
        if file.suffix in _KINDS
    }


def _sent(file: Path) -> bytes:
    """Return a file without its comments, a sixth of what is sent; lines keep their numbers."""
    text = file.read_bytes()
    if file.suffix not in _COMMENTED:
        return text
    return _COMMENT.sub(lambda found: b"\n" * found[0].count(b"\n"), text)


def _prepared(kind: str, plain: bytes) -> StaticFile:
    return StaticFile(kind, plain, gzip.compress(plain, 9, mtime=0))


@cache
def static_version() -> str:
    """Return what changes with any of the files."""
    found = sha256()
    for name, file in static_files().items():
        found.update(f"{name} {len(file.plain)}\n".encode() + file.plain)
    return found.hexdigest()[:12]


def static_address(name: str) -> str:
    """Return where a page finds a file."""
    return f"{AT}/{static_version()}/{name}"


@cache
def scripts_of(*names: str) -> tuple[str, ...]:
    """Return scripts with all that they import before they run, each once."""
    found: dict[str, None] = {}
    waiting = list(names)
    while waiting:
        name = waiting.pop(0)
        if name not in found:
            found[name] = None
            waiting += _IMPORT.findall(static_files()[name].plain.decode())
    return tuple(found)


async def send_static(request: Request) -> Response:
    """Send a file.

    Raises
    ------
    HTTPException
        If there is none of that name.
    """
    folder, _, name = request.path_params["place"].rpartition("/")
    file = static_files().get(name)
    if file is None or "/" in folder:
        raise HTTPException(404)
    headers = {"Content-Type": file.kind, "Vary": "Accept-Encoding"}
    if folder == static_version():
        headers["Cache-Control"] = _FOREVER
    else:
        headers |= {"Cache-Control": "no-cache", "ETag": f'"{static_version()}"'}
        if request.headers.get("if-none-match", "").removeprefix("W/") == headers["ETag"]:
            return Response(status_code=304, headers=headers)
    if "gzip" in request.headers.get("accept-encoding", ""):
        return Response(file.packed, headers={**headers, "Content-Encoding": "gzip"})
    return Response(file.plain, headers=headers)
