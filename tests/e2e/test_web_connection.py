"""A line that is cut, answers that are lost, a server that is killed: nothing lost or doubled."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest
from web_driving import (
    Browser,
    Hands,
    Page,
    entered,
    expect,
    log_of,
    opened,
    said_in,
    settled,
    started,
)
from web_line import Line, lined
from web_pages import free_port, serving

pytestmark = pytest.mark.slow
PINOUT = "1 gnd\n2 CAM_SDA .452\n3 CAM_SCL .461\n4 CAM_CLK .500"
READINGS = {"J1.2": "0.450", "J1.3": "0.463", "J1.4": "0.498"}


@contextmanager
def over_a_line(home: Path, browser: Browser) -> Iterator[tuple[Line, str, str, Page]]:
    """Give a line, the server behind it, and a job with a connector that is open over the line."""
    with serving(home, "--name", "127.0.0.1") as (_, base), lined(base) as (line, address):
        job = started(base)
        entered(base, job, "pinouts", text=PINOUT, connector="J1")
        page = opened(browser, f"{address}/jobs/{job}")
        settled(page)
        expect(page.locator("[data-teach=note]")).to_be_attached()
        yield line, base, job, page
        page.context.close()


def chosen(page: Page, step: str) -> None:
    """Do another step than the recommended one."""
    page.locator("#others summary").click()
    page.locator(f'#others [data-step="{step}"]').click()


def state(page: Page, text: str) -> None:
    expect(page.locator(".connection")).to_contain_text(text)


def test_a_run_that_is_typed_while_the_line_is_cut_is_recorded_once(
    tmp_path: Path, browser: Browser
) -> None:
    with over_a_line(tmp_path, browser) as (line, base, job, page):
        chosen(page, "run:J1")
        expect(page.locator(".run-point")).to_contain_text("J1.2")
        line.cut()
        state(page, "Not connected")
        hands = Hands(page)
        for pin, value in READINGS.items():
            expect(page.locator(".run-point")).to_contain_text(f"{pin},")
            hands.type(value)
            hands.press("Enter")
        hands.press("Enter")
        state(page, "1 entry is waiting")
        hands.press("Enter", 3)
        state(page, "1 entry is waiting")
        assert len(log_of(base, job)) == 2
        line.mend()
        expect(page.locator("#log li.entry")).to_have_count(3)
        state(page, "all recorded")
        settled(page)
        said = "; ".join(f"{pin} reads {value} V (diode)" for pin, value in READINGS.items())
        assert said_in(base, job)[1:] == [said]
        page.reload()
        settled(page)
        expect(page.locator("#log li.entry")).to_have_count(3)


def test_a_channel_that_falls_silent_while_somebody_looks_on_is_opened_anew(
    tmp_path: Path, browser: Browser
) -> None:
    with over_a_line(tmp_path, browser) as (line, base, job, page):
        expect(page.locator("#log li.entry")).to_have_count(2)
        line.lose_channels()
        entered(base, job, "notes", text="from the other room")
        page.wait_for_timeout(1500)
        expect(page.locator("#log li.entry")).to_have_count(2)
        expect(page.locator("#log li.entry")).to_have_count(3)
        expect(page.locator("#log")).to_contain_text("from the other room")
        state(page, "Connected")


def test_an_answer_that_is_lost_does_not_repeat_the_entry(tmp_path: Path, browser: Browser) -> None:
    with over_a_line(tmp_path, browser) as (line, base, job, page):
        chosen(page, "probe:J1.3")
        hands = Hands(page)
        expect(page.locator("#reading")).to_be_focused()
        line.mute()
        hands.type("0.120")
        hands.press("Enter")
        for _ in range(600):
            if len(log_of(base, job)) == 3:
                break
            page.wait_for_timeout(100)
        assert said_in(base, job)[1:] == ["J1.3 reads 0.120 V (diode)"]
        expect(page.locator("#log li.entry")).to_have_count(2)
        line.mend()
        expect(page.locator("#log li.entry")).to_have_count(3)
        state(page, "all recorded")
        settled(page)
        assert len(log_of(base, job)) == 3
        page.reload()
        settled(page)
        assert len(log_of(base, job)) == 3


def test_what_waits_is_sent_once_by_a_page_that_is_opened_anew(
    tmp_path: Path, browser: Browser
) -> None:
    with over_a_line(tmp_path, browser) as (line, base, job, page):
        chosen(page, "probe:J1.3")
        expect(page.locator("#reading")).to_be_focused()
        line.cut()
        state(page, "Not connected")
        hands = Hands(page)
        hands.type("0.120")
        hands.press("Enter")
        state(page, "1 entry is waiting")
        address = page.url
        page.goto("about:blank")
        line.mend()
        page.goto(address)
        expect(page.locator("#log li.entry")).to_have_count(3)
        settled(page)
        state(page, "all recorded")
        assert said_in(base, job)[1:] == ["J1.3 reads 0.120 V (diode)"]


def written(page: Page, name: str, text: str) -> None:
    """Write something where the bench is told what is known, and record it."""
    fold = page.locator(f"[data-teach={name}]")
    if not fold.evaluate("fold => fold.open"):
        fold.locator("summary").click()
    page.locator(f"#teach-{name}").fill(text)
    fold.locator(".key").click()


def remarked_while_cut(line: Line, page: Page) -> None:
    """Cut the line, and write a remark that then waits."""
    line.cut()
    state(page, "Not connected")
    written(page, "note", "a first remark")
    state(page, "1 entry is waiting")


def test_several_entries_wait_and_are_sent_once_each_in_their_order(
    tmp_path: Path, browser: Browser
) -> None:
    with over_a_line(tmp_path, browser) as (line, base, job, page):
        remarked_while_cut(line, page)
        written(page, "note", "a first remark")
        expect(page.locator("#trouble")).to_contain_text("waits already")
        written(page, "patient", "J1.2 0.450")
        state(page, "2 entries are waiting")
        hands = Hands(page)
        for count, (pin, value) in enumerate((("J1.3", "0.463"), ("J1.4", "0.498")), start=3):
            chosen(page, f"probe:{pin}")
            expect(page.locator("#reading")).to_be_focused()
            hands.type(value)
            hands.press("Enter", 2)
            state(page, f"{count} entries are waiting")
            expect(page.locator("#trouble")).to_contain_text("waits already")
        assert len(log_of(base, job)) == 2
        line.mend()
        expect(page.locator("#log li.entry")).to_have_count(6)
        state(page, "all recorded")
        settled(page)
        readings = [f"{pin} reads {value} V (diode)" for pin, value in READINGS.items()]
        assert said_in(base, job)[1:] == ["a first remark", *readings]
        expect(page.locator("#teach-note")).to_have_value("")
        expect(page.locator(".outcomes .key, .reading-form .key, .run .key").first).to_be_enabled()


def test_what_answers_what_is_shown_waits_until_that_is_known(
    tmp_path: Path, browser: Browser
) -> None:
    with over_a_line(tmp_path, browser) as (line, base, job, page):
        remarked_while_cut(line, page)
        page.locator(".last button").click()
        expect(page.locator("#trouble")).to_contain_text("is not known yet")
        state(page, "1 entry is waiting")
        line.mend()
        state(page, "all recorded")
        settled(page)
        page.locator(".last button").click()
        expect(page.locator("#log li.entry")).to_have_count(4)
        assert said_in(base, job)[1:] == []


def test_an_intake_that_is_sent_into_a_cut_line_makes_one_job(
    tmp_path: Path, browser: Browser
) -> None:
    with (
        serving(tmp_path, "--name", "127.0.0.1") as (_, base),
        lined(base) as (line, address),
    ):
        page = opened(browser, f"{address}/intake")
        page.locator("#says").fill("No picture")
        line.cut()
        page.locator("#intake .key.main").click()
        expect(page.locator("#intake-state")).to_contain_text("Not connected")
        expect(page.locator("#says")).to_have_value("No picture")
        line.mend()
        page.wait_for_url("**/jobs/*")
        settled(page)
        jobs = httpx.get(f"{base}/api/v1/jobs", timeout=60).json()["jobs"]
        assert [job["says"] for job in jobs] == ["No picture"]


def test_a_browser_that_is_offline_sends_what_it_kept_once_it_is_not(
    tmp_path: Path, browser: Browser
) -> None:
    with serving(tmp_path) as (_, base):
        job = started(base)
        entered(base, job, "pinouts", text=PINOUT, connector="J1")
        page = opened(browser, f"{base}/jobs/{job}")
        settled(page)
        chosen(page, "probe:J1.3")
        expect(page.locator("#reading")).to_be_focused()
        page.context.set_offline(True)
        hands = Hands(page)
        hands.type("0.120")
        hands.press("Enter")
        expect(page.locator(".connection")).to_contain_text("1 entry is")
        page.wait_for_timeout(2000)
        assert len(log_of(base, job)) == 2
        page.context.set_offline(False)
        expect(page.locator("#log li.entry")).to_have_count(3)
        settled(page)
        assert said_in(base, job)[1:] == ["J1.3 reads 0.120 V (diode)"]


def test_play_goes_on_after_the_server_was_killed(tmp_path: Path, browser: Browser) -> None:
    port = free_port()
    with serving(tmp_path, port=port) as (process, base):
        body = {"key": "play-00001", "pack": "courier-handheld", "name": "pending"}
        job = httpx.post(f"{base}/api/v1/play", json=body, timeout=60).json()["job"]
        page = opened(browser, f"{base}/jobs/{job}")
        entries = page.locator("#log li.entry")
        hands = Hands(page)
        settled(page)
        for count in (2, 3):
            hands.press("Enter")
            expect(entries).to_have_count(count)
            settled(page)
        before = log_of(base, job)
        process.kill()
        process.wait()
        state(page, "Not connected")
        hands.press("Enter")
        state(page, "1 entry is waiting")
    with serving(tmp_path, port=port) as (_, base):
        expect(entries).to_have_count(4)
        settled(page)
        assert log_of(base, job)[:3] == before
        for _ in range(12):
            count = entries.count()
            hands.press("Enter")
            expect(entries).not_to_have_count(count)
            settled(page)
            if page.locator("#step-title", has_text="Closed and handed over").count():
                break
        expect(page.locator("#lesson")).to_contain_text("The right repair.")
        expect(page.locator("#lesson")).to_contain_text("imaging module is bad")
