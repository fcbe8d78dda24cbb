"""Debian's Chromium on pages of static files, with the policy of the real server."""

from __future__ import annotations

import http.server
import json
import os
import shutil
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

import nextprobe.web
from nextprobe.web.guard import POLICY

try:
    from playwright.sync_api import sync_playwright
except ImportError:
    sync_playwright = None  # type: ignore[assignment,misc]

STATIC = Path(nextprobe.web.__file__).parent / "static"
TYPES = {".js": "text/javascript", ".css": "text/css", ".json": "application/json"}
HEAD = (
    '<!doctype html><html lang="en"><meta charset="utf-8">'
    '<meta name="viewport" content="width=device-width, initial-scale=1"><title>Test</title>'
    '<link rel="stylesheet" href="/static/theme.css">'
)


def chromium() -> str | None:
    """Return where Chromium is; None if it is not installed."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


def require_browser() -> None:
    """Skip the test where there is no browser to drive; fail it on continuous integration."""
    missing = "playwright" if sync_playwright is None else "" if chromium() else "chromium"
    if missing and os.environ.get("CI"):
        pytest.fail(f"{missing} is not installed")
    if missing:
        pytest.skip(f"{missing} is not installed")


@contextmanager
def pages(bodies: Mapping[str, str], data: Mapping[str, Any]) -> Iterator[str]:
    """Serve pages by name, data as JSON, and the program's static files; give the address.

    Parameters
    ----------
    bodies : Mapping of str to str
        What stands in the body of each page, by its name.
    data : Mapping of str to Any
        What is answered as JSON, by its name.
    """

    class Handler(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            found = _found(self.path.partition("?")[0].strip("/"), bodies, data)
            self.send_response(404 if found is None else 200)
            content, kind = found or (b"", "text/plain")
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(content)))
            self.send_header("Content-Security-Policy", POLICY)
            self.end_headers()
            self.wfile.write(content)

        def log_message(self, format: str, *words: object) -> None:
            pass

    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def _found(
    path: str, bodies: Mapping[str, str], data: Mapping[str, Any]
) -> tuple[bytes, str] | None:
    if path.startswith("static/"):
        file = STATIC / path.removeprefix("static/")
        return (file.read_bytes(), TYPES[file.suffix]) if file.is_file() else None
    if path.endswith(".js") and path in data:
        return str(data[path]).encode(), TYPES[".js"]
    if path in data:
        return json.dumps(data[path]).encode(), TYPES[".json"]
    if path == "favicon.ico":
        return b"", "image/x-icon"
    if path in bodies:
        return (HEAD + bodies[path]).encode(), "text/html; charset=utf-8"
    return None


@contextmanager
def browser(**settings: Any) -> Iterator[Any]:
    """Give a page of a browser without a window, and close it; errors in the page are kept.

    ``page.troubles`` lists errors of scripts and what the security policy refused.
    """
    assert sync_playwright is not None, "playwright is not installed"
    with sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])
        try:
            yield new_page(running, **settings)
        finally:
            running.close()


def new_page(running: Any, **settings: Any) -> Any:
    """Return a page of a browser that keeps what goes wrong in it."""
    context = running.new_context(**{"viewport": {"width": 1280, "height": 860}, **settings})
    page = context.new_page()
    page.troubles = []
    page.on("pageerror", lambda error: page.troubles.append(str(error)))
    page.on(
        "console",
        lambda said: page.troubles.append(said.text) if said.type == "error" else None,
    )
    return page
