"""Every page on a phone and at twice the size: nothing sticks out, everything can be reached."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import httpx
import pytest
from web_driving import FOCUSED, Browser, Page, entered, opened, started, unfold
from web_pages import serving

pytestmark = pytest.mark.slow
MOST_STOPS = 500
SCREENS = {
    "phone": {"viewport": {"width": 390, "height": 844}, "device_scale_factor": 3},
    # A window of 1280 px by 800 px at 200 %.
    "twice": {"viewport": {"width": 640, "height": 400}, "device_scale_factor": 2},
}
NAMES = ("jobs", "intake", "bare intake", "bench", "run", "demo", "ended", "packs", "login")
SEEN = f"""() => {{
  const on = ({FOCUSED})();
  if (on === null || on === document.body) return null;
  if (on === window.firstSeen) return "round";
  window.firstSeen ??= on;
  const box = on.getBoundingClientRect();
  const left = Math.max(box.left, 0), right = Math.min(box.right, innerWidth);
  const top = Math.max(box.top, 0), bottom = Math.min(box.bottom, innerHeight);
  const name = on.outerHTML.slice(0, 120);
  if (right - left < 1 || bottom - top < 1) return `not on the screen: ${{name}}`;
  for (const across of [0.5, 0.1, 0.9]) for (const down of [0.5, 0.1, 0.9]) {{
    const x = left + across * (right - left), y = top + down * (bottom - top);
    let there = document.elementFromPoint(x, y);
    while (there?.shadowRoot) {{
      const within = there.shadowRoot.elementFromPoint(x, y);
      if (!within || within === there) break;
      there = within;
    }}
    if (there && (on.contains(there) || there.contains(on))) return "";
    if (there?.closest("label")?.control === on) return "";
  }}
  return `covered: ${{name}}`;
}}"""


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, str]]:
    with serving(tmp_path_factory.mktemp("jobs"), patience=1200.0) as (_, base):
        job = started(base, says="No picture since it got wet", ceiling=150)
        entered(base, job, "pinouts", text="1 gnd\n2 CAM_SDA .452\n3 CAM_SCL .461", connector="J1")
        entered(base, job, "readings", text="J1.2 0.120", connector="J1")
        body = {"key": "demo-00001", "pack": "courier-handheld", "name": "stale"}
        played = httpx.post(f"{base}/api/v1/play", json=body, timeout=60).json()["job"]
        over = started(base)
        entered(base, over, "closing", ending="decline")
        yield {
            "jobs": f"{base}/",
            "intake": f"{base}/intake",
            "bare intake": f"{base}/intake",
            "bench": f"{base}/jobs/{job}",
            "run": f"{base}/jobs/{job}",
            "demo": f"{base}/jobs/{played}",
            "ended": f"{base}/jobs/{over}",
            "packs": f"{base}/packs",
            "login": f"{base}/login",
        }


def ready(page: Page, name: str) -> None:
    """Bring a page into the state that is meant, with all that can be unfolded unfolded."""
    page.wait_for_load_state("networkidle")
    if name == "bare intake":
        page.get_by_role("radio", name="No pack").check()
        page.locator("#pinout").wait_for(state="attached")
    if name == "run":
        page.locator("#others summary").click()
        page.locator('#others [data-step="run:J1"]').click()
        page.locator(".run-point").wait_for()
    unfold(page)
    page.evaluate("document.body.tabIndex = -1; document.body.focus(); scrollTo(0, 0);")


def stops(page: Page, key: str) -> Iterator[Any]:
    """Go through a page by a key, and tell of each stop what is wrong with it."""
    page.evaluate("window.firstSeen = undefined")
    for _ in range(MOST_STOPS):
        page.keyboard.press(key)
        found = page.evaluate(SEEN)
        if found in (None, "round"):
            return
        yield found
    raise AssertionError(f"{MOST_STOPS} stops and no end")


@pytest.mark.parametrize("screen", SCREENS)
@pytest.mark.parametrize("name", NAMES)
def test_a_page_on_a_small_screen(
    browser: Browser, pages: dict[str, str], name: str, screen: str
) -> None:
    page = opened(browser, pages[name], reduced_motion="reduce", **SCREENS[screen])
    ready(page, name)
    width = SCREENS[screen]["viewport"]["width"]  # type: ignore[index]
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    for key in ("Tab", "Shift+Tab"):
        found = list(stops(page, key))
        assert len(found) >= 5
        assert not [each for each in found if each], key
    page.context.close()
