"""Random trees of streams: all solved or refused with a reason, one in six as a slow program has it."""

from __future__ import annotations

from typing import Any

from tests.independent.comparing_trees import compare

FULL = 5000
COMPARED = 6


def run(seed: int, n: int) -> dict[str, Any]:
    """Solve `n` trees; held when none fails silently and none of those compared differs."""
    return compare(seed, n, every=COMPARED)
