"""A reader of S-expressions that skips, at the speed of a regular expression, what nobody wants.

The notation is that of KiCad's file formats ("S-Expression Format", KiCad developer
documentation): lists in parentheses, words, and strings in double quotes with backslash escapes.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from nextprobe.errors import Finding, Severity, Where
from nextprobe.readers.kicad.forms import Form

Wanted = Mapping[str, "Wanted"]
"""Names of the forms to keep within a form, each with what to keep within it."""

Progress = Callable[[float], None]
"""Is told now and then what share of the work is done [1]."""

_STRING = r'"(?:[^"\\]++|\\.)*+"'
_TOKEN = re.compile(rf'\s*+(?:\(\s*+([^\s()"]*+)|(\))|({_STRING})|([^\s()"]++)|(.))', re.DOTALL)
_OPENS, _CLOSES, _QUOTED, _WORD = 1, 2, 3, 4
_INSIDE = rf'(?:[^()"]++|{_STRING})*+'
_SKIPPED = re.compile(rf'(?:[^()"]++|{_STRING}|\({_INSIDE}\)(?!\w))*+', re.DOTALL)
_ESCAPE = re.compile(r"\\(.)", re.DOTALL)
_ESCAPED = {"n": "\n", "t": "\t", "r": "\r"}
_PARENTHESIS = re.compile(rf"{_STRING}|([()])", re.DOTALL)
_EVERY = 1 << 20


class _EndError(Exception):
    """The text ends too early, at a place."""

    def __init__(self, at: int) -> None:
        self.at = at


@dataclass
class Expressions:
    """The forms of one text.

    Parameters
    ----------
    text : str
        Any text.
    source : str
        What findings call it.
    progress : callable, optional
        Told the share of the text that has been read.
    findings : list of Finding
        What is wrong with the text; filled while it is read.
    """

    text: str
    source: str
    progress: Progress | None = None
    findings: list[Finding] = field(default_factory=list)
    _lost: int | None = None
    _recovered: list[int] = field(default_factory=list)
    _told: int = 0
    _ends: list[int] | None = None

    def line(self, at: int) -> int:
        """Return the line of a place in the text, counted from 1."""
        if self._ends is None:
            self._ends = [match.start() for match in re.finditer("\n", self.text)]
        return bisect_left(self._ends, at) + 1

    def complain(
        self, what: str, at: int, remedy: str, severity: Severity = Severity.ERROR, name: str = ""
    ) -> None:
        """Add a finding about a place in the text."""
        where = Where(self.source, self.line(at), name=name or None)
        self.findings.append(Finding(what, where, remedy, severity))

    def root(self) -> str | None:
        """Return the name of the outermost form; None if the text is no S-expression."""
        match = _TOKEN.match(self.text)
        return match[1] if match is not None and match.lastindex == _OPENS else None

    def top_forms(self, wanted: Wanted) -> Iterator[Form]:
        """Yield the wanted forms within the outermost one, each as soon as it is complete.

        Everything that is wrong becomes a finding; a form that does not end is left out.
        """
        match = _TOKEN.match(self.text)
        if match is None or match.lastindex != _OPENS:
            self.complain("this is no S-expression", 0, "choose a file that was saved by KiCad")
            return
        at = match.end()
        try:
            while True:
                form, at = self._next(at, wanted)
                if form is None:
                    break
                if form.name in wanted:
                    yield form
                self._tell(at)
            self._look_behind(at)
        except _EndError as end:
            self._ended(end.at)
        self._say_recovered()

    def _next(self, at: int, wanted: Wanted) -> tuple[Form | None, int]:
        """Return the next wanted form at the top, and the place after it."""
        text, match_at = self.text, _TOKEN.match
        while True:
            match = match_at(text, at)
            if match is None:
                raise _EndError(at)
            kind, at = match.lastindex, match.end()
            if kind == _CLOSES:
                return None, at
            if kind == _OPENS:
                if match[1] not in wanted:
                    return Form("", at), self._skip(at, match.start())
                return self._form(match[1], at, wanted[match[1]])
            if kind == _WORD and self._is_glued(match):
                return Form("", at), self._skip(at, match.start())
            if kind not in (_QUOTED, _WORD):
                raise _EndError(match.start())

    def _form(self, name: str, at: int, wanted: Wanted) -> tuple[Form, int]:
        """Read a form whose name has been read, without recursion."""
        text, match_at = self.text, _TOKEN.match
        form = Form(name, at)
        above: list[tuple[Form, Wanted]] = []
        while True:
            match = match_at(text, at)
            if match is None:
                raise _EndError(form.start)
            kind, at = match.lastindex, match.end()
            if kind == _WORD and not self._is_glued(match):
                form.atoms.append(match[4])
            elif kind == _QUOTED:
                form.atoms.append(unquoted(match[3]))
            elif kind in (_OPENS, _WORD):
                word = match[1] if kind == _OPENS else match[4]
                if word not in wanted:
                    at = self._skip(at, form.start)
                    continue
                above.append((form, wanted))
                form, wanted = Form(word, match.start()), wanted[word]
            elif kind == _CLOSES:
                if not above:
                    return form, at
                inner = form
                form, wanted = above.pop()
                form.forms.append(inner)
            else:
                raise _EndError(match.start())

    def _skip(self, at: int, start: int) -> int:
        """Return the place after a form of which only the name has been read."""
        depth = 1
        skipped = _SKIPPED.match
        while depth:
            match = skipped(self.text, at)
            at = match.end() if match is not None else at
            found = self.text[at : at + 1]
            if found not in ("(", ")"):
                raise _EndError(start if not found else at)
            depth += 1 if found == "(" else -1
            at += 1
            if found == ")" and self.text[at : at + 1].isalnum() and self._may_be_lost(at):
                depth += 1
        return at

    def _is_glued(self, match: re.Match[str]) -> bool:
        """Whether a word stands right behind a parenthesis, because its own was lost."""
        at = match.start(4)
        return self.text[at - 1] == ")" and self._may_be_lost(at)

    def _may_be_lost(self, at: int) -> bool:
        if self._lost is None:
            signs = [match[1] for match in _PARENTHESIS.finditer(self.text) if match[1]]
            self._lost = signs.count(")") - signs.count("(")
        if len(self._recovered) >= self._lost:
            return False
        self._recovered.append(at)
        return True

    def _tell(self, at: int) -> None:
        if self.progress is not None and at - self._told >= _EVERY:
            self._told = at
            self.progress(at / len(self.text))

    def _look_behind(self, at: int) -> None:
        rest = _TOKEN.match(self.text, at)
        if rest is not None:
            what = "the text goes on after its outermost form has ended; the rest is not read"
            self.complain(what, rest.end() - 1, "save the file again with KiCad", Severity.WARNING)

    def _ended(self, at: int) -> None:
        found = self.text[at : at + 1]
        if found == '"':
            what = "a string that starts here does not end; the rest is not read"
        else:
            what = "the file ends within what starts here; that is left out"
        self.complain(what, at, "the file may have been cut off: fetch it again")

    def _say_recovered(self) -> None:
        if self._recovered:
            what = f"{len(self._recovered)} opening parentheses are missing, the first one here"
            remedy = "nothing is lost by it; save the file again with KiCad to mend it"
            self.complain(what, self._recovered[0], remedy, Severity.WARNING)


def unquoted(text: str) -> str:
    """Return what a quoted string says."""
    bare = text[1:-1]
    if "\\" not in bare:
        return bare
    return _ESCAPE.sub(lambda match: _ESCAPED.get(match[1], match[1]), bare)
