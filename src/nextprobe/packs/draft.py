"""The text of a ``device.yaml`` to start from; each guess in it says that it is one."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from nextprobe.packs.draft_functions import Proposal

_PLAIN = re.compile(r"[A-Za-z][A-Za-z0-9_]*(?: [A-Za-z][A-Za-z0-9_]*)*")
_WORDS_OF_YAML = frozenset({"true", "false", "null", "yes", "no", "on", "off"})


def draft_text(name: str, functions: Sequence[Proposal], board_file: str = "") -> str:
    """Return a pack as text.

    Parameters
    ----------
    name : str
        What the device is called.
    functions : sequence of Proposal
        At least one.
    board_file : str
        Where the guesses came from; empty where there is no board.
    """
    lines = [*_opening(board_file), "device:", f"  name: {_text(name)}", "", "functions:"]
    for function in functions:
        lines.extend(_function(function))
    placed = [function for function in functions if function.connector is not None]
    if placed:
        lines += ["", "modules:"]
        for function in placed:
            lines.extend(_module(function))
    return "\n".join(lines) + "\n"


def smallest_text(name: str, function: str, kind: str) -> str:
    """Return the smallest pack: a name and one function."""
    return f"device: {{name: {_text(name)}}}\nfunctions: {{{_text(function)}: {{class: {kind}}}}}\n"


def _opening(board_file: str) -> Iterator[str]:
    if board_file:
        yield f"# Drafted from {_line(board_file)}. What is marked as a guess was read from names"
        yield "# and neighbours: check it, put it right, and delete the mark."
    yield "# What is not said here comes from the templates: see docs/packs.md."


def _function(function: Proposal) -> Iterator[str]:
    yield f"  {_text(function.name)}:"
    yield f"    class: {function.kind.value}{_mark(function, 'class')}"
    if function.connector is None:
        return
    yield "    needs:"
    yield f"      modules: [{_text(function.module)}]"
    if function.chips:
        yield f"      chips: {_list(function.chips)}{_mark(function, 'chips')}"
    if function.rails:
        rails = [_exactly(net) for net in function.rails]
        yield f"      rails: {_list(rails)}{_mark(function, 'rails')}"


def _module(function: Proposal) -> Iterator[str]:
    yield f"  {_text(function.module)}:"
    yield f"    connector: {_text(function.connector or '')}{_mark(function, 'connector')}"


def _mark(function: Proposal, field: str) -> str:
    reason = function.reasons.get(field)
    return f"  # guess: {_line(reason)}" if reason else ""


def _line(words: str) -> str:
    return "".join(letter if letter.isprintable() else " " for letter in words)


def _list(words: Iterable[str]) -> str:
    return f"[{', '.join(map(_text, words))}]"


def _text(words: str) -> str:
    """Return words as YAML; in quotes unless they are plain letters."""
    plain = _PLAIN.fullmatch(words) and words.lower() not in _WORDS_OF_YAML
    return words if plain else f'"{"".join(map(_letter, words))}"'


def _letter(letter: str) -> str:
    """Return a letter as it stands in double quotes (YAML 1.2.2, 5.7)."""
    if letter in '"\\':
        return f"\\{letter}"
    return letter if " " <= letter <= "~" else f"\\U{ord(letter):08X}"


def _exactly(net: str) -> str:
    """Return the pattern that only this name of a net fits."""
    return re.sub(r"([*?[])", r"[\1]", net)
