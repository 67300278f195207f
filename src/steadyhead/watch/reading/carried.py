"""Rows with a time of day and no date: which day is theirs, and what is told of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from steadyhead.watch.reading.sources import Row
from steadyhead.watch.reading.stamps import DAY, US
from steadyhead.watch.reading.times import Source, as_stamp

Parts = tuple[int | None, int | None, int | None]
"""Of a row: the day that it states [µs], its time of day [µs], its offset [s]; None: none stated."""
HALF = 12 * 3600 * US
"""A step against the run of the times that is longer than this passes a midnight. [µs]"""


@dataclass
class Carried:
    """Rows without a date: of the day above, past a midnight without a new date, and left out."""

    same: list[int] = field(default_factory=list)
    after_midnight: list[int] = field(default_factory=list)
    unclear: list[int] = field(default_factory=list)


def days_of(
    parts: Sequence[Parts], ahead: dict[int, int], first: int | None, last: int | None
) -> list[int | None]:
    """Return the local time of each row [µs]; None: it has none, or the day is not clear.

    A row without a date is of the day of the row above; where its time steps back by more than half a day
    (on, where the newest row stands first), of the next one. Where a later date says otherwise, the rows
    since that step are left out.

    Parameters
    ----------
    ahead
        A date alone on a row of its own: the place of the row after it, and the day. [µs]
    first
        Day of the first rows, where they state none [µs]; None: the first of a record without any date, or
        not known in one that has dates.
    last
        Local time of the row before the first one; None: there is none. [µs]
    """
    sign = -1 if _newest_first(parts) else 1
    day = last // DAY * DAY if last is not None else first
    if day is None and not ahead and all(stated is None for stated, _, _ in parts):
        day = 0
    out: list[int | None] = []
    passed: int | None = None
    for at, (stated, clock, _) in enumerate(parts):
        if at in ahead:
            day, last, passed = ahead[at], None, None
        if stated is not None:
            local = stated // DAY * DAY + (clock or 0)
            if passed is not None and last is not None and sign * (local - last) < 0:
                out[passed:] = [None] * (at - passed)
            day, passed = stated // DAY * DAY, None
        elif clock is None or day is None:
            out.append(None)
            continue
        else:
            local = day + clock
            if last is not None and sign * (last - local) > HALF:
                day, local = day + sign * DAY, local + sign * DAY
                passed = at if passed is None else passed
        last = local
        out.append(local)
    return out


def _newest_first(parts: Sequence[Parts]) -> bool:
    """Return whether the times of day of rows without a date run backwards."""
    back = forward = 0
    before: int | None = None
    for stated, clock, _ in parts:
        if stated is None and clock is not None and before is not None:
            back += clock < before
            forward += clock > before
        before = clock
    return back > max(2, forward)


def note(out: Carried, rows: Sequence[Row], source: Source, locals_: Sequence[int | None]) -> None:
    """Note the rows of a table whose date is that of another row; nothing where no row states a date."""
    stated = [_date_at(cells, source) for _, cells in rows]
    if not any(stated):
        return
    day: int | None = None
    for (number, cells), has_date, local in zip(rows, stated, locals_, strict=True):
        if has_date:
            day = None if local is None else local // DAY
        elif local is not None:
            (out.same if day is None or local // DAY == day else out.after_midnight).append(number)
        elif _clock_at(cells, source):
            out.unclear.append(number)


def _date_at(cells: Sequence[object], source: Source) -> bool:
    found = as_stamp(cells[source.at]) if source.at < len(cells) else None  # type: ignore[arg-type]
    return found is not None and found.parts is not None


def _clock_at(cells: Sequence[object], source: Source) -> bool:
    at = source.at if source.clock is None else source.clock
    return at < len(cells) and as_stamp(cells[at]) is not None  # type: ignore[arg-type]
