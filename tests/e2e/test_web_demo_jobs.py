"""Every demo job from its intake to its end, by keyboard alone."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from web_driving import (
    Browser,
    Hands,
    Page,
    asked,
    expect,
    job_of,
    opened,
    said_in,
    settled,
)
from web_pages import serving

pytestmark = pytest.mark.slow
PATIENCE = 1200.0
MOST_STEPS = 30
MOST_KEYS = 260
# What the log must say for the cause to have been removed.
REPAIRED = {
    "courier-handheld": {
        "pending": r"donor imaging fitted",
        "stale": r"update: finished; check imaging: works",
        "leaky": r"protection remove D404; check imaging: works",
        "dirt": r"(clean|reseat|ultrasonic) J4; check imaging: works",
        "cracked": r"small passive C405; check imaging: works",
        "no-output": r"controller U3; check imaging: works",
        "bridged": r"connector resolder J4; check imaging: works",
        "wet": r"protection remove D404; check imaging: works",
    },
    "ferry-terminal": {
        "lint": r"try external charging; check charging: works",
        "port": r"donor port flex fitted; check charging: works",
        "clamped": r"protection remove D101",
        "worn": r"donor battery fitted",
        "dark": r"controller U6",
    },
    "field-recorder": {
        "joint": r"connector resolder J3; check left channel: works",
        "card": r"capacitor remove C601",
        "unheard": r"donor radio module fitted",
        "one-sided": r"small passive FB302; check right channel: works",
        "deaf": r"controller U5; check left channel: works",
    },
}
JOBS = [
    pytest.param(pack, name, id=f"{pack}-{name}")
    for pack, jobs in REPAIRED.items()
    for name in jobs
]


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, str]]:
    home = tmp_path_factory.mktemp("jobs")
    with serving(home, patience=PATIENCE) as (_, base):
        yield home, base


def ready(base: str, pack: str, name: str) -> dict[str, Any]:
    jobs = asked(base, "/play")["jobs"]
    return next(job for job in jobs if (job["pack"], job["name"]) == (pack, name))


def taken_in(hands: Hands, base: str, told: dict[str, Any]) -> str:
    """Take a device in as its customer tells it; what fails is tried and fails."""
    functions = asked(base, f"/packs/{told['pack']}")["pack"]["functions"]
    complaint = next(name for name, each in functions.items() if each["title"] == told["complaint"])
    hands.choose("source", f"pack:{told['pack']}")
    expect(hands.page.locator("#intake")).not_to_have_attribute("aria-busy", "true")
    expect(hands.page.locator(f'[name="check:{complaint}"]').first).to_be_attached()
    hands.choose("complaint", complaint)
    hands.choose(f"check:{complaint}", "fails")
    hands.write("#says", told["says"])
    for word in told["history"]:
        hands.tick("history", word)
    hands.reach("#intake .key.main")
    hands.press("Enter")
    return job_of(hands.page)


def simulated(home: Path, page: Page, job: str, told: dict[str, Any]) -> None:
    """Lay a simulated device with the fault of a demo job on the bench of a job."""
    folder = home / "play"
    folder.mkdir(exist_ok=True)
    recipe = {"pack": told["pack"], "name": told["name"], "seed": 1}
    (folder / f"{quote(job, safe='')}.json").write_text(json.dumps(recipe))
    page.reload()


def played(hands: Hands) -> None:
    """Confirm what is advised until the job has ended; every step takes one key."""
    entries, title = hands.page.locator("#log li.entry"), hands.page.locator("#step-title")
    for _ in range(MOST_STEPS):
        before = entries.count()
        hands.press("Enter")
        expect(entries).not_to_have_count(before)
        settled(hands.page)
        if title.inner_text() == "Closed and handed over":
            return
    raise AssertionError(f"it is not closed after {MOST_STEPS} steps")


@pytest.mark.parametrize(("pack", "name"), JOBS)
def test_a_demo_job_by_keyboard_alone(
    bench: tuple[Path, str], browser: Browser, pack: str, name: str
) -> None:
    home, base = bench
    told = ready(base, pack, name)
    page = opened(browser, f"{base}/intake")
    hands = Hands(page)
    job = taken_in(hands, base, told)
    simulated(home, page, job, told)
    settled(page)
    expect(page.locator("#complaint q")).to_have_text(told["says"])
    played(hands)
    expect(page.locator("#lesson")).to_contain_text("The right repair.")
    found = asked(base, f"/jobs/{job}/play")
    assert found["cured"] and not found["sold_in_vain"]
    expect(page.locator("#lesson")).to_contain_text(found["truth"])
    said = said_in(base, job)
    assert re.search(REPAIRED[pack][name], "\n".join(said)), said
    assert said[-1] == "close"
    assert hands.keys <= MOST_KEYS
    page.context.close()


def test_no_demo_job_is_left_out(bench: tuple[Path, str]) -> None:
    _, base = bench
    jobs = {(job["pack"], job["name"]) for job in asked(base, "/play")["jobs"]}
    assert jobs == {(pack, name) for pack, names in REPAIRED.items() for name in names}
