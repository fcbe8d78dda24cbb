"""Which suspect somebody means: by key, by title, by the place where it lies."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import Fault, FaultKind
from nextprobe.diagnosis import Case
from nextprobe.diagnosis.candidates import UNLOCATED
from nextprobe.diagnosis.ids import slug
from nextprobe.diagnosis.suspects import family_titles
from nextprobe.errors import MisuseError

BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Meant:
    """The suspect that is meant.

    Parameters
    ----------
    key : str
        Of its family; for everything at a place, the place.
    title : str
        In words.
    which : ndarray of bool, shape (H,)
        Candidates that it is made of.
    """

    key: str
    title: str
    which: BoolArray


def known_suspect(case: Case, name: str) -> Meant:
    """Return the suspect that is meant.

    Blanks and hyphens, capitals and small letters count as the same. A part, pin, module or
    connector stands for everything that may be wrong there, ``unlisted`` for what is not listed.

    Raises
    ------
    MisuseError
        If there is no such suspect; the message lists some that are like it.
    """
    names, family = case.model.families
    titles = family_titles(case.model)
    meant = _folded(name)
    by_word = {_folded(key): place for place, key in enumerate(names)}
    by_word |= {_folded(title): place for place, title in enumerate(titles)}
    if meant in by_word:
        place = by_word[meant]
        return Meant(names[place], titles[place], family == place)
    there = np.array([meant in _words(item.fault) for item in case.model.listed], dtype=bool)
    families = np.unique(family[there])
    if not families.size:
        close = get_close_matches(meant, by_word, 4, 0.5)
        like = ", ".join(dict.fromkeys(names[by_word[word]] for word in close))
        like = f"like it: {like}" if like else "'suspects' lists the leading ones"
        raise MisuseError(f"there is no suspect '{name}'; {like}")
    if len(families) == 1:
        [place] = families.tolist()
        return Meant(names[place], titles[place], there)
    return Meant(name.strip(), f"anything at {name.strip()} ({len(families)} suspects)", there)


def _words(fault: Fault) -> set[str]:
    """Return the words by which a fault is called for where it lies."""
    if fault.kind is FaultKind.UNLISTED:
        return {_folded(fault.kind.value)}
    if fault.place.startswith(UNLOCATED):
        return {_folded(fault.place)}
    ends = {end for whole in fault.place.split("/") for end in whole.split("~")}
    parts = {end.partition(".")[0] for end in ends}
    return {_folded(word) for word in {fault.place, *ends, *parts}}


def _folded(name: str) -> str:
    return slug(name.strip()).lower()
