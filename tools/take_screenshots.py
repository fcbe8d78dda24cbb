"""Take pictures of every page, wide and narrow, bright and dark: ``tools/take_screenshots.py``.

Needs chromium and playwright. The jobs are invented and live in a folder of their own.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from itertools import product
from pathlib import Path

import httpx
from PIL import Image
from playwright.sync_api import Browser, sync_playwright

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT / "tests" / "support"))
from web_pages import serving  # noqa: E402

PICTURES = ROOT / "docs" / "pictures"
SIZES = {"wide": (1280, 860), "narrow": (390, 844)}
THEMES = ("light", "dark")
STEPS = 2
CHOSEN = {"reading": "[data-step^='probe:J4']", "run": "[data-step='run:J4']"}
TYPED = "0.314"
WAIT = 120_000.0
COLOURS = 256
"""So many do for pages without photos, and the files stay small."""


def addresses(base: str) -> dict[str, str]:
    """Start what is to be shown, and return where each page is."""
    with httpx.Client(base_url=f"{base}/api/v1", timeout=120) as client:
        new = {
            "key": "picture-start-1",
            "pack": "courier-handheld",
            "complaint": "imaging",
            "says": "It fell off the rack. The parcel camera has been black ever since.",
            "history": ["drop"],
            "checks": {"touch": "works", "fingerprint": "works"},
        }
        real = client.post("/jobs", json=new).raise_for_status().json()["job"]
        demo = {"key": "picture-play-01", "pack": "courier-handheld", "name": "stale"}
        played = client.post("/play", json=demo).raise_for_status().json()["job"]
        for number in range(STEPS):
            step = client.get(f"/jobs/{played}/steps?most=1").json()["steps"][0]["id"]
            taken = {"key": f"picture-step-{number}", "step": step}
            client.post(f"/jobs/{played}/play", json=taken).raise_for_status()
    return {
        "jobs": f"{base}/",
        "intake": f"{base}/intake",
        "bench": f"{base}/jobs/{real}",
        "demo": f"{base}/jobs/{played}",
        "reading": f"{base}/jobs/{real}",
        "run": f"{base}/jobs/{real}",
        "packs": f"{base}/packs",
    }


def take(browser: Browser, name: str, address: str, size: str, theme: str) -> None:
    """Take one picture."""
    width, height = SIZES[size]
    context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=theme)
    page = context.new_page()
    page.set_default_timeout(WAIT)
    page.goto(address)
    page.wait_for_load_state("networkidle")
    if name in CHOSEN:
        page.locator("#others summary").click()
        page.locator(f"#others .other{CHOSEN[name]}").first.click()
    if name == "run":
        page.locator("#reading").fill(TYPED)
        page.locator("#reading").press("Enter")
        page.locator(".run-now live-reading").wait_for()
    if name == "demo":
        page.locator("#suspects summary").first.click()
        page.locator("#suspects .reckoning table").first.wait_for()
    if name == "packs":
        page.locator("#packs details summary").first.click()
        page.locator("#packs .facts").first.wait_for()
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(500)
    file = PICTURES / f"{name}-{size}-{theme}.png"
    page.screenshot(path=file)
    with Image.open(file) as taken:
        taken.convert("RGB").quantize(COLOURS, Image.Quantize.FASTOCTREE).save(file, optimize=True)
    context.close()


def main() -> None:
    """Take them all."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as home, serving(Path(home)) as (_, base):
        places = addresses(base)
        with sync_playwright() as play:
            path = shutil.which("chromium")
            browser = play.chromium.launch(executable_path=path, args=["--no-sandbox"])
            for (name, address), size, theme in product(places.items(), SIZES, THEMES):
                take(browser, name, address, size, theme)
            browser.close()


if __name__ == "__main__":
    main()
