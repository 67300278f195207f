"""Where labels stand: pushed apart in a column, packed into rows, or put in the first free place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from steadyhead.drawings.boxes import Box, Point

PLUMB = 5.0
"""Half of the room kept free for a plumb line. [px]"""
Span = tuple[float, float]


def dodge(
    wanted: Sequence[float],
    heights: Sequence[float],
    *,
    gap: float = 4.0,
    low: float | None = None,
    high: float | None = None,
    by: Sequence[float] | None = None,
) -> tuple[float, ...]:
    """Return label centres as near to the wanted ones as they can be without lying on each other.

    Least squares under the condition that order is kept (isotonic regression by pooling neighbours). Within
    `low` and `high` where there is room for all; else the column starts at `low` and runs over.

    Parameters
    ----------
    wanted
        Centre of each label, in any order. [px]
    heights
        Height of each label. [px]
    gap
        Least distance between two labels. [px]
    low, high
        Ends of the column. [px]
    by
        What puts the labels in order, as the places they belong to; their wanted centres where left out. [px]

    Returns
    -------
    tuple[float, ...]
        Centres, in the order given. [px]

    Examples
    --------
    >>> dodge([100.0, 104.0], [16.0, 16.0], gap=4.0)
    (92.0, 112.0)
    >>> dodge([100.0, 200.0], [16.0, 16.0])
    (100.0, 200.0)
    """
    ranks = wanted if by is None else by
    order = sorted(range(len(wanted)), key=lambda i: (ranks[i], wanted[i]))
    offsets: list[float] = []
    for rank, index in enumerate(order):
        before = order[rank - 1] if rank else index
        step = (heights[before] + heights[index]) / 2 + gap if rank else 0.0
        offsets.append((offsets[-1] if offsets else 0.0) + step)
    levels = _pooled([wanted[index] - offset for index, offset in zip(order, offsets, strict=True)])
    if order:
        ceiling = high - heights[order[-1]] / 2 - offsets[-1] if high is not None else None
        floor = low + heights[order[0]] / 2 if low is not None else None
        levels = [_held(level, floor, ceiling) for level in levels]
    placed = [0.0] * len(order)
    for index, offset, level in zip(order, offsets, levels, strict=True):
        placed[index] = level + offset
    return tuple(placed)


def _held(level: float, floor: float | None, ceiling: float | None) -> float:
    if ceiling is not None:
        level = min(level, ceiling)
    return max(level, floor) if floor is not None else level


def _pooled(values: Sequence[float]) -> list[float]:
    """Return the non-decreasing sequence nearest to `values` in the least-squares sense."""
    pools: list[tuple[float, int]] = []
    for value in values:
        mean, count = value, 1
        while pools and pools[-1][0] > mean:
            other, others = pools.pop()
            mean, count = (mean * count + other * others) / (count + others), count + others
        pools.append((mean, count))
    return [mean for mean, count in pools for _ in range(count)]


@dataclass(frozen=True, slots=True)
class RowPlace:
    """Where a label packed into rows stands."""

    row: int
    centre: float


def pack_rows(
    centres: Sequence[float],
    widths: Sequence[float],
    *,
    low: float,
    high: float,
    gap: float = 12.0,
) -> tuple[RowPlace, ...]:
    """Return a row and a centre for each label under its part, so that none lies on another.

    A label may be moved sideways as long as it stays under its part. Labels that can leave the plumb lines of
    all other parts free are placed first, the others below them, so that every label can hang from its part.

    Parameters
    ----------
    centres, widths
        Of each label, from left to right. [px]
    low, high
        Ends of the rows. [px]
    gap
        Least distance between neighbours. [px]

    Examples
    --------
    >>> [place.row for place in pack_rows([50, 90, 200], [70, 70, 70], low=0, high=300)]
    [0, 1, 0]
    """
    rows: list[list[Span]] = [[] for _ in centres]
    placed: dict[int, RowPlace] = {}
    for keep_plumbs_free in (True, False):
        for index, (centre, width) in enumerate(zip(centres, widths, strict=True)):
            if index in placed:
                continue
            others = [(x - PLUMB, x + PLUMB) for rank, x in enumerate(centres) if rank != index]
            plumbs = others if keep_plumbs_free else []
            place = _first_row(centre, width, rows, plumbs, (low, high), gap)
            if place is None and not keep_plumbs_free:
                place = _below_all(_held(centre, low + width / 2, high - width / 2), width, rows, gap)
            if place is None:
                continue
            rows[place.row].append((place.centre - width / 2, place.centre + width / 2))
            for above in rows[: place.row]:
                above.append((centre - PLUMB, centre + PLUMB))
            placed[index] = place
    return _without_empty_rows([placed[index] for index in range(len(centres))])


def _without_empty_rows(places: Sequence[RowPlace]) -> tuple[RowPlace, ...]:
    used = sorted({place.row for place in places})
    return tuple(RowPlace(used.index(place.row), place.centre) for place in places)


def _first_row(
    centre: float,
    width: float,
    rows: Sequence[Sequence[Span]],
    plumbs: Sequence[Span],
    ends: Span,
    gap: float,
) -> RowPlace | None:
    """Return the first row where the label fits and its own plumb line is free above it."""
    for row, taken in enumerate(rows):
        if any(not _clear(centre - 1, centre + 1, above, 0.0) for above in rows[:row]):
            return None
        spot = _spot(centre, width, taken, plumbs, ends, gap)
        if spot is not None:
            return RowPlace(row, spot)
    return None


def _below_all(centre: float, width: float, rows: Sequence[Sequence[Span]], gap: float) -> RowPlace:
    """Return the first row where the label lies on nothing, its own plumb line crossing what it must."""
    left, right = centre - width / 2, centre + width / 2
    free = (row for row, taken in enumerate(rows) if _clear(left, right, taken, gap))
    return RowPlace(next(free), centre)


def _spot(
    centre: float, width: float, taken: Sequence[Span], plumbs: Sequence[Span], ends: Span, gap: float
) -> float | None:
    """Return the centre nearest to the part's where the label lies on nothing."""
    reach = max(0.0, width / 2 - PLUMB)
    for step in sorted((step * reach / 10 for step in range(-10, 11)), key=abs):
        left, right = centre + step - width / 2, centre + step + width / 2
        within = left >= ends[0] and right <= ends[1]
        if within and _clear(left, right, taken, gap) and _clear(left, right, plumbs, 0.0):
            return centre + step
    return None


def _clear(left: float, right: float, taken: Sequence[Span], gap: float) -> bool:
    return all(right + gap <= other_left or left - gap >= other_right for other_left, other_right in taken)


@dataclass(slots=True)
class Ground:
    """What already stands on the page, and so must not be written over."""

    page: Box
    boxes: list[Box] = field(default_factory=list)
    lines: list[tuple[Point, Point]] = field(default_factory=list)

    def add_line(self, *points: Point) -> None:
        """Keep labels off the chain of straight lines through `points`."""
        self.lines += list(pairwise(points))

    def cost(self, box: Box, spare: float = 2.0) -> float:
        """Return how badly a label in `box` would lie on other things; 0 where it is free."""
        total = 0.0 if box.lies_within(self.page) else 40.0
        total += sum(10.0 for other in self.boxes if box.meets(other, spare))
        return total + sum(1.0 for start, end in self.lines if box.is_crossed_by(start, end, spare))

    def place(self, candidates: Sequence[Box], spare: float = 2.0) -> int:
        """Return the number of the first candidate that costs least, and keep its ground."""
        costs = [self.cost(box, spare) for box in candidates]
        best = costs.index(min(costs))
        self.boxes.append(candidates[best])
        return best
