"""The steady engine against a slow program written apart from it: random stations, faults, sequences."""

from __future__ import annotations

from typing import Any

from tests.independent.comparing import compare

FULL = 1600


def run(seed: int, n: int) -> dict[str, Any]:
    """Compare `n` stations and a quarter as many sequences; held when none differs beyond the tolerances."""
    return compare(seed, n)
