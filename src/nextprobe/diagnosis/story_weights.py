"""What the story of a device did to each set of faults before anything was seen."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from nextprobe.diagnosis.model import Model
from nextprobe.diagnosis.priors import prior_chances
from nextprobe.diagnosis.together import faults_together
from nextprobe.diagnosis.weight_parts import LEAST_LOG
from nextprobe.packs.schema import Pack

FloatArray = NDArray[np.float64]

WEAK_SPOTS = "known weak spots of this kind of device"


def story_weights(model: Model, history: Sequence[str]) -> tuple[tuple[str, ...], FloatArray]:
    """Return what is known of how a device came to fail, with the log prior after each piece.

    Before all of it stand the shares of the causes among such complaints, and the rates of faults
    by kind. How likely faults come together depends on the story too.

    Parameters
    ----------
    history : sequence of str
        What happened to the device.

    Returns
    -------
    tuple of str, length N, and ndarray, shape (N + 1, S)
        Titles, and the log prior of each set before and after each.
    """
    bare = _without_weak_spots(model.pack)
    known = (WEAK_SPOTS,) if bare is not model.pack else ()
    priors = [_log_prior(model, bare, ())] if known else []
    priors += [_log_prior(model, model.pack, history[:told]) for told in range(len(history) + 1)]
    titles = (*known, *(f"what happened: {word}" for word in history))
    return titles, np.stack(priors)


def _without_weak_spots(pack: Pack) -> Pack:
    if not pack.rates.weak_spots:
        return pack
    return pack.model_copy(update={"rates": pack.rates.model_copy(update={"weak_spots": {}})})


def _log_prior(model: Model, pack: Pack, history: Sequence[str]) -> FloatArray:
    """Return the log prior of each set, shape (S,); what can not be counts as 1e-300."""
    alone = prior_chances(pack, model.board, model.complaint, history, model.listed)
    chances = [alone]
    if model.sets.several:
        together = faults_together(pack, model.board, history, model.listed, alone)
        chances += [together.priors(np.array([chosen])) for chosen in model.sets.several]
    every = np.concatenate(chances)
    with np.errstate(divide="ignore"):
        return np.asarray(np.maximum(np.log(every / every.sum()), LEAST_LOG))
