"""The same for pairs, monitors, reliefs and own springs: bands hold about 95 % of what the gauges show."""

from __future__ import annotations

from typing import Any

from tests.campaigns import bands

FULL = 240


def run(seed: int, n: int) -> dict[str, Any]:
    """Return the share of true readings inside the bands, pooled and by key, and the bands' widths."""
    return bands.run(seed, n, bands.chain)
