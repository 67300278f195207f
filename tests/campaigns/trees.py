"""Random trees of streams: solved or refused, laws kept, one in six as a slow program has it."""

from __future__ import annotations

from typing import Any

from tests.independent.comparing_trees import compare
from tests.independent.laws_of_trees import hold

FULL = 5000
COMPARED = 6  # one tree in so many is given to the slow program
HELD_TO_LAWS = 4  # times as many trees, other ones, are held to the laws alone
KNOTTED = 4  # times as many, from which nobody draws, with relief and check valves in their streams
FEW = 10  # where a share of the campaign runs, one in so many: tests hold 300 others, always the same
TYPES = ("both valves shut", "choked", "parallel")
LEAST = 0.2  # share of each type among the trees of a full run


def run(seed: int, n: int) -> dict[str, Any]:
    """Solve 5 `n` trees; held when none fails silently, breaks a law, or differs where compared."""
    compared, laws = compare(seed, n, every=COMPARED), hold(seed, HELD_TO_LAWS * n)
    knots = hold(seed, KNOTTED * n if n >= FULL else n // FEW, are_knotted=True)
    shares = {name: round(compared.get(name, 0) / n, 4) for name in TYPES}
    are_wide = n < FULL or min(shares.values()) >= LEAST
    held = bool(compared.pop("held")) & bool(laws.pop("held")) & bool(knots.pop("held")) & are_wide
    return {**compared, "shares": shares, "laws": laws, "knotted": knots, "held": held}
