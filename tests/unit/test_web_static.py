"""Scripts and styles come packed, under a name that stands for their content."""

from __future__ import annotations

import gzip
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from web_bench import Bench, served

from nextprobe.web.static_files import STATIC, scripts_of, static_address, static_files

PAGES = ("/", "/intake", "/packs", "/login", "/jobs/x")


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with served(tmp_path) as found:
        yield found


def test_a_file_is_kept_for_good_and_comes_packed(bench: Bench) -> None:
    answer = bench.client.get(static_address("bench.js"))
    assert "immutable" in answer.headers["cache-control"]
    assert answer.headers["content-encoding"] == "gzip"
    assert answer.headers["content-type"].startswith("text/javascript")
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.content == static_files()["bench.js"].plain
    assert len(static_files()["bench.js"].packed) < len(answer.content) / 2


@pytest.mark.parametrize("name", sorted(static_files()))
def test_only_lines_of_comments_are_left_out(name: str) -> None:
    written = (STATIC / name).read_text("utf-8").split("\n")
    came = static_files()[name].plain.decode().split("\n")
    assert len(came) == len(written)
    within = False
    for line, sent in zip(written, came, strict=True):
        text = line.strip()
        within = within or text.startswith("/*")
        if sent != line:
            assert sent == "" and (within or text.startswith("//")), line
        within = within and "*/" not in text


def test_comments_are_not_sent() -> None:
    sent = static_files()["bench.js"].plain
    assert b"// The bench of one job" not in sent
    assert b"\n  /** What stands below, once" not in sent
    assert len(sent) < len((STATIC / "bench.js").read_bytes())


def test_who_takes_nothing_packed_gets_it_plain(bench: Bench) -> None:
    answer = bench.client.get(static_address("theme.css"), headers={"accept-encoding": "identity"})
    assert "content-encoding" not in answer.headers
    assert answer.content == static_files()["theme.css"].plain


@pytest.mark.parametrize("address", ["/static/bench.js", "/static/0123456789ab/bench.js"])
def test_under_another_name_it_is_asked_for_again(bench: Bench, address: str) -> None:
    answer = bench.client.get(address)
    assert answer.headers["cache-control"] == "no-cache"
    assert answer.content == static_files()["bench.js"].plain
    known = bench.client.get(address, headers={"if-none-match": answer.headers["etag"]})
    assert (known.status_code, known.content) == (304, b"")


@pytest.mark.parametrize(
    "place", ["moon.js", "", "%2e%2e/app.py", "../app.py", "a/b/bench.js", "x/../../app.py"]
)
def test_nothing_else_is_sent(bench: Bench, place: str) -> None:
    assert bench.client.get(f"/static/{place}").status_code == 404


@pytest.mark.parametrize("page", PAGES)
def test_a_page_names_files_that_are_there(bench: Bench, page: str) -> None:
    found = re.findall(r'(?:href|src)="(/static/[^"]+)"', bench.client.get(page).text)
    assert len(found) > 3
    for address in found:
        assert "immutable" in bench.client.get(address).headers["cache-control"], address


def test_a_page_that_can_not_hold_scripts_has_the_policy_on_its_pictures(bench: Bench) -> None:
    assert "content-security-policy" in bench.client.get(static_address("sign.svg")).headers


def test_the_scripts_of_the_bench_are_all_that_it_imports() -> None:
    found = scripts_of("bench.js")
    assert found[0] == "bench.js" and len(set(found)) == len(found)
    assert {"step.js", "run-sheet.js", "live.js"} <= set(found)
    assert "teach.js" not in found
    for name in found:
        text = (STATIC / name).read_text("utf-8")
        assert set(re.findall(r'from "\./([\w-]+\.js)"', text)) <= set(found)


def test_what_is_packed_is_what_is_plain() -> None:
    for file in static_files().values():
        assert gzip.decompress(file.packed) == file.plain
