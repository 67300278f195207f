"""Rows with numbers like the samples and a time that is not read: they must not go as words or a foot."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from statistics import median_low

from steadyhead.errors import InputError
from steadyhead.watch.reading.gather import Gathered
from steadyhead.watch.reading.numbers import Cell, number
from steadyhead.watch.reading.parting import Parted
from steadyhead.watch.reading.sources import Row
from steadyhead.watch.reading.times import Times, as_stamp

LEAST, SHARE, DIGITS = 5, 0.02, 4
"""So many such rows, parts of the samples, and digits where the time would stand. Own estimate."""
FIRST_YEAR, LAST_YEAR, MOST_SAME = 1998, 2060, 0.6


def refuse_lost(parted: Parted, times: Times, where: str) -> None:
    """Refuse a table of which many rows are samples whose time is not read, as of a month of strange name.

    Raises
    ------
    InputError
        It is one.
    """
    if times.kind != "text" or len(times.sources) != 1:
        return
    at = times.sources[0].at
    used = {at, times.sources[0].clock}
    samples = [row for one in parted.segments for row in one.rows]
    few = samples[:: max(1, len(samples) // 200)]
    usual = sorted(_numbers(cells, used) for _, cells in few)
    least = max(1, usual[len(usual) // 2]) if usual else 1
    header = [row for one in parted.segments for row in one.header]
    rest = sorted([*parted.footer, *parted.events, *parted.untimed, *header], key=lambda row: row[0])
    lost = [row for row in rest if _is_lost(row, at, used, least)]
    if len(lost) >= max(LEAST, SHARE * len(samples)):
        line, cells = lost[0]
        raise InputError(
            where, f"has {len(lost)} rows with values whose time cannot be read, as {str(cells[at])[:30]!r} "
            f"(row {line}).",
            "Write the times of all rows alike, as 2027-03-04 08:15.",
        )  # fmt: skip


def _numbers(cells: Sequence[Cell], used: set[int | None]) -> int:
    return sum(
        isinstance(one, float) or number(one, ".") is not None or number(one, ",") is not None
        for at, one in enumerate(cells)
        if at not in used
    )  # fmt: skip


def _is_lost(row: Row, at: int, used: set[int | None], least: int) -> bool:
    cells = row[1]
    if at >= len(cells) or not isinstance(cells[at], str) or _numbers(cells, used) < least:
        return False
    text = str(cells[at])
    stamp = as_stamp(text)
    return sum(one.isdigit() for one in text) >= DIGITS and (stamp is None or stamp.parts is None)


def refuse_years(gathered: Gathered, where: str) -> None:
    """Refuse seconds or milliseconds that, counted from 1970, lie in years that no logger's file is of.

    Raises
    ------
    InputError
        They do.
    """
    if is_of_strange_years(gathered):
        raise InputError(
            where, f"has times counted in seconds that, from 1970 on, are of {_year(gathered)}.",
            "Name in their heading from when they count: seconds since 2000-01-01 UTC.",
        )  # fmt: skip


def is_of_strange_years(gathered: Gathered) -> bool:
    """Return whether counted seconds, taken from 1970 on, lie in years that no logger's file is of."""
    if gathered.structure.times.kind not in ("epoch s", "epoch ms"):
        return False
    return any(raw.local for raw in gathered.series) and not FIRST_YEAR <= _year(gathered) <= LAST_YEAR


def _year(gathered: Gathered) -> int:
    times = [one for raw in gathered.series for one in raw.local]
    return (datetime(1970, 1, 1) + timedelta(microseconds=median_low(times))).year


def refuse_same_times(total: int, left: dict[str, int], where: str) -> None:
    """Refuse a file most of whose rows have a time that another row has with other values.

    Raises
    ------
    InputError
        It is one.
    """
    same = left.get("same stamp, other value", 0)
    if same > MOST_SAME * total:
        raise InputError(
            where, f"has {same} of {total} rows with a time that a row before has with other values: the "
            "time of day, or whose rows they are, is not read.",
            "Write the date and the time of day of each row in full, and the rows of one logger alone.",
        )  # fmt: skip
