"""Nominal sizes by their trade names: DN and inches."""

from __future__ import annotations

from steadyhead.units.table import INCH

_SIZES: tuple[tuple[int, str], ...] = (
    (8, "1/4"), (10, "3/8"), (15, "1/2"), (20, "3/4"), (25, "1"), (32, "1 1/4"), (40, "1 1/2"), (50, "2"),
    (65, "2 1/2"), (80, "3"), (100, "4"), (125, "5"), (150, "6"), (200, "8"), (250, "10"), (300, "12"),
    (350, "14"), (400, "16"), (450, "18"), (500, "20"), (600, "24"), (700, "28"), (800, "32"), (900, "36"),
)  # fmt: skip
"""Nominal sizes: DN of ISO 6708 with the inch size it goes with (common practice)."""
SAME_SIZE = 0.06
"""A bore this near to a nominal size is called by its name. [1]"""


def nominal(bore: float, unit: str) -> str | None:
    """Return the trade's name of a nominal size, or None where no nominal size is near. Takes m.

    Examples
    --------
    >>> nominal(0.1, "DN"), nominal(0.1, "in"), nominal(0.115, "DN")
    ('DN 100', '4 in', None)
    """
    if unit not in ("DN", "in"):
        return None
    best = min(_SIZES, key=lambda row: min(abs(bore * 1e3 / row[0] - 1), abs(bore / _inches(row[1]) - 1)))
    off = min(abs(bore * 1e3 / best[0] - 1), abs(bore / _inches(best[1]) - 1))
    if off > SAME_SIZE:
        return None
    return f"DN {best[0]}" if unit == "DN" else f"{best[1]} in"


def _inches(name: str) -> float:
    total = 0.0
    for piece in name.split():
        above, _, below = piece.partition("/")
        total += float(above) / float(below or 1)
    return total * INCH
