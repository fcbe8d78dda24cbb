"""YAML that people type: plain data with line numbers, and a finding for every mistake.

Scalars follow the core schema of YAML 1.2.2 (10.3.2), so that ``no`` and ``12:30`` stay text.
Anchors, aliases and tags are refused: a pack has no use for them, and they can hide harm.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import yaml

from nextprobe.errors import Finding, Where

MAX_CHARACTERS = 1_000_000
MAX_DEPTH = 24

_NULL = re.compile(r"~|null|Null|NULL|")
_BOOL = re.compile(r"true|True|TRUE|false|False|FALSE")
_INT = {
    10: re.compile(r"[-+]?[0-9]{1,300}"),
    8: re.compile(r"0o[0-7]{1,300}"),
    16: re.compile(r"0x[0-9a-fA-F]{1,300}"),
}
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]{1,3})?")
_INFINITE = re.compile(r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)")


@dataclass(frozen=True)
class YamlText:
    """What a text says.

    Parameters
    ----------
    data : dict
        Plain data; empty if the text could not be read.
    lines : dict of str to int
        Line, counted from 1, of each dotted path.
    findings : tuple of Finding
        Everything that is wrong with the text as YAML.
    """

    data: dict[str, Any]
    lines: dict[str, int]
    findings: tuple[Finding, ...] = ()


def read_yaml(text: str, source: str) -> YamlText:
    """Read a YAML mapping.

    Parameters
    ----------
    text : str
        The whole text.
    source : str
        File name for the findings.

    Returns
    -------
    YamlText
        Data, lines and findings; never raises on bad text.
    """
    if len(text) > MAX_CHARACTERS:
        what = f"the file has {len(text)} characters, more than {MAX_CHARACTERS}"
        return YamlText({}, {}, (Finding(what, Where(source), "split it or cut it down"),))
    try:
        refusals = tuple(_refusals(text, source))
        node = None if refusals else yaml.compose(text, Loader=yaml.SafeLoader)
    except (yaml.YAMLError, ValueError, OverflowError) as error:
        return YamlText({}, {}, (_syntax(error, source),))
    if refusals:
        return YamlText({}, {}, refusals)
    if node is None:
        return YamlText({}, {}, (Finding("the file is empty", Where(source), _SMALLEST),))
    if not isinstance(node, yaml.MappingNode):
        where = Where(source, node.start_mark.line + 1)
        return YamlText({}, {}, (Finding("a list of 'name: value' is needed", where, _SMALLEST),))
    builder = _Builder(source)
    data = builder.mapping(node, "")
    return YamlText(data, builder.lines, tuple(builder.findings))


_SMALLEST = "the smallest pack says 'device: {name: X}' and 'functions: {camera: {class: camera}}'"


def _refusals(text: str, source: str) -> Iterator[Finding]:
    depth = 0
    for event in yaml.parse(text, Loader=yaml.SafeLoader):
        where = _spot(source, event.start_mark)
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
        elif isinstance(event, yaml.CollectionEndEvent):
            depth -= 1
        if depth > MAX_DEPTH:
            yield Finding(f"nested more than {MAX_DEPTH} deep", where, "close the brackets")
            return
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            yield Finding("anchors and aliases (& and *) are not read", where, _QUOTE)
        elif tag := getattr(event, "tag", None):
            yield Finding(f"the tag {tag} is not read", where, _QUOTE)
        elif _HALF.search(getattr(event, "value", None) or ""):
            yield Finding("half a character (a lone surrogate) stands here", where, "retype it")


_HALF = re.compile("[\ud800-\udfff]")
_QUOTE = "write the value out, or in quotes if it is text"


def _spot(source: str, mark: Any) -> Where:
    return Where(source) if mark is None else Where(source, mark.line + 1, mark.column + 1)


def _syntax(error: Exception, source: str) -> Finding:
    mark = getattr(error, "problem_mark", None)
    what = getattr(error, "problem", None) or getattr(error, "reason", None) or str(error)
    where = _spot(source, mark)
    remedy = "check the indentation, the colons and the quotes of this line and the one above"
    return Finding(f"this is not YAML: {what}", where, remedy)


class _Builder:
    def __init__(self, source: str) -> None:
        self.source = source
        self.lines: dict[str, int] = {}
        self.findings: list[Finding] = []

    def mapping(self, node: yaml.MappingNode, path: str) -> dict[str, Any]:
        result: dict[str, Any] = {}
        for key_node, value_node in node.value:
            line = key_node.start_mark.line + 1
            if not isinstance(key_node, yaml.ScalarNode):
                where = Where(self.source, line, name=path or None)
                self.findings.append(Finding("a list can not be a name", where, "use one word"))
                continue
            key = key_node.value
            child = f"{path}.{key}" if path else key
            if key in result:
                self._duplicate(key, child, line)
                continue
            self.lines[child] = line
            result[key] = self.value(value_node, child)
        return result

    def _duplicate(self, key: str, path: str, line: int) -> None:
        what = f"'{key}' is given twice, first on line {self.lines[path]}"
        where = Where(self.source, line, name=path)
        self.findings.append(Finding(what, where, "keep one of them"))

    def value(self, node: yaml.Node, path: str) -> Any:
        if isinstance(node, yaml.MappingNode):
            return self.mapping(node, path)
        if isinstance(node, yaml.SequenceNode):
            return [self._item(child, f"{path}.{i}") for i, child in enumerate(node.value)]
        return _scalar(node)

    def _item(self, node: yaml.Node, path: str) -> Any:
        self.lines[path] = node.start_mark.line + 1
        return self.value(node, path)


def _scalar(node: yaml.Node) -> str | int | float | bool | None:
    text: str = node.value
    if node.style is not None:  # type: ignore[attr-defined]
        return text
    if _NULL.fullmatch(text):
        return None
    if _BOOL.fullmatch(text):
        return text.lower() == "true"
    return _number(text)


def _number(text: str) -> str | int | float:
    for base, pattern in _INT.items():
        if pattern.fullmatch(text):
            return int(text, base)
    if _INFINITE.fullmatch(text):
        return float(text.replace(".", "", 1))
    return float(text) if _FLOAT.fullmatch(text) else text
