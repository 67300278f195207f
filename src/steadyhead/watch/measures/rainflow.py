"""Rainflow counting of a pressure: whole numbers, in parts that merge to what the whole gives.

The pressure is rounded to a grain and reduced to its turning points. Four-point counting takes out a range
that is no larger than both of its neighbours; what is left only widens and then narrows. The result does not
depend on the order in which ranges are taken out, so two parts are merged by counting what both left over,
one behind the other. A range that is left over at the very end is half a cycle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Counted:
    """Closed cycles as pairs of range and number, and the turning points left over. [grains]"""

    cycles: tuple[tuple[int, int], ...] = ()
    left: tuple[int, ...] = ()


def turning_points(v: Whole) -> Whole:
    """Return first and last value and those at which the course turns."""
    if v.size < 2:
        return v
    v = v[np.append(True, np.diff(v) != 0)]
    if v.size < 3:
        return v
    slope = np.sign(np.diff(v))
    return np.asarray(v[np.concatenate(([True], slope[1:] != slope[:-1], [True]))])


def counted(v: Whole) -> Counted:
    """Return the cycles of a course of whole numbers.

    Method: ASTM E1049-85, 5.4.4, in its four-point form (C. Amzallag et al., 1994, DOI
    10.1016/0142-1123(94)90343-3), all ranges that may be taken out in one sweep at once.
    """
    points = turning_points(v)
    found: list[Whole] = []
    while points.size > 3:
        size = np.abs(np.diff(points))
        inner = (size[1:-1] <= size[:-2]) & (size[1:-1] <= size[2:])
        if not inner.any():
            break
        first = np.flatnonzero(_every_other(inner)) + 1
        found.append(size[first])
        keep = np.ones(points.size, dtype=bool)
        keep[first] = keep[first + 1] = False
        points = points[keep]
    ranges, numbers = np.unique(np.concatenate(found) if found else np.empty(0, np.int64), return_counts=True)
    cycles = tuple(zip(ranges.tolist(), numbers.tolist(), strict=True))
    return Counted(cycles, tuple(points.tolist()))


def _every_other(marks: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Return the first, third, fifth … mark of each run: neighbouring ranges share a turning point."""
    place = np.arange(marks.size)
    start = np.where(marks & ~np.append(False, marks[:-1]), place, 0)
    return np.asarray(marks & ((place - np.maximum.accumulate(start)) % 2 == 0))


def joined(a: Counted, b: Counted) -> Counted:
    """Return the cycles of one course behind another: what counting both at once would give."""
    rest = counted(np.array([*a.left, *b.left], dtype=np.int64))
    sums: dict[int, int] = {}
    for size, number in (*a.cycles, *b.cycles, *rest.cycles):
        sums[size] = sums.get(size, 0) + number
    return Counted(tuple(sorted(sums.items())), rest.left)


def with_halves(found: Counted) -> dict[int, float]:
    """Return cycles by range, what is left over as half cycles."""
    out = {size: float(number) for size, number in found.cycles}
    for size in np.abs(np.diff(np.array(found.left, dtype=np.int64))).tolist():
        if size:
            out[size] = out.get(size, 0.0) + 0.5
    return dict(sorted(out.items()))
