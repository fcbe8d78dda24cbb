"""Forms of an S-expression: ``(pad "1" smd rect (at 0 1.5 90))``."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import isfinite


@dataclass(slots=True)
class Form:
    """A list with its name.

    Parameters
    ----------
    name : str
        The word after the opening parenthesis; empty where there is none.
    start : int
        Where it opens, in characters from the start of the text.
    atoms : list of str
        Its words and strings after the name, without quotes.
    forms : list of Form
        The forms within it, as far as they were wanted.
    """

    name: str
    start: int
    atoms: list[str] = field(default_factory=list)
    forms: list[Form] = field(default_factory=list)

    def all(self, *names: str) -> Iterator[Form]:
        """Yield the forms within this one that have one of some names."""
        return (form for form in self.forms if form.name in names)

    def first(self, name: str) -> Form | None:
        """Return the first form within this one that has a name."""
        return next(self.all(name), None)

    def atom(self, index: int, default: str = "") -> str:
        """Return an atom by its place, counted from 0."""
        return self.atoms[index] if index < len(self.atoms) else default

    def text(self, name: str, default: str = "") -> str:
        """Return the last atom of the first form of a name.

        The last, because ``(net 5 "GND")`` has become ``(net "GND")``.
        """
        form = self.first(name)
        return form.atoms[-1] if form is not None and form.atoms else default

    def number(self, index: int, default: float = 0.0) -> float:
        """Return an atom as a finite number; `default` where there is none."""
        try:
            value = float(self.atoms[index])
        except (IndexError, ValueError):
            return default
        return value if isfinite(value) else default

    def flag(self, word: str) -> bool:
        """Whether an atom ``word`` or a form ``(word yes)`` is there."""
        form = self.first(word)
        return word in self.atoms or (form is not None and form.atom(0, "yes") in ("yes", "true"))
