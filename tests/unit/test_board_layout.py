"""Layouts of boards are kept for as long as the boards are asked for, and never mixed up."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from threading import Thread
from weakref import ref

import pytest

from nextprobe.board import Board, Part, PartKind, Pin
from nextprobe.web import board_layout
from nextprobe.web.board_layout import Layout, layout_of


@pytest.fixture(autouse=True)
def _fresh() -> Iterator[None]:
    kept = dict(board_layout._kept)
    board_layout._kept.clear()
    yield
    board_layout._kept.clear()
    board_layout._kept.update(kept)


def board(pins: int = 2, net: str = "VSYS") -> Board:
    numbers = [Pin(str(number + 1), net) for number in range(pins)]
    return Board("tray", (Part("J1", PartKind.CONNECTOR, tuple(numbers)),))


def test_a_board_that_is_asked_for_again_has_the_same_layout() -> None:
    one = board()
    first = layout_of(one)
    assert first.board is one
    assert layout_of(one) is first


def test_equal_boards_have_layouts_of_their_own() -> None:
    one, other = board(), board()
    assert one == other
    assert layout_of(one) is not layout_of(other)
    assert layout_of(one).key == layout_of(other).key
    assert layout_of(one).key != layout_of(board(pins=3)).key


def test_the_boards_that_were_asked_for_last_are_kept() -> None:
    often, *others = boards = [board() for _ in range(board_layout._KEPT + 8)]
    first = layout_of(often)
    for each in others:
        layout_of(each)
        assert layout_of(often) is first
    assert len(board_layout._kept) == board_layout._KEPT
    kept = {id(each.board) for each in board_layout._kept.values()}
    newest = boards[-board_layout._KEPT + 1 :]
    assert kept == {id(often), *(id(each) for each in newest)}


def test_a_board_is_let_go_once_others_are_asked_for() -> None:
    gone = board()
    layout_of(gone)
    watched = ref(gone)
    del gone
    gc.collect()
    assert watched() is not None
    for _ in range(board_layout._KEPT):
        layout_of(board())
    gc.collect()
    assert watched() is None


def test_a_number_that_was_another_board_s_gives_no_wrong_layout() -> None:
    one, other = board(net="VSYS"), board(net="VDD18")
    board_layout._kept[id(one)] = Layout(other)
    assert layout_of(one).board is one
    assert [net for _, _, net, _ in layout_of(one).pads] == ["VSYS", "VSYS"]


def test_threads_get_layouts_of_their_own_boards() -> None:
    wrong: list[Board] = []

    def asking(mine: Board) -> None:
        for _ in range(200):
            if layout_of(mine).board is not mine:
                wrong.append(mine)

    threads = [Thread(target=asking, args=(board(),)) for _ in range(30)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not wrong
    assert len(board_layout._kept) <= board_layout._KEPT
