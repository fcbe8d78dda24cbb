"""Logging in and out in a browser: every window of that login asks for the passphrase."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from web_driving import Browser, expect
from web_pages import WAIT, serving

from nextprobe import Job
from nextprobe.web.passphrase import keep_hash

pytestmark = pytest.mark.slow
WORDS = "three blue kettles"


def test_a_window_on_a_job_goes_to_the_login_when_another_logs_out(
    tmp_path: Path, browser: Browser
) -> None:
    file = tmp_path / "words"
    keep_hash(file, WORDS)
    job = Job.start(template="camera", device="Brindle 4", store=tmp_path).job_id
    context = browser.new_context()
    context.set_default_timeout(WAIT)
    with serving(tmp_path, "--passphrase-file", str(file)) as (_, base):
        page = context.new_page()
        page.goto(f"{base}/jobs/{job}")
        page.wait_for_url(re.compile("/login"))
        page.locator("#passphrase").fill(WORDS)
        page.keyboard.press("Enter")
        page.wait_for_url(f"{base}/jobs/{job}")
        expect(page.locator("#step")).not_to_have_attribute("aria-busy", "true")
        other = context.new_page()
        other.goto(base)
        expect(other.locator("#jobs")).to_contain_text("Brindle 4")
        other.locator("#log-out").click()
        other.wait_for_url(re.compile("/login"))
        page.wait_for_url(re.compile("/login"))
