"""How far a reading may be from what published clamps predict."""

from __future__ import annotations

from nextprobe.board import Board, PartKind, Role


def published_spread(board: Board, point: str) -> float | None:
    """Return the standard deviation of a diode reading to ground that clamp tables predict [V].

    It is that of the pin's ground clamp; of several on the net the largest, because nobody knows
    which of them conducts first. None where a signal pin of a chip on the net has no published
    ground clamp, or no chip is on it: the general spread of predictions holds then.

    Parameters
    ----------
    board : Board
    point : str
        Pin or net.

    Raises
    ------
    MisuseError
        If the board has no such pin or net.
    """
    net = board.net_of(point)
    if board.role(net) is Role.GROUND or board.role(net).is_supply:
        return None
    clamps = [pin.clamps for part, pin in board.parts_on(net) if part.kind is PartKind.CHIP]
    spreads = [None if each is None or each.lower is None else each.lower.spread for each in clamps]
    known = [spread for spread in spreads if spread is not None]
    return max(known, default=None) if len(known) == len(spreads) else None
