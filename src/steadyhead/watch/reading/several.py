"""Tables in which words matter: rows of several loggers, times or values that are not read."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from steadyhead.errors import InputError
from steadyhead.records.logger import Fact
from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.aligned import refuse_beside
from steadyhead.watch.reading.eaten import refuse_eaten
from steadyhead.watch.reading.gather import Structure
from steadyhead.watch.reading.headings import has, plain, said
from steadyhead.watch.reading.lost import refuse_lost
from steadyhead.watch.reading.parting import Segment
from steadyhead.watch.reading.roles import Roles
from steadyhead.watch.reading.stamps import US
from steadyhead.watch.reading.times import Times, as_stamp
from steadyhead.watch.reading.wider import refuse_shifted

MOSTLY = 0.8
"""Share of the times that come once for each word, from which the words name places. Own estimate."""
MOST = 60
MEASURED = ("inlet pressure", "outlet pressure", "pressure between the valves", "flow", "meter index")
LOOKED = 5000
HOUR = 3600 * US
MANY = 8
"""Rows of one day from which on a table of dates without times of day is refused."""


def refuse_unfit(lies: Structure, where: str) -> None:
    """Refuse a table whose columns cannot be told, or that holds the rows of several places.

    Raises
    ------
    InputError
        It is one.
    """
    refuse_shifted(lies.parted, where)
    refuse_beside(lies.parted.segments, lies.times, lies.grid.delimiter, where)
    refuse_several(lies.parted.segments, lies.roles, lies.times, where)
    refuse_undated(lies.parted.segments, lies.roles, lies.times, where)
    refuse_half_days(lies.parted.segments, lies.times, where)
    refuse_eaten(lies.parted, lies.times, where)
    refuse_lost(lies.parted, lies.times, where)


def refuse_several(segments: Sequence[Segment], roles: Sequence[Roles], times: Times, where: str) -> None:
    """Refuse a wide table in which each time comes once for each of some words: whose rows are they?

    Raises
    ------
    InputError
        It is one.
    """
    for one, role in zip(segments, roles, strict=True):
        if role.layout != "wide" or len(times.sources) != 1 or times.kind == "start and interval":
            continue
        for at in (*role.unused, *sorted({one for listed in role.flags.values() for one in listed})):
            if names := _names(one, at, times):
                head = one.heads[at] if at < len(one.heads) and one.heads[at] else f"column {at + 1}"
                shown = ", ".join(names[:4]) + (", …" if len(names) > 4 else "")
                raise InputError(
                    where, f"holds rows of {len(names)} in {head!r} ({shown}), each with the same times.",
                    "Give the rows of one of them as a file of its own.",
                )  # fmt: skip


def _names(one: Segment, at: int, times: Times) -> list[str]:
    """Return the words of a column, where nearly every time comes once with each; else nothing."""
    source = times.sources[0]
    seen: Counter[tuple[str, str]] = Counter()
    for _, cells in one.rows[:LOOKED]:
        if at < len(cells) and source.at < len(cells) and isinstance(cells[at], str) and cells[at]:
            clock = cells[source.clock] if source.clock is not None and source.clock < len(cells) else ""
            seen[f"{cells[source.at]} {clock}", str(cells[at])] += 1
    names = list(dict.fromkeys(name for _, name in seen))
    stamps = Counter(stamp for stamp, _ in seen)
    if not 2 <= len(names) <= MOST or len(stamps) < 4 or max(seen.values()) > 1:
        return []
    every = sum(count == len(names) for count in stamps.values())
    return names if every >= MOSTLY * len(stamps) else []


def refuse_undated(segments: Sequence[Segment], roles: Sequence[Roles], times: Times, where: str) -> None:
    """Refuse a table that seems to have dates alone while a column beside them holds times that are not read.

    Raises
    ------
    InputError
        It is one.
    """
    if times.kind != "text" or len(times.sources) != 1 or times.sources[0].clock is not None:
        return
    at = times.sources[0].at
    for one, role in zip(segments, roles, strict=True):
        cells = [row for _, row in one.rows[:LOOKED] if at < len(row)]
        found = [stamp for row in cells if (stamp := as_stamp(row[at])) is not None]
        if not found or any(stamp.clock for stamp in found) or len(found) < 4 * len({s.parts for s in found}):
            continue
        for beside in (*role.unused, *role.values):
            head = one.heads[beside] if beside < len(one.heads) else ""
            shown = next((str(row[beside]) for row in cells if beside < len(row) and row[beside] != ""), "")
            if has(plain(head), words.TIME) and any(letter.isdigit() for letter in shown):
                raise InputError(
                    where, f"has {shown[:30]!r} in its column {head[:40]!r} (row {one.rows[0][0]}), which "
                    "is no time that can be read.",
                    "Write the time of day as 08:15 or 08:15:30.",
                )  # fmt: skip
        days = len({stamp.parts for stamp in found})
        if role.layout == "wide" and len(found) >= MANY * days:
            raise InputError(
                where, f"has dates without a time of day, {len(found) / days:.0f} rows of a day.",
                "Write the time of day beside each date.",
            )  # fmt: skip


def refuse_half_days(segments: Sequence[Segment], times: Times, where: str) -> None:
    """Refuse times from 1:00 to 12:59 without a.m. or p.m.: each comes twice a day.

    Raises
    ------
    InputError
        They are so.
    """
    if times.kind != "text" or len(times.sources) != 1:
        return
    source = times.sources[0]
    at = source.at if source.clock is None else source.clock
    back, before, day = 0, None, object()
    for row in (row for one in segments for _, row in one.rows):
        dated = as_stamp(row[source.at]) if source.at < len(row) else None
        timed = as_stamp(row[at]) if at < len(row) else None
        if dated is None or timed is None or timed.clock is None:
            continue
        if not HOUR <= timed.clock < 13 * HOUR or timed.form.endswith("AM"):
            return
        back += before is not None and dated.parts == day and before - timed.clock > 10 * HOUR
        before, day = timed.clock, dated.parts
    if back > 1:
        raise InputError(
            where, f"has times from 1 to 12 o'clock without a.m. or p.m.; {back} times they begin "
            "anew within a day.",
            "Have it written with 24 hours, or with AM and PM.",
        )  # fmt: skip


def unread_facts(segments: Sequence[Segment], roles: Sequence[Roles]) -> list[Fact]:
    """Return what is told of columns that name a pressure or flow and hold no number that can be read."""
    out: dict[str, Fact] = {}
    for one, role in zip(segments, roles, strict=True):
        for at in role.unused:
            head = one.heads[at] if at < len(one.heads) else ""
            found = said(head)
            if not (found.pressure or found.quantity in MEASURED):
                continue
            first = next(((n, row[at]) for n, row in one.rows if at < len(row) and row[at] != ""), None)
            what = f"{str(first[1])[:20]!r} is no number" if first else "all its cells are empty"
            rows = (first[0],) if first else ()
            out.setdefault(
                head, Fact("column not read", f"Nothing is read of the column {head!r}: {what}.", rows)
            )
    return list(out.values())


def spare_times(segments: Sequence[Segment], times: Times) -> list[Fact]:
    """Return what is told of further columns of whole times, which are not used."""
    heads = segments[0].heads if segments else []
    names = [repr(heads[at]) for at in times.spare if at < len(heads) and heads[at]]
    used = [repr(heads[one.at]) for one in times.sources if one.at < len(heads) and heads[one.at]]
    if not names or not used or times.kind != "text":
        return []
    words = (
        f"Times are read from {used[0]}; of {' and '.join(names)}, which holds times, too, nothing is read."
    )
    return [Fact("column not read", words, ())]
