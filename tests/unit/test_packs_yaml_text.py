"""YAML that people type: data, lines, and a finding for every mistake."""

from __future__ import annotations

import pytest

from nextprobe.packs.yaml_text import MAX_CHARACTERS, read_yaml


def test_lines_are_counted_from_one_and_lists_have_theirs() -> None:
    read = read_yaml("a: 1\nb:\n  c: [x,\n   y]\n", "t")
    assert read.findings == ()
    assert read.data == {"a": 1, "b": {"c": ["x", "y"]}}
    assert read.lines == {"a": 1, "b": 2, "b.c": 3, "b.c.0": 3, "b.c.1": 4}


def test_words_that_older_yaml_bends_stay_text() -> None:
    read = read_yaml("a: no\nb: 12:30\nc: 2024-02-30\noff: on\nd: 1_000\n", "t")
    assert read.data == {"a": "no", "b": "12:30", "c": "2024-02-30", "off": "on", "d": "1_000"}


def test_quoted_numbers_stay_text() -> None:
    assert read_yaml("a: '5'\nb: \"true\"\n", "t").data == {"a": "5", "b": "true"}


@pytest.mark.parametrize(
    ("text", "says", "line"),
    [
        ("a: 1\nb: 2\na: 3\n", "'a' is given twice, first on line 1", 3),
        ("a:\n  b: 1\n  b: 2\n", "'b' is given twice, first on line 2", 3),
        ("a: &x 1\nb: *x\n", "anchors and aliases", 1),
        ("x: !!python/object:os.system y\n", "the tag", 1),
        ("a: 1\n b: 2\n", "this is not YAML", 2),
        ("a: [1, 2\n", "this is not YAML", 2),
        ("a: " + "[" * 1000, "nested more than", 1),
        ("- a\n- b\n", "a list of 'name: value' is needed", 1),
        ("? [a]\n: 1\n", "a list can not be a name", 1),
        ("a: 1\n---\nb: 2\n", "another document", 2),
        ("", "the file is empty", None),
        ("# nothing but a comment\n", "the file is empty", None),
        ("\x00", "this is not YAML", None),
        ('a: "\\ud800"\n', "half a character", 1),
        ('a: "\\Uffffffff"\n', "this is not YAML", None),
        ("a: 1\n" + "#" * MAX_CHARACTERS, "characters, more than", None),
    ],
)
def test_each_mistake_is_a_finding_with_its_line(text: str, says: str, line: int | None) -> None:
    findings = read_yaml(text, "device.yaml").findings
    assert any(says in finding.what for finding in findings), [str(f) for f in findings]
    finding = next(f for f in findings if says in f.what)
    assert finding.where.source == "device.yaml"
    assert finding.where.line == line
    assert finding.remedy


def test_aliases_that_multiply_are_refused_before_they_grow() -> None:
    lines = ["a0: &a0 [x, x]"]
    lines += [f"a{i}: &a{i} [*a{i - 1}, *a{i - 1}]" for i in range(1, 20)]
    read = read_yaml("\n".join(lines), "t")
    assert read.data == {}
    assert read.findings
