"""Hands on the keyboard of a page that a real server sends to a real browser."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

import httpx
from web_pages import WAIT, chromium, missing

try:
    from playwright.sync_api import Browser, Page, Route, expect, sync_playwright
except ImportError:
    Browser = Page = Route = Any  # type: ignore[assignment,misc]
    expect = sync_playwright = None  # type: ignore[assignment]

FOCUSED = """() => {
  let found = document.activeElement;
  while (found && found.shadowRoot && found.shadowRoot.activeElement) {
    found = found.shadowRoot.activeElement;
  }
  return found;
}"""


@contextmanager
def browsing() -> Iterator[Browser]:
    """Give a browser; the test is skipped where there is none, but in CI."""
    if sync_playwright is None:
        missing("there is no playwright: uv sync --group dev")
    path = chromium()
    expect.set_options(timeout=WAIT)
    with sync_playwright() as play:
        found = play.chromium.launch(executable_path=path, args=["--no-sandbox"])
        try:
            yield found
        finally:
            found.close()


def opened(browser: Browser, address: str, **settings: Any) -> Page:
    """Open a page in a window of its own, which shares nothing with other windows."""
    settings = {"viewport": {"width": 1280, "height": 900}} | settings
    page = browser.new_context(**settings).new_page()
    page.set_default_timeout(WAIT)
    page.goto(address)
    return page


def troubles(page: Page) -> list[str]:
    """Return a list that grows by what goes wrong in a page from now on."""
    found: list[str] = []
    page.on("pageerror", lambda error: found.append(str(error)))
    page.on("console", lambda said: found.append(said.text) if said.type == "error" else None)
    return found


def settled(page: Page) -> None:
    """Wait until the step that is shown follows from all that is recorded."""
    expect(page.locator("#step")).not_to_have_attribute("aria-busy", "true")
    expect(page.locator("#step .step-title")).to_be_visible()


def awaited(page: Page, expression: str, argument: Any = None) -> Any:
    """Return what an expression of a page says, once that is anything but false or nothing.

    A page that lets no text be run as a script refuses to be asked from within, again and again.
    """
    until = time.monotonic() + WAIT / 1000.0
    while time.monotonic() < until:
        if found := page.evaluate(expression, argument):
            return found
        page.wait_for_timeout(20)
    raise AssertionError(f"{expression} is not so after {WAIT / 1000.0:g} s")


def unfold(page: Page, within: str = "main") -> None:
    """Unfold all that can be, and wait until what is fetched only then has come."""
    page.evaluate(
        """within => {
          document.querySelectorAll(`${within} details`).forEach(each => { each.open = true; });
          return new Promise(done => requestAnimationFrame(() => setTimeout(done)));
        }""",
        within,
    )
    fetching = "/Adding up …|Trying every test/.test(document.querySelector('main').textContent)"
    awaited(page, f"!{fetching}")


def entry_count(page: Page) -> int:
    """Return how many entries the log on the page has."""
    return int(page.locator("#log li.entry").count())


def job_of(page: Page) -> str:
    """Return the job that a page is about, once it is open."""
    page.wait_for_url(re.compile("/jobs/"))
    return str(page.evaluate("document.body.dataset.job"))


def asked(base: str, path: str, **query: Any) -> Any:
    """Return what the interface answers."""
    found = httpx.get(f"{base}/api/v1{path}", params=query, timeout=120)
    return found.raise_for_status().json()


def entered(base: str, job: str, what: str, **body: Any) -> Any:
    """Make an entry in a job as another program would."""
    made = httpx.post(
        f"{base}/api/v1/jobs/{job}/{what}", json={"key": uuid4().hex, **body}, timeout=120
    )
    return made.raise_for_status().json()


def started(base: str, **more: Any) -> str:
    """Take a device in that has no pack."""
    body = {"key": uuid4().hex, "template": "camera", "device": "Brindle 4", **more}
    found = httpx.post(f"{base}/api/v1/jobs", json=body, timeout=120).raise_for_status()
    return str(found.json()["job"])


def log_of(base: str, job: str) -> list[dict[str, Any]]:
    """Return the log of a job."""
    return list(asked(base, f"/jobs/{job}/events")["events"])


def said_in(base: str, job: str) -> list[str]:
    """Return what the entries of a job say that stand, without its intake."""
    return ["; ".join(line["said"]) for line in log_of(base, job)[1:] if line["stands"]]


@dataclass
class Hands:
    """Two hands on the keyboard and none on the mouse; every key is counted.

    Parameters
    ----------
    page : Page
    keys : int
        How many were pressed so far.
    """

    page: Page
    keys: int = 0

    def press(self, key: str, times: int = 1) -> None:
        """Press a key."""
        for _ in range(times):
            self.page.keyboard.press(key)
        self.keys += times

    def type(self, text: str) -> None:
        """Type a text."""
        self.page.keyboard.type(text)
        self.keys += len(text)

    def reach(self, selector: str, most: int = 150) -> None:
        """Go on by Tab until the focus is on what a selector names."""
        expect(self.page.locator(selector).first).to_be_attached()
        for _ in range(most):
            if self.holds(selector):
                return
            self.press("Tab")
        raise AssertionError(f"{most} times Tab do not lead to {selector}")

    def holds(self, selector: str) -> bool:
        """Tell whether the focus is on what a selector names."""
        there = (
            f"selector => {{ const on = ({FOCUSED})(); return on?.matches(selector) ?? false; }}"
        )
        return bool(self.page.evaluate(there, selector))

    def choose(self, name: str, value: str) -> None:
        """Go to a group of radio keys, and on by arrows until one is chosen."""
        self.reach(f'input[type=radio][name="{name}"]')
        count = self.page.locator(f'input[type=radio][name="{name}"]').count()
        for _ in range(count):
            if self.holds(f'[value="{value}"]'):
                if not self.page.evaluate(f"({FOCUSED})().checked"):
                    self.press("Space")
                return
            self.press("ArrowDown")
        raise AssertionError(f"{name} has no {value}")

    def tick(self, name: str, value: str = "") -> None:
        """Go to a box and tick it."""
        self.reach(f'input[type=checkbox][name="{name}"]' + (f'[value="{value}"]' if value else ""))
        self.press("Space")

    def write(self, selector: str, text: str) -> None:
        """Go to a field and type."""
        self.reach(selector)
        self.type(text)
