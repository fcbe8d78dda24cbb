"""The page on a job from a complaint alone: its commands work, and say what the page says."""

from __future__ import annotations

import importlib.util
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "bare-start.md"


@pytest.fixture(scope="module")
def tool() -> Iterator[ModuleType]:
    spec = importlib.util.spec_from_file_location(
        "write_bare_start", ROOT / "tools" / "write_bare_start.py"
    )
    assert spec is not None and spec.loader is not None
    with pytest.MonkeyPatch.context() as patch:
        module = importlib.util.module_from_spec(spec)
        patch.setitem(sys.modules, spec.name, module)
        spec.loader.exec_module(module)
        yield module


@pytest.fixture(scope="module")
def answers(tool: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    with tool.bench(tmp_path_factory.mktemp("jobs")):
        found = {entry.command: tool.answer(entry) for entry in tool.ENTRIES}
        for command in ("compare", "suspects", "next"):
            found[command] = tool.answer(tool.Entry("", f"nextprobe {command} --json"))
    return found


def test_every_command_answers(tool: ModuleType, answers: dict[str, str]) -> None:
    assert all(answers[entry.command].strip() for entry in tool.ENTRIES)


def test_the_page_shows_these_commands_in_this_order(tool: ModuleType) -> None:
    typed = [line[2:] for line in PAGE.read_text("utf-8").splitlines() if line.startswith("$ ")]
    assert typed == [entry.command for entry in tool.ENTRIES]


def test_the_odd_pin_comes_first_of_five(answers: dict[str, str]) -> None:
    found: list[dict[str, Any]] = json.loads(answers["compare"])["differences"]
    assert len(found) == 5
    assert (found[0]["point"], found[0]["kind"]) == ("J1.6", "lower")
    assert {item["kind"] for item in found[1:]} == {"alike"}


def test_one_chain_names_the_part_and_the_next_step_is_about_it(answers: dict[str, str]) -> None:
    suspects = json.loads(answers["suspects"])["suspects"]
    assert suspects[0]["key"] == "leaky:D9"
    assert suspects[0]["probability"] > 0.5
    assert json.loads(answers["next"])["steps"][0]["id"].endswith(":D9")


def test_a_comparison_within_two_minutes_of_typing(tool: ModuleType) -> None:
    lines, keystrokes = tool.sum_of((*tool.FIRST_VALUE, *tool.COMPARED))
    assert 60.0 * keystrokes / tool.KEYSTROKES_A_MINUTE <= 120.0
    assert f"{lines} lines and {keystrokes} keystrokes" in PAGE.read_text("utf-8")


def test_keystrokes_count_the_keys_that_end_lines_and_text(tool: ModuleType) -> None:
    assert tool.Entry("", "ab").keystrokes == 3
    assert tool.Entry("", "ab", "1 x\n2 y\n").keystrokes == 3 + 8 + 1
    assert tool.Entry("", "ab", "1 x\n2 y\n").typed == 3


@pytest.mark.slow
def test_the_page_is_up_to_date(tool: ModuleType) -> None:
    advice = "run: python tools/write_bare_start.py"
    assert tool.page() == PAGE.read_text("utf-8"), advice
