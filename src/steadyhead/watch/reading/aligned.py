"""Headings over their columns: times in two columns or one, a column ahead without a name, commas."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from steadyhead.errors import InputError
from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.headings import has, plain, said
from steadyhead.watch.reading.numbers import Cell, number
from steadyhead.watch.reading.parting import Segment
from steadyhead.watch.reading.times import Times

MOSTLY = 0.9
"""Share of the rows with cells beyond the headings, from which the headings are too few. Own estimate."""


def aligned(one: Segment, times: Times) -> list[str]:
    """Return headings over their columns.

    Put right are date and time that are two over one column or one over two, and a column of running numbers
    ahead of the times that has no heading. Columns that are blank in all rows do not count.
    """
    width = _width(one)
    while len(one.heads) > width and one.heads[-1] == "":
        one.heads = one.heads[:-1]
    if len(times.sources) != 1 or len(one.heads) < 2:
        return one.heads
    source, of_time = times.sources[0], [has(plain(each), words.TIME) for each in one.heads]
    at = source.at
    if (
        len(one.heads) == width + 1
        and source.clock is None
        and len(of_time) > at + 1
        and all(of_time[at : at + 2])
    ):
        return [*one.heads[:at], " ".join(one.heads[at : at + 2]), *one.heads[at + 2 :]]
    if len(one.heads) != width - 1 or at >= len(of_time):
        return one.heads
    if source.clock == at + 1 and of_time[at] and not of_time[at + 1] and _tells(one.heads[at + 1]):
        return [*one.heads[: at + 1], "", *one.heads[at + 1 :]]
    if at == 1 and of_time[0] and (not of_time[1] or source.clock == 2):
        return ["", *one.heads]
    return one.heads


def _width(one: Segment) -> int:
    """Return the usual number of cells, without columns behind that are blank in all rows."""
    usual = Counter(len(cells) for _, cells in one.rows).most_common(1)[0][0]
    filled = [
        max((at for at, cell in enumerate(cells) if cell != ""), default=0) + 1
        for _, cells in one.rows if len(cells) <= usual
    ]  # fmt: skip
    return max(filled, default=usual)


def _tells(heading: str) -> bool:
    """Return whether a heading names what is measured, or a unit: it stands over no time."""
    found = said(heading)
    return found.quantity is not None or found.pressure or found.unit is not None


def refuse_beside(segments: Sequence[Segment], times: Times, delimiter: str, where: str) -> None:
    """Refuse tables whose headings do not stand over their columns: each value would be another one's.

    Raises
    ------
    InputError
        A heading of a value stands over the times, or commas part the numbers as well as their decimals.
    """
    for one in segments:
        if len(times.sources) != 1 or sum(bool(head) for head in one.heads) < 2:
            continue
        first, at = one.rows[0][0], times.sources[0].at
        if delimiter == "," and _decimals_parted(one, max(at, times.sources[0].clock or 0)):
            raise InputError(
                where, f"has a comma between its columns and, it seems, in its numbers (row {first}): "
                f"each row has more numbers than the {len(one.heads)} headings.",
                "Write it with a semicolon or a tab between the columns.",
            )  # fmt: skip
        over = one.heads[at] if at < len(one.heads) else ""
        elsewhere = [head for k, head in enumerate(one.heads) if k != at and has(plain(head), words.TIME)]
        if _tells(over) and not has(plain(over), words.TIME) and elsewhere:
            raise InputError(
                where, f"has {over[:40]!r} over its times and {elsewhere[0][:40]!r} elsewhere (row {first}): "
                "the headings do not stand over their columns.",
                "Put each heading over its column.",
            )  # fmt: skip


def _decimals_parted(one: Segment, at: int) -> bool:
    """Return whether nearly all rows have whole numbers beyond the headings, and no number with a point."""
    named = len(one.heads)
    usual = Counter(len(cells) for _, cells in one.rows).most_common(1)[0][0]
    if usual - at - 1 != 2 * (named - at - 1):
        return False
    if len({cells[-1] for _, cells in one.rows}) < 4:
        return False  # a mark behind, not the decimals of the last number
    beyond = [cells for _, cells in one.rows if any(_whole(cell) for cell in cells[named:])]
    if len(beyond) < MOSTLY * len(one.rows):
        return False
    values = [cell for cells in beyond for k, cell in enumerate(cells) if k > at and cell != ""]
    numbers = [cell for cell in values if number(cell, ".") is not None]
    return bool(numbers) and all(_whole(cell) for cell in numbers)


def _whole(cell: Cell) -> bool:
    return isinstance(cell, str) and cell.strip().lstrip("+-").isdigit()
