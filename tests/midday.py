"""A shop whose day is half over whenever the tests run: an hour ago is today, and so is in an hour.

A setting of another day is read once more before it cuts; a test of cutting is not about that.
"""

from __future__ import annotations

from datetime import UTC, datetime


def _zone_at_midday() -> str:
    ahead = 12 - datetime.now(UTC).hour
    # The names' signs are turned around: this one is `ahead` hours ahead of UTC.
    return f"Etc/GMT{-ahead:+d}" if ahead else "Etc/GMT"


MIDDAY = _zone_at_midday()
