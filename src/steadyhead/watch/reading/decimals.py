"""The decimal mark of a table: by numbers that leave no other reading, else by size."""

from __future__ import annotations

import re
from collections import Counter

from steadyhead.watch.reading.headings import said
from steadyhead.watch.reading.numbers import Cell, number, vote
from steadyhead.watch.reading.parting import Parted
from steadyhead.watch.reading.roles import Roles
from steadyhead.watch.reading.sources import Grid

_NINES = re.compile(r"[+-]?9{2,6}[.,]9{1,3}$")
"""A mark for no value has a decimal mark of its own: it says nothing of the file's."""
LIKELY_PRESSURE = (1e4, 4e6)
"""Pressures that a logger at a station states. [Pa]"""
LIKELY_FLOW = (3e-5, 1.0)
"""Flows that are likely at a station. Own estimate. [m³/s]"""


def decimals_of(grid: Grid, parted: Parted, roles: list[Roles]) -> tuple[dict[int, str], str, bool]:
    """Return the decimal mark by row where it changes, the usual one, and whether nothing tells."""
    votes: list[tuple[int, str]] = []
    for one, role in zip(parted.segments, roles, strict=True):
        for at, cells in one.rows:
            found = vote(_bare(cells[column]) for column in role.values if column < len(cells))
            if found:
                votes.append((at, found))
    counts = Counter(mark for _, mark in votes)
    if not counts:
        return _by_size(grid, parted, roles)
    usual = counts.most_common(1)[0][0]
    if len(counts) == 1 or min(counts.values()) < 2:
        return {}, usual, False
    rows = [at for one in parted.segments for at, _ in one.rows]
    by_row, voted, now = {}, dict(votes), votes[0][1]
    for at in rows:
        now = voted.get(at, now)
        by_row[at] = now
    return by_row, usual, False


def _bare(cell: Cell) -> Cell:
    """Return a cell without the unit behind its number; of a run of nines nothing."""
    if not isinstance(cell, str):
        return cell
    text = cell.rstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ/³²°% ")
    return "" if _NINES.match(text.strip()) else text


def _by_size(grid: Grid, parted: Parted, roles: list[Roles]) -> tuple[dict[int, str], str, bool]:
    """Return the decimal mark where each number has three digits after its only mark, by size."""
    marks: dict[int, str] = {}
    sizes: list[tuple[bool, bool]] = []
    flows: list[tuple[bool, bool]] = []
    for one, role in zip(parted.segments, roles, strict=True):
        units = {at: said(one.heads[at]).unit for at in role.values if at < len(one.heads)}
        for at, cells in one.rows:
            for column in role.values:
                cell = cells[column] if column < len(cells) else ""
                mark = "," if "," in str(cell) else "." if "." in str(cell) else ""
                if not isinstance(cell, str) or not mark or _NINES.match(cell.strip()):
                    continue
                marks[at] = mark if marks.get(at, mark) == mark else "both"
                unit = units.get(column)
                as_part, as_whole = number(cell, mark), number(cell, "," if mark == "." else ".")
                if unit is not None and unit.kind in ("pressure", "flow") and as_part and as_whole:
                    low, high = LIKELY_PRESSURE if unit.kind == "pressure" else LIKELY_FLOW
                    likely = low <= as_part * unit.factor <= high, low <= as_whole * unit.factor <= high
                    (sizes if unit.kind == "pressure" else flows).append(likely)
    met = set(marks.values())
    if not met:
        return {}, ".", False
    if met == {",", "."}:
        return marks, "." if grid.delimiter == "," else ",", False
    mark = "," if "," in met else "."
    sizes = sizes or flows
    parts, wholes = sum(a for a, _ in sizes), sum(b for _, b in sizes)
    if sizes and wholes > 0.9 * len(sizes) and parts < 0.1 * len(sizes):
        return {}, "," if mark == "." else ".", False
    certain = bool(sizes) and parts > 0.9 * len(sizes) and wholes < 0.1 * len(sizes)
    either = bool(sizes) and parts > 0.9 * len(sizes) and wholes > 0.9 * len(sizes)
    return {}, mark, either or (mark == "," and grid.delimiter == "," and not certain)
