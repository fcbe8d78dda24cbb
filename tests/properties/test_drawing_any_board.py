"""A map is well-formed XML whatever the names, places and sizes on a board."""

from __future__ import annotations

from xml.etree import ElementTree

from hypothesis import given, settings
from hypothesis import strategies as st

from nextprobe.board import Board, Pad, Part, PartKind, Pin, Role, Side
from nextprobe.drawing import board_map
from nextprobe.drawing.board_map import joined
from nextprobe.drawing.frame import box_of
from nextprobe.drawing.svg import text_of
from nextprobe.errors import MisuseError

WORDS = st.text(min_size=1, max_size=12)
LENGTHS = st.floats(-0.3, 0.3) | st.floats(allow_nan=True, allow_infinity=True)
POINTS = st.tuples(LENGTHS, LENGTHS)
SIZES = st.floats(1e-4, 5e-3) | st.floats(allow_nan=True, allow_infinity=True)
PADS = st.builds(
    Pad, POINTS, st.tuples(SIZES, SIZES), st.sampled_from(Side), LENGTHS, st.booleans()
)
PATHS = st.lists(POINTS, max_size=5).map(tuple)


@st.composite
def boards(draw: st.DrawFn) -> Board:
    nets = draw(st.lists(WORDS, min_size=1, max_size=4, unique=True))
    names = draw(st.lists(WORDS.filter(lambda w: "." not in w), max_size=5, unique=True))
    parts = []
    for name in names:
        pins = tuple(
            Pin(str(i), draw(st.sampled_from(nets)), None, draw(WORDS), (draw(PADS),))
            for i in range(draw(st.integers(1, 3)))
        )
        parts.append(
            Part(
                name,
                draw(st.sampled_from(PartKind)),
                pins,
                note=draw(WORDS),
                fitted=draw(st.booleans()),
                side=draw(st.sampled_from([None, *Side])),
                outline=draw(PATHS),
            )
        )
    known = {net: draw(st.sampled_from(Role)) for net in nets}
    return Board(draw(WORDS), tuple(parts), known, tuple(draw(st.lists(PATHS, max_size=3))))


@settings(max_examples=60, deadline=None)
@given(boards(), st.data())
def test_any_board_gives_well_formed_svg(board: Board, data: st.DataObject) -> None:
    choices = [None, *board.nets, *board.by_reference]
    highlight = data.draw(st.sampled_from(choices))
    if box_of(board, 1e-3) is None:
        return
    root = ElementTree.fromstring(board_map(board, highlight))
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert all(float(each) < 1e5 for each in root.attrib["viewBox"].split())
    title = root.find("{http://www.w3.org/2000/svg}title")
    assert title is not None and title.text is not None


@given(st.text(max_size=40))
def test_words_stand_as_they_are_but_for_what_xml_forbids(words: str) -> None:
    read = ElementTree.fromstring(
        f"<a b='{text_of(words)}'>x{text_of(words)}</a>".replace("\r", "")
    )
    kept = words.replace("\r", "")
    if all(letter.isprintable() or letter in "\t\n" for letter in kept):
        assert (read.text or "")[1:] == kept


@given(st.integers(3, 9), st.randoms())
def test_an_edge_in_pieces_is_put_together(count: int, random: object) -> None:
    corners = [(1e-2 * i, 1e-3 * i * i) for i in range(count)]
    pieces = [(corners[i], corners[(i + 1) % count]) for i in range(count)]
    random.shuffle(pieces)  # type: ignore[attr-defined]
    whole = joined([piece if i % 2 else piece[::-1] for i, piece in enumerate(pieces)])
    assert len(whole) == 1
    assert whole[0][0] == whole[0][-1]
    assert set(whole[0]) == set(corners)


def test_a_board_without_places_has_no_map() -> None:
    board = Board("b", (Part("R1", PartKind.RESISTOR, (Pin("1", "A"), Pin("2", "B"))),))
    try:
        board_map(board)
    except MisuseError as error:
        assert "no map" in str(error)
    else:
        raise AssertionError("a map of nothing")
