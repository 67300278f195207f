"""The day it is, where nobody states another."""

from __future__ import annotations

from datetime import UTC, date, datetime


def today() -> date:
    """Return the day it is, in UTC."""
    return datetime.now(UTC).date()
