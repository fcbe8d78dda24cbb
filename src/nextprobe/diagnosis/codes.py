"""Error codes of a refresh that failed, weighed by the chances that the pack gives them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from nextprobe.diagnosis.looking import seen_chance
from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.sightings import of_sets, sightings
from nextprobe.diagnosis.situation import Situation
from nextprobe.packs.schema import Access, Look, Refresh

# A code may always have come up for another reason.
_LEAST = 0.005


def as_look(refresh: Refresh) -> Look:
    """Return the codes of a refresh as something that is seen once it has failed."""
    return Look(
        title=refresh.title,
        how="",
        minutes=0.0,
        access=Access.CLOSED,
        outcomes=refresh.code_chances,
    )


def accept_code(model: Model, situation: Situation, name: str, code: str) -> Situation:
    """Return the situation after a refresh failed with `code`.

    Only what the pack gives chances for is weighed, and only against the other ways to fail: that
    it failed at all has been counted before.
    """
    look = as_look(model.pack.refreshes[name])
    if code not in look.outcomes:
        return situation
    rows = of_sets(sightings(look, model.listed), model.sets)[code]
    chance = np.maximum(seen_chance(model, situation, look, rows, code), _LEAST)
    return replace(situation, ensemble=situation.ensemble.condition(np.log(chance)))
