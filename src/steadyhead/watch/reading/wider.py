"""Rows with more cells than the heading names: a column came in, or a row is broken; none is read shifted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from statistics import median

from steadyhead.errors import InputError
from steadyhead.records.logger import Fact
from steadyhead.watch.counting import counted
from steadyhead.watch.reading.numbers import Cell, number
from steadyhead.watch.reading.parting import Parted, Segment
from steadyhead.watch.reading.sources import Row

LASTING = 0.9
"""Share of the rows from one on that have a further cell, from which a column came in there. Own estimate."""
LEAST = 3
"""Rows that this takes at least."""
LOOKED = 200
"""Rows on each side whose numbers are compared."""
MARGIN = 0.5
"""How far the middle of a column may leave its range and still be of it, as part of it. Own estimate."""
MOST_BROKEN = 1000
"""Rows of a long file that are left out for further cells; with more of them it is read as a whole."""


def set_aside(parted: Parted, *, is_part: bool = False) -> None:
    """Take rows with a number beyond the last heading out of the samples, into `wider`.

    is_part: only some rows of a file are here; whether a column came in cannot be seen of them.
    """
    for one in parted.segments:
        wide = {at for at, cells in one.rows if _is_beyond(cells, len(one.heads))}
        if not wide or sum(bool(head) for head in one.heads) < 2:
            continue
        if not is_part and (_is_usual(one, wide) or _is_of_its_own(one, wide)):
            continue
        since = None if is_part else _since(one, wide)
        if since is not None and _is_like_before(one, since):
            parted.joined = parted.joined or since
        elif since is not None:
            parted.came_in = parted.came_in or since
        else:
            parted.wider += [row for row in one.rows if row[0] in wide]
            one.rows = [row for row in one.rows if row[0] not in wide]


def _is_usual(one: Segment, wide: set[int]) -> bool:
    """Return whether most rows are so from the first ones on: the heading does not stand over the columns."""
    return 2 * len(wide) > len(one.rows) and any(at in wide for at, _ in one.rows[:LEAST])


def _is_of_its_own(one: Segment, wide: set[int]) -> bool:
    """Return whether a column without a heading is there in all rows, blank in most, and shifts none."""
    rest = [row for row in one.rows if row[0] not in wide]
    width = Counter(len(cells) for _, cells in rest).most_common(1)[0][0]
    return width > len(one.heads) and _is_alike_in_all(one, rest, [row for row in one.rows if row[0] in wide])


def _is_beyond(cells: Sequence[Cell], named: int) -> bool:
    return any(_number(cell) is not None for cell in cells[named:])


def _number(cell: Cell) -> float | None:
    found = number(cell, ".")
    return number(cell, ",") if found is None else found


def _since(one: Segment, wide: set[int]) -> int | None:
    """Return the row from which on nearly all have a further cell; None: single rows have one."""
    first = min(wide)
    after = [at for at, _ in one.rows if at >= first]
    return first if len(wide) >= max(LEAST, LASTING * len(after)) else None


def _is_like_before(one: Segment, since: int) -> bool:
    """Return whether each named column holds what it held before: the new one stands behind them."""
    before = [row for row in one.rows if row[0] < since][-LOOKED:]
    return _is_alike_in_all(one, before, [row for row in one.rows if row[0] >= since][:LOOKED])


def _is_alike_in_all(one: Segment, before: Sequence[Row], after: Sequence[Row]) -> bool:
    return all(_is_alike(_numbers(before, at), _numbers(after, at)) for at in range(len(one.heads)))


def _numbers(rows: Sequence[Row], at: int) -> list[float]:
    found = (_number(cells[at]) for _, cells in rows if at < len(cells))
    return [one for one in found if one is not None]


def _is_alike(before: list[float], after: list[float]) -> bool:
    if len(before) < LEAST or not after:
        return bool(before) == bool(after)
    low, high, middle = min(before), max(before), median(after)
    margin = MARGIN * (high - low) + 1e-9
    return low - margin <= middle <= high + margin


def refuse_shifted(parted: Parted, where: str) -> None:
    """Refuse a table into which a column came without a heading: which one is which cannot be told.

    Raises
    ------
    InputError
        It is one.
    """
    if parted.came_in:
        raise InputError(
            where,
            f"has a cell more than its headings from row {parted.came_in} on, and its columns hold other "
            "values.",
            "Write the headings anew above that row, or give the rows from there as a file of its own.",
        )  # fmt: skip


def wider_facts(parted: Parted) -> list[Fact]:
    """Return what is told of rows with more cells than headings."""
    out = []
    if parted.joined:
        words = (
            f"From row {parted.joined} on there is a cell more than the headings name; it is kept as a "
            "column without a name, the others go on as before."
        )
        out.append(Fact("more cells", words, (parted.joined,)))
    if parted.wider:
        words = f"{counted(len(parted.wider), 'row')} with more cells than the headings name; left out."
        out.append(Fact("more cells", words, tuple(at for at, _ in parted.wider[:5])))
    return out
