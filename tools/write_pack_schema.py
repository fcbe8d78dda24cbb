"""Write the JSON Schema of device packs to docs/pack.schema.json.

Run from the root of the checkout::

    python tools/write_pack_schema.py
"""

from __future__ import annotations

from pathlib import Path

from nextprobe.packs.json_schema import pack_json_schema_text

TARGET = Path("docs/pack.schema.json")


def main() -> None:
    """Write the file."""
    TARGET.write_text(pack_json_schema_text(), encoding="utf-8")


if __name__ == "__main__":
    main()
