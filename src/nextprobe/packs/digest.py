"""A short name for what a pack says."""

from __future__ import annotations

import hashlib
import json

from nextprobe.packs.schema import Pack


def pack_hash(pack: Pack) -> str:
    """Return the SHA-256 of the pack's canonical JSON, in hexadecimal.

    Canonical: keys sorted, no blanks, UTF-8. Provenance is left out, so that a comment or a
    moved line does not make another pack of it.
    """
    data = pack.model_dump(mode="json", by_alias=True, exclude={"provenance"})
    text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()
