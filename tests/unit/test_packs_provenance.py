"""Layers of plain data and where each value came from."""

from __future__ import annotations

from nextprobe.packs.provenance import Layer, merge_layers


def test_later_layers_win_and_say_so() -> None:
    below = Layer({"a": {"x": 1, "y": 2}, "b": [1, 2]}, "below")
    above = Layer({"a": {"y": 3}, "b": [4]}, "above", {"a.y": 7})
    merged, origins = merge_layers([below, above])
    assert merged == {"a": {"x": 1, "y": 3}, "b": [4]}
    assert origins == {"a.x": "below", "a.y": "above, line 7", "b": "above"}


def test_an_empty_entry_takes_nothing_away() -> None:
    merged, origins = merge_layers([Layer({"a": {"x": 1}}, "below"), Layer({"a": None}, "above")])
    assert merged == {"a": {"x": 1}}
    assert origins == {"a.x": "below"}


def test_a_value_in_place_of_a_mapping_forgets_what_was_below() -> None:
    merged, origins = merge_layers([Layer({"a": {"x": 1}}, "below"), Layer({"a": 5}, "above")])
    assert merged == {"a": 5}
    assert origins == {"a": "above"}


def test_layers_are_left_as_they_were() -> None:
    below = {"a": {"x": 1}}
    merge_layers([Layer(below, "below"), Layer({"a": {"x": 2}}, "above")])
    assert below == {"a": {"x": 1}}
