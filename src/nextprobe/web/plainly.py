"""Results as JSON that every browser reads."""

from __future__ import annotations

import math
from typing import Any

from nextprobe.errors import Finding
from nextprobe.web.trouble import finding_json
from nextprobe.workbench.plain import plain


def sent(value: Any) -> Any:
    """Return a result in plain JSON types; a number that is not finite is missing."""
    return _finite(plain(value))


def sent_findings(findings: tuple[Finding, ...]) -> list[dict[str, Any]]:
    """Return findings in plain JSON types."""
    return [finding_json(finding) for finding in findings]


def _finite(value: Any) -> Any:
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, dict):
        return {name: _finite(item) for name, item in value.items()}
    if isinstance(value, list):
        return [_finite(item) for item in value]
    return value
