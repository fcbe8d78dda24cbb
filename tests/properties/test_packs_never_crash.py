"""A pack takes any text and any data: it returns findings and never raises."""

from __future__ import annotations

import copy
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from nextprobe.packs import Pack, pack_hash, resolve
from nextprobe.packs.yaml_text import read_yaml
from nextprobe.readers.known_good import read_known_good
from nextprobe.readers.pack_folder import demo_pack_folder

DEMO = (demo_pack_folder() / "device.yaml").read_text(encoding="utf-8")
PIECES = st.sampled_from(
    ["device", "functions", "camera", ": ", ":", "{", "}", "[", "]", "\n", "\n  ", "- ", "class",
     "name", "X", "&a", "*a", "!!str", "!", "5", "5 min", ".nan", "1e999", "null", "~", "'", '"',
     "#", "|", ">", "%", "\t", "---", "...", "? ", "<<", '"\\ud800"', "\ufeff", "\x85"]
)  # fmt: skip
TEXTS = st.one_of(st.text(), st.lists(PIECES, max_size=40).map("".join))
VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from(["camera", "open", "module-bad:imaging", "J4", "drop"]),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3)
    ),
    max_leaves=6,
)


@given(TEXTS)
@settings(max_examples=400)
def test_any_text_is_read(text: str) -> None:
    read = read_yaml(text, "device.yaml")
    assert all(finding.remedy for finding in read.findings)
    pack, findings = resolve(read.data, "device.yaml", read.lines)
    assert pack is not None or findings


def _paths(data: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    children: list[tuple[Any, Any]] = []
    if isinstance(data, dict):
        children = list(data.items())
    elif isinstance(data, list):
        children = list(enumerate(data))
    own = [path] if path else []
    return own + [deep for key, value in children for deep in _paths(value, (*path, key))]


DATA = read_yaml(DEMO, "device.yaml").data
PATHS = _paths(DATA)


@given(st.sampled_from(PATHS), VALUES)
@settings(max_examples=400)
def test_any_value_anywhere_in_the_demo_pack(path: tuple[Any, ...], value: Any) -> None:
    data = copy.deepcopy(DATA)
    inner = data
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = value
    pack, findings = resolve(data, "device.yaml")
    if pack is None:
        assert findings
        assert all(finding.what and finding.remedy for finding in findings)
    else:
        assert Pack.model_validate_json(pack.model_dump_json()) == pack
        assert len(pack_hash(pack)) == 64


@given(TEXTS)
@settings(max_examples=300)
def test_any_table_of_known_good_readings(text: str) -> None:
    for heading in ("", "point,reading\n", "point;mode;reading;boards;source\n"):
        rows, findings = read_known_good(heading + text)
        assert all(finding.remedy for finding in findings)
        assert all(row.boards >= 1 for row in rows)
