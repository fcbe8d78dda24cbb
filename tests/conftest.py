"""Settings for all tests."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
if not os.environ.get("CI"):  # Hypothesis has its own profile for that: untimed, repeatable
    settings.load_profile("untimed")
