"""Rows of a long file that do not fit its samples: what they may hold that the samples do not show."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from steadyhead.watch.reading.columns import columns_used, marked_columns
from steadyhead.watch.reading.numbers import Cell, vote
from steadyhead.watch.reading.parting import heading_like, heads
from steadyhead.watch.reading.sampling import Plan
from steadyhead.watch.reading.sources import Row
from steadyhead.watch.reading.times import as_stamp

_OTHER_MARK = {",": re.compile(r"[+-]?\d{1,3}\.\d{3}$"), ".": re.compile(r"[+-]?\d{1,3},\d{3}$")}
"""A number whose only mark is not the file's decimal mark and may stand for thousands."""
STAMP = 12
"""Digits that a row of a stamp and a value has at least. Own estimate."""


def has_other_headings(rows: Sequence[Row], made: Plan) -> bool:
    """Return whether rows among these name the columns otherwise than the file's first ones do."""
    first = made.lies.parted.segments[0].heads
    for group in _runs(rows):
        if any(heading_like(cells, first) for _, cells in group):
            found = heads(group, len(first))
            if any(found) and found != first:
                return True
    return False


def _runs(rows: Sequence[Row]) -> Iterator[list[Row]]:
    """Yield rows that stand below each other."""
    group: list[Row] = []
    for row in rows:
        if group and row[0] - group[-1][0] > 2:  # a blank one may stand between
            yield group
            group = []
        group.append(row)
    if group:
        yield group


def has_undated(rows: Sequence[Row], made: Plan) -> bool:
    """Return whether rows state a time of day and no date: that of rows which fit would be theirs."""
    if made.lies.times.kind != "text":
        return False
    for one in made.lies.times.sources:
        at = one.at if one.clock is None else one.clock
        for _, cells in rows:
            clock = as_stamp(cells[at]) if at < len(cells) else None
            date = as_stamp(cells[one.at]) if one.at < len(cells) else None
            if clock is not None and clock.clock is not None and (date is None or date.parts is None):
                return True
    return False


def has_samples(rows: Sequence[Row], delimiter: str) -> bool:
    """Return whether rows that nothing was read of are samples in another dialect: numbers, no words."""
    found = 0
    for _, cells in rows:
        text = " ".join(str(one) for one in cells)
        others = [one for one in '";,\t|\0' if one != delimiter and one in text]
        if others and sum(one.isdigit() for one in text) >= STAMP and not any(one.isalpha() for one in text):
            found += 1
    return found > 1


def decimals_of_rows(rows: Sequence[Row], made: Plan) -> dict[int, str] | None:
    """Return the decimal mark of rows that have another one than the file; None: a row leaves it open."""
    if made.lies.decimals:
        return dict(made.lies.decimals)
    usual, used, marked = made.lies.decimal, columns_used(made), marked_columns(made)
    out: dict[int, str] = {}
    for at, cells in rows:
        values: dict[int, Cell] = {one: cells[one] for one in used if one < len(cells)}
        found = vote(values.values())
        if found and found != usual:
            out[at] = found
        elif not found and any(
            one in marked and isinstance(cell, str) and _OTHER_MARK[usual].match(cell.strip())
            for one, cell in values.items()
        ):
            return None
    return out
