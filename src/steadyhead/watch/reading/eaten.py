"""Numbers that a spreadsheet took for dates when it opened a text: ``4.10`` as ``04. Oct``."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime

from steadyhead.errors import InputError
from steadyhead.watch.reading.headings import plain, said
from steadyhead.watch.reading.months import MONTHS
from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.parting import Parted
from steadyhead.watch.reading.times import Times, as_stamp

LEAST = 3
"""So many cells of a column that are such, from which on it is refused."""
_DAY_MONTH = re.compile(
    r"(\d{1,2})[. \-/]{1,2}([^\W\d_]{3,9})\.?(?:[ \-/]\d{2,4})?$|([^\W\d_]{3,9})\.?[ \-/](\d{1,4})$"
)
MEASURED = ("inlet pressure", "outlet pressure", "pressure between the valves", "flow")


def refuse_eaten(parted: Parted, times: Times, where: str) -> None:
    """Refuse a table in which numbers of a pressure or flow stand as days of a month.

    Raises
    ------
    InputError
        It is one.
    """
    taken = {one.at for one in times.sources} | {one.clock for one in times.sources} | set(times.spare)
    for one in parted.segments:
        for at, head in enumerate(one.heads):
            if at in taken or not (said(head).pressure or said(head).quantity in MEASURED):
                continue
            found = list(_days(parted, at))
            if len(found) >= LEAST:
                line, cell = found[0]
                shown = f"{cell:%Y-%m-%d}" if isinstance(cell, datetime) else cell
                raise InputError(
                    where, f"has {shown!r} in its column {head[:40]!r} (row {line}), and {len(found)} such "
                    "cells: a spreadsheet program took numbers for dates; what they were is not certain.",
                    "Give the file as the logger wrote it, or import it anew with these columns as text.",
                )  # fmt: skip


def _days(parted: Parted, at: int) -> Iterator[tuple[int, Cell]]:
    """Yield the cells of a column that are a day of a month, with their rows."""
    every = [*(row for one in parted.segments for row in one.rows), *parted.events, *parted.untimed]
    for line, cells in sorted(every, key=lambda row: row[0]):
        if at < len(cells) and is_day(cells[at]):
            yield line, cells[at]


def is_day(cell: Cell) -> bool:
    """Return whether a cell is a date, or a day and a month by name.

    Examples
    --------
    >>> [is_day(one) for one in ("04. Okt", "4-Oct", "Oct-04", "4.10", "04 bar", "OK")]
    [True, True, True, False, False, False]
    """
    if isinstance(cell, datetime):
        return cell.hour == cell.minute == cell.second == 0
    if not isinstance(cell, str) or not 4 <= len(cell) <= 24:
        return False
    if found := _DAY_MONTH.match(cell.strip()):
        return plain(found.group(2) or found.group(3)).replace(" ", "") in MONTHS
    stamp = as_stamp(cell)
    return stamp is not None and stamp.parts is not None and stamp.clock is None
