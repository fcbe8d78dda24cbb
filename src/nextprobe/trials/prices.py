"""The same device in a dearer or cheaper shop."""

from __future__ import annotations

from typing import Any

from nextprobe.errors import MisuseError
from nextprobe.packs.schema import Pack

_RATES = ("attended_per_hour", "elapsed_per_hour")


def with_prices(pack: Pack, factor: float) -> Pack:
    """Return a pack in which all that is paid for work costs so many times as much.

    Hours, parts and modules are scaled. What harm is worth stays: a lost job, a comeback, data, a
    pairing, damage, an open-ended search, a needless sale; and so does the most that the customer
    will pay. Scaling everything would change no decision at all.

    Parameters
    ----------
    factor : float
        Above 0.

    Raises
    ------
    MisuseError
        If the factor is not positive.
    """
    if not factor > 0.0:
        raise MisuseError(f"prices can not be multiplied by {factor:g}")
    if factor == 1.0:
        return pack
    costs = _scaled(pack.costs, factor, *_RATES)
    modules = {name: _scaled(module, factor, "price") for name, module in pack.modules.items()}
    work = {name: _scaled(each, factor, "parts") for name, each in pack.work.items()}
    return pack.model_copy(update={"costs": costs, "modules": modules, "work": work})


def _scaled(model: Any, factor: float, *names: str) -> Any:
    return model.model_copy(update={name: factor * getattr(model, name) for name in names})
