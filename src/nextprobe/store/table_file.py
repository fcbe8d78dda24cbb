"""One fault table as the bytes of a file, and back.

A line of JSON says what the file is and what its rest must hash to; the rest is an archive of
arrays as NumPy writes them (.npz), without pickled objects. Names are JSON in one of them.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from hashlib import sha256
from io import BytesIO
from typing import Any
from zipfile import BadZipFile
from zlib import error as ZlibError  # noqa: N812

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from nextprobe import __version__
from nextprobe.board import Fault, FaultClass, FaultKind
from nextprobe.circuit import FaultTable

FORMAT = 1
# The last is what zipfile raises for a compression that it does not know.
_UNREADABLE = (
    *(ValueError, KeyError, TypeError, IndexError, OverflowError),
    *(OSError, EOFError, BadZipFile, ZlibError, NotImplementedError),
)
_MATRICES = ("shifts", "over_range_changes")
_PARTS = ("data", "indices", "indptr")
_PLAIN = ("healthy_values", "healthy_over_range", "sensitivities")

Arrays = Mapping[str, NDArray[Any]]


def table_bytes(key: str, table: FaultTable) -> bytes:
    """Return the content of a file that keeps `table` under `key`."""
    names = json.dumps(_names(table)).encode()
    arrays: dict[str, Any] = {"names": np.frombuffer(names, np.uint8)}
    arrays |= {name: getattr(table, name) for name in _PLAIN}
    for name in _MATRICES:
        matrix = getattr(table, name)
        arrays |= {f"{name}_{part}": getattr(matrix, part) for part in _PARTS}
    archive = BytesIO()
    np.savez_compressed(archive, **arrays)
    rest = archive.getvalue()
    return json.dumps(_header(key, rest)).encode() + b"\n" + rest


def table_from_bytes(content: bytes, key: str) -> FaultTable | None:
    """Return the table that was kept under `key`.

    None if the content is damaged, of another key, format or version of the program, or no
    table at all.
    """
    head, _, rest = content.partition(b"\n")
    try:
        if json.loads(head) != _header(key, rest):
            return None
        with np.load(BytesIO(rest), allow_pickle=False) as arrays:
            return _table(arrays)
    except (*_UNREADABLE, RecursionError):
        return None


def _header(key: str, rest: bytes) -> dict[str, object]:
    return {
        "what": "fault table",
        "format": FORMAT,
        "program": __version__,
        "key": key,
        "sha256": sha256(rest).hexdigest(),
    }


def _names(table: FaultTable) -> dict[str, object]:
    return {
        "key": table.key,
        "points": table.points,
        "parameters": table.parameters,
        "faults": [(fault.kind.value, fault.place, fault.magnitude) for fault in table.faults],
        "classes": [
            [table.column(fault) for fault in (each.representative, *each.members)]
            for each in table.classes
        ],
    }


def _table(arrays: Arrays) -> FaultTable:
    """Return the table; raises one of the `_UNREADABLE` if its pieces do not fit together."""
    names = json.loads(arrays["names"].tobytes())
    faults = tuple(Fault(FaultKind(kind), place, size) for kind, place, size in names["faults"])
    points, parameters = tuple(names["points"]), tuple(names["parameters"])
    shape = len(points), len(faults)
    shifts, changes = (_matrix(arrays, name, shape) for name in _MATRICES)
    classes = [[faults[column] for column in columns] for columns in names["classes"]]
    return FaultTable(
        points=points,
        faults=faults,
        classes=tuple(FaultClass(each[0], tuple(each[1:])) for each in classes),
        healthy_values=_shaped(arrays["healthy_values"], shape[:1]),
        healthy_over_range=_shaped(arrays["healthy_over_range"], shape[:1]),
        shifts=shifts,
        over_range_changes=changes,
        sensitivities=_shaped(arrays["sensitivities"], (len(points), len(parameters))),
        parameters=parameters,
        key=names["key"],
    )


def _matrix(arrays: Arrays, name: str, shape: tuple[int, int]) -> csr_array:
    data, indices, indptr = (arrays[f"{name}_{part}"] for part in _PARTS)
    matrix = csr_array((data, indices, indptr), shape=shape)
    matrix.check_format(full_check=True)
    return matrix


def _shaped(array: NDArray[Any], shape: tuple[int, ...]) -> NDArray[Any]:
    if array.shape != shape:
        raise ValueError(f"{array.shape} values where {shape} belong")
    return array
