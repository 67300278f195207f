"""Sheets of a book that repeat the samples of another one as means of longer intervals: they are left out."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from statistics import median

from steadyhead.watch.reading.gather import Gathered, Raw

REASON = "coarser sheet"
"""Why the rows of such a sheet are left out, as it is told."""
COARSER, INSIDE, OTHER = 1.8, 0.8, 0.5
"""How many times longer its intervals are, which share of its stamps the other sheet has, and which share of
the values there is another one. Own estimates."""
LEAST = 6


def leave_out(tables: Sequence[Gathered]) -> list[Gathered]:
    """Return the tables of which a finer one has all stamps with other values; their series are emptied."""
    out = []
    for one in tables:
        finer = [other for other in tables if other is not one and _repeats(one, other)]
        if one.structure.grid.container == "spreadsheet" and finer:
            out.append(one)
    for one in out:
        one.left_out.setdefault(REASON, []).extend(sorted(one.used))
        one.used.clear()
        one.series.clear()
    return out


def _repeats(one: Gathered, other: Gathered) -> bool:
    """Return whether all series of a table are in another one, finer and with other values."""
    pairs = [(raw, fine) for raw in one.series for fine in other.series if raw.heading == fine.heading]
    return len(pairs) >= max(1, len(one.series)) and all(_coarse(raw, fine) for raw, fine in pairs)


def _coarse(raw: Raw, fine: Raw) -> bool:
    if len(raw.local) < LEAST or _step(raw) < COARSER * _step(fine):
        return False
    known = {at: v for at, v in zip(fine.local, fine.v, strict=True) if v is not None}
    inside = [(v, known[at]) for at, v in zip(raw.local, raw.v, strict=True) if v is not None and at in known]
    if len(inside) < INSIDE * len(raw.local):
        return False
    return sum(abs(a - b) > 1e-9 * max(abs(a), abs(b)) for a, b in inside) >= OTHER * len(inside)


def _step(raw: Raw) -> float:
    order = sorted(raw.local)
    return median(b - a for a, b in pairwise(order))
