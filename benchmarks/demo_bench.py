"""A demo job on a real server, in Debian's Chromium: what the benchmarks of the bench share."""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx

sys.path.insert(0, str(Path(__file__).parent.parent / "tests" / "support"))

from playwright.sync_api import sync_playwright
from web_pages import chromium, serving

PATIENCE, LONGEST = 120_000.0, 7200.0
SIZE = {"width": 1280, "height": 900}
PACK = "courier-handheld"


@dataclass
class Benches:
    """A server with its jobs, and a browser without a graphics card."""

    base: str
    api: httpx.Client
    browser: Any

    def window(self, script: str) -> Any:
        """Return a page of a context that has nothing kept, with a script of ours in it."""
        context = self.browser.new_context(viewport=SIZE)
        context.add_init_script(script)
        page = context.new_page()
        page.set_default_timeout(PATIENCE)
        return page

    def start(self, route: str, key: str, **body: Any) -> str:
        """Start a job of the demo pack, and return where its page is."""
        asked = {"key": f"bench-{key}", "pack": PACK, **body}
        made = self.api.post(route, json=asked).raise_for_status().json()
        return f"/jobs/{made['job']}"


@contextmanager
def benches() -> Iterator[Benches]:
    """Give a server process with a new folder of jobs, and a browser."""
    with (
        tempfile.TemporaryDirectory() as home,
        serving(Path(home), patience=LONGEST) as (_, base),
        httpx.Client(base_url=f"{base}/api/v1", timeout=PATIENCE / 1000) as api,
        sync_playwright() as play,
    ):
        running = play.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])
        yield Benches(base, api, running)
        running.close()


def heading(title: str) -> None:
    """Say how busy the machine is, and what stands in the columns."""
    print(f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")
    print(f"{title:44}{'median':>9}{'95 %':>9}{'most':>9}{'goal':>9}")


def shown(name: str, found: list[float], goal: float | None = None) -> bool:
    """Print figures; return whether their median meets the goal."""
    middle = statistics.median(found)
    high = statistics.quantiles(found, n=20)[-1] if len(found) > 1 else middle
    line = f"{name:44}{middle:9.1f}{high:9.1f}{max(found):9.1f}"
    if goal is None:
        print(line)
        return True
    print(f"{line}{goal:9.0f}  {'met' if middle <= goal else 'MISSED'}")
    return middle <= goal
