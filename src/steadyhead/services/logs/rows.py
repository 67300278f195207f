"""The rows of one channel from a time on: what each says, how it stands, and which file it is from."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import quote, urlencode

import polars as pl

from steadyhead.register import Register
from steadyhead.register.logs import KeptChannel, LogsFolder, Part
from steadyhead.register.logs.frames import shown
from steadyhead.services.logs.giving import ROW
from steadyhead.services.logs.seen import shown_as, window
from steadyhead.services.logs.spells import WORDS, Spell, marks, spells
from steadyhead.services.logs.views import View, moment
from steadyhead.units import METRIC, UnitSet
from steadyhead.watch.reading import as_stated

MOST = 200
BEFORE = 3
"""Rows shown before the time asked for."""
MARKED = 1 << 31


class RowView(View):
    """A sample: time, as shown and as stated (None: no value), standing, logger's mark, row, import, file."""

    at: str
    shown: float | None
    stated: float | None
    standing: str
    is_marked: bool
    row: int
    number: int
    file: int


class RowsPage(View):
    """Rows of a channel from a time on, a few before it; next: time of the row after, empty at the end."""

    format: str = "steadyhead/logs-rows/1"
    station: str
    channel: str
    names: tuple[str, ...]
    start: str
    unit: str
    unit_stated: str
    digits: int
    rows: tuple[RowView, ...]
    next: str


class AtView(View):
    """The last sample of a channel up to a moment: time (empty: none), SI, standing, row, and its rows."""

    channel: str
    at: str
    si: float | None
    standing: str
    row: int
    rows: str


class MomentView(View):
    """What each channel held at a moment: its last sample up to then."""

    format: str = "steadyhead/logs-moment/1"
    station: str
    at: str
    values: tuple[AtView, ...]


def moment_view(
    register: Register, logs: LogsFolder, key: str, at: int, names: Sequence[str] = ()
) -> MomentView:
    """Return the last sample of each channel up to a moment. [µs since 1970 UTC]

    Raises
    ------
    NotKept
        No such station.
    InputError
        No such channel; a file of samples that is not there.
    """
    asked = window(register, key, None, None, names)
    told = spells(register, key, at - 1, at + 1)
    values = tuple(_at(logs, key, told, one, at) for one in asked.chosen)
    return MomentView(station=key, at=moment(at), values=values)


def _at(logs: LogsFolder, key: str, told: Sequence[Spell], one: KeptChannel, at: int) -> AtView:
    before = [each for each in one.parts if each[1].first <= at]
    last = _month(before, max((part.month for _, part in before), default=""))
    found = shown(logs, last).filter(pl.col("t").dt.epoch("us") <= at).tail(1).collect()
    if not found.height:
        return AtView(channel=one.name, at="", si=None, standing="", row=0, rows="")
    t, v = found["t"].dt.epoch("us").to_numpy(), found["v"].fill_null(float("nan")).to_numpy()
    asked = urlencode({"channel": one.name, "start": moment(int(t[0]))})
    return AtView(
        channel=one.name, at=moment(int(t[0])), si=found["v"][0],
        standing=WORDS[int(marks(told, one, t, t, v)[0])], row=int(found["row"][0]) & ROW,
        rows=f"/stations/{quote(key)}/logs/rows?{asked}",
    )  # fmt: skip


def rows_page(
    register: Register, logs: LogsFolder, key: str, name: str, start: int | None, units: UnitSet = METRIC
) -> RowsPage:
    """Return rows of a channel from a time on. [µs since 1970 UTC]

    Raises
    ------
    NotKept
        No such station.
    InputError
        No such channel; a file of samples that is not there.
    """
    asked = window(register, key, None, None, (name,) if name else ())
    one = asked.chosen[0]
    start = one.first if start is None else start
    at = pl.col("t").dt.epoch("us")
    near = [(number, part) for number, part in one.parts if part.last >= start]
    behind = [each for each in one.parts if each[1].first < start]
    before = (
        shown(logs, _month(behind, max((part.month for _, part in behind), default="")))
        .filter(at < start)
        .tail(BEFORE)
        .collect()
    )
    after = (
        shown(logs, _month(near, min((part.month for _, part in near), default="")))
        .filter(at >= start)
        .head(MOST + 1)
        .collect()
    )
    if after.height <= MOST:
        after = shown(logs, near).filter(at >= start).head(MOST + 1).collect()
    found = pl.concat([before, after.head(MOST)])
    stated = as_stated(one.channel, found.lazy()).collect()["v"].to_list()
    times = found["t"].dt.epoch("us").to_numpy()
    told = spells(register, key, int(times[0]), int(times[-1]) + 1) if times.size else ()
    stands = marks(told, one, times, times, found["v"].fill_null(float("nan")).to_numpy())
    how = shown_as(one.channel, units)
    rows = []
    for place, (v, flag, row) in enumerate(found.select("v", "flag", "row").iter_rows()):
        t = int(times[place])
        number = next(
            (n for n, part in sorted(one.parts, key=lambda e: e[0]) if part.first <= t <= part.last), 0
        )
        rows.append(
            RowView(
                at=moment(t), shown=None if v is None else how.figure(v), stated=stated[place],
                standing=WORDS[int(stands[place])], is_marked=bool(flag & MARKED), row=row & ROW,
                number=number, file=row >> 40,
            )
        )  # fmt: skip
    after_at = int(after["t"].dt.epoch("us")[MOST]) if after.height > MOST else None
    return RowsPage(
        station=key, channel=one.name, names=tuple(each.name for each in asked.every), start=moment(start),
        unit=how.unit, unit_stated=one.channel.unit_as_found, digits=how.digits, rows=tuple(rows),
        next="" if after_at is None else moment(after_at),
    )  # fmt: skip


def _month(parts: Sequence[tuple[int, Part]], wanted: str) -> list[tuple[int, Part]]:
    """Return the parts of a month; parts of different months never meet."""
    return [each for each in parts if each[1].month == wanted]
