"""The binary messages of the live channel, little-endian.

Every message begins with 16 bytes::

    0   2 bytes   "NP"
    2   uint8     version of the format: 1
    3   uint8     1 suspicion, 2 reading
    4   uint32    version of the job: number of its events
    8   uint32    key of the order of pads (suspicion); mode of the meter (reading)
    12  uint32    how many numbers follow (suspicion); 1 for over-range, else 0 (reading)

Suspicion: a float32 for each pad. Reading: a float64 with the value [V, ohm or F], NaN for
over-range, a float64 with its time [s since the epoch], then the point in UTF-8.
"""

from __future__ import annotations

import math
import struct

import numpy as np
from numpy.typing import NDArray

from nextprobe.board import MeterMode

MAGIC, FORMAT = b"NP", 1
SUSPICION, READING = 1, 2
MODES = tuple(MeterMode)
"""Modes of the meter by their number."""

_HEAD = struct.Struct("<2sBBIII")
_VALUE = struct.Struct("<dd")


def suspicion_frame(version: int, key: int, suspicion: NDArray[np.float32]) -> bytes:
    """Return the message with the suspicion on each pad."""
    head = _HEAD.pack(MAGIC, FORMAT, SUSPICION, version, key, len(suspicion))
    return head + suspicion.astype("<f4").tobytes()


def reading_frame(
    version: int, point: str, mode: MeterMode, value: float | None, time: float
) -> bytes:
    """Return the message with what is under the probe now; None stands for over-range."""
    over = value is None
    head = _HEAD.pack(MAGIC, FORMAT, READING, version, MODES.index(mode), int(over))
    return head + _VALUE.pack(math.nan if value is None else value, time) + point.encode()
