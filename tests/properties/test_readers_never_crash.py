"""Readers take any text: they return findings with lines, and never raise."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from nextprobe.board import infer_roles, sketch_from_pinout
from nextprobe.readers import read_chains, read_pins, write_chains

PIECES = st.sampled_from(
    ["J4.12", "C87", "100n", "U3.AB4", "R5 10k", "GND", ">", "|", "#", '"', ".", " ", "\t", ";",
     ",", "\n", "\r\n", "part", "net", "role", "supply", "at", "value", "implied", "board", "chip",
     "rail", "12", "0,452", "452", "OL", "gnd", "pin", "reading", "mV", "name", "U3", "D5 esd",
     "TP1", "ZZ9.1", "->", "U?J4", "-1e999", "1e-99", "²", "R0402", "NA(2k)", "\ufeff", "\x00"]
)  # fmt: skip
TEXTS = st.one_of(
    st.text(), st.lists(PIECES, max_size=40).map(" ".join), st.lists(PIECES).map("".join)
)


@given(TEXTS)
@settings(max_examples=250, deadline=None)
def test_chains_take_any_text(text: str) -> None:
    board, findings = read_chains(text)
    assert all(finding.where.line and finding.where.column for finding in findings)
    assert all(finding.remedy for finding in findings)
    assert infer_roles(board).keys() == board.nets.keys()
    write_chains(board)


@given(TEXTS, TEXTS)
@settings(max_examples=120, deadline=None)
def test_chains_are_added_to_any_sketch(pins: str, chains: str) -> None:
    pinout, _ = read_pins(pins, "J4")
    board, _ = read_chains(chains, onto=sketch_from_pinout(pinout, "sketch"))
    assert all(board.has_point(row.point) for row in pinout.rows)


@given(TEXTS)
@settings(max_examples=250, deadline=None)
def test_pinouts_take_any_text(text: str) -> None:
    pinout, findings = read_pins(text)
    assert all(finding.where.line and finding.remedy for finding in findings)
    assert all(row.line for row in pinout.rows)
    board = sketch_from_pinout(pinout, "sketch")
    assert infer_roles(board).keys() == board.nets.keys()
