"""Names as KiCad shows them, from names as it stores them."""

from __future__ import annotations

import re

_STORED = {
    "slash": "/", "backslash": "\\", "dblquote": '"', "quote": "'", "lt": "<", "gt": ">",
    "colon": ":", "bar": "|", "space": " ", "return": " ", "tab": " ", "brace": "{",
}  # fmt: skip
_TOKEN = re.compile(rf"\{{({'|'.join(_STORED)})\}}")


def shown(name: str) -> str:
    """Return a name with its stand-ins resolved: ``PA0{slash}RX`` is ``PA0/RX``."""
    return _TOKEN.sub(lambda match: _STORED[match[1]], name) if "{" in name else name
