"""How far a reading may be from what published clamps predict."""

from __future__ import annotations

from nextprobe.board import Board, PartKind
from nextprobe.circuit.site import is_signal


def published_spread(board: Board, point: str) -> float | None:
    """Return the standard deviation of a diode reading to ground that clamp tables predict [V].

    It is that of the pin's ground clamp; of several on the net the largest, because nobody knows
    which of them conducts first. None where a signal pin of a chip on the net has no published
    ground clamp, or no chip is on it: the general spread of predictions holds then.

    Raises
    ------
    MisuseError
        If the board has no such pin or net.
    """
    spreads = []
    for part, pin in board.parts_on(board.net_of(point)):
        if part.kind is PartKind.CHIP and is_signal(board, pin):
            if pin.clamps is None or pin.clamps.lower is None:
                return None
            spreads.append(pin.clamps.lower.spread)
    return max(spreads, default=None)
