"""What is due in a chosen span over all stations: why before when, grouped by isolation, a page at a time."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict
from sqlalchemy import ColumnElement, Connection, and_, func, select

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.tables import audit, due, station
from steadyhead.services.stations.judged import today
from steadyhead.services.upkeep.lines import DueLine, line_of
from steadyhead.upkeep.activities import BY_KEY
from steadyhead.upkeep.cautions import DEFERS
from steadyhead.upkeep.days import LAST, later, read_day
from steadyhead.upkeep.grouping import Line, group
from steadyhead.upkeep.places import isolation_words
from steadyhead.upkeep.waiting import NO_CLAIM
from steadyhead.upkeep.words import state_words

PAGE = 50
"""Rows of one page."""
SPAN_MONTHS = 3.0
"""Span that is shown where none is chosen. [months]"""
LONGEST_FIND = 100
MOST_WORDS = 8
MOST_PULLED = 400
"""Lines looked at for what goes together, on one page. Own estimate."""
MOST_FROM = 1_000_000

Show = Literal["work", "protection", "overdue", "deferred", "looks", "all"]
SHOWS: dict[Show, str] = {
    "work": "work", "protection": "protection", "overdue": "overdue", "deferred": "deferred",
    "looks": "looks and readings", "all": "all",
}  # fmt: skip
By = Literal["why", "day", "place"]
SORTS: dict[By, str] = {"why": "why: what waiting costs", "day": "day", "place": "zone and station"}
_C = due.c
_COLUMNS = (_C.station, _C.place, _C.activity, _C.on, _C.until, _C.pull_from, _C.weighs, _C.isolation,
            _C.name, _C.zone, _C.body)  # fmt: skip


class Together(BaseModel):
    """Something worth doing with the same isolation: what, where, and when it would be due."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    place: str
    activity: str
    does: str
    on: str
    state: str


class DueGroup(BaseModel):
    """What is due at one station under one isolation, and what is worth doing with it.

    isolation: the section shut off for it, empty where nothing is shut; isolation_words: in words.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    station: str
    name: str
    zone: str
    isolation: str
    isolation_words: str
    lines: tuple[DueLine, ...]
    together: tuple[Together, ...]


class UpkeepView(BaseModel):
    """A page of what is due.

    day: as of when; until: end of the span; first, last: numbers of the rows, from 1; total: all of them;
    before, after: number of rows passed on the pages before and after, −1 where there is none.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    day: str
    until: str
    q: str
    show: Show
    by: By
    first: int
    last: int
    total: int
    before: int
    after: int
    groups: tuple[DueGroup, ...]
    no_claim: str = NO_CLAIM
    defers: str = DEFERS


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked for, checked."""

    day: date
    until: date
    q: str
    show: Show
    by: By

    def where(self) -> list[ColumnElement[bool]]:
        """Return what a row must fulfil, what it weighs left away."""
        found: list[ColumnElement[bool]] = [_C.on <= self.until.isoformat()]
        if self.show == "overdue":
            found.append(_C.on < self.day.isoformat())
        if self.show == "deferred":
            found = [_C.until > ""]
        if self.q:
            words = self.q.casefold().split()[:MOST_WORDS]
            names = [station.c.search.contains(word, autoescape=True) for word in words]
            found.append(_C.station.in_(select(station.c.key).where(and_(*names))))
        return found

    @property
    def classes(self) -> tuple[int, ...]:
        """What the rows may weigh, most first."""
        return {"protection": (3,), "looks": (0,), "all": (3, 2, 1, 0), "deferred": (3, 2, 1, 0)}.get(
            self.show, (3, 2, 1)
        )


def asked(
    until: str = "", q: str = "", show: str = "work", by: str = "why", day: date | None = None
) -> Asked:
    """Return what is asked for.

    Parameters
    ----------
    until
        Last day of the span; empty: three months from today.
    q
        Words that must all be found of the station: name, zone, key.
    show, by
        A key of `SHOWS` and of `SORTS`.

    Raises
    ------
    InputError
        What cannot be shown, sorted by or found.
    """
    day = day or today()
    if show not in SHOWS:
        raise InputError("show", f"got {show[:40]!r}.", f"Use one of: {', '.join(SHOWS)}.")
    if by not in SORTS:
        raise InputError("by", f"got {by[:40]!r}.", f"Use one of: {', '.join(SORTS)}.")
    if len(q) > LONGEST_FIND or "\0" in q:
        raise InputError("q", f"has {len(q)} signs.", f"Find by {LONGEST_FIND} signs at most.")
    end = read_day("until", until, last=LAST) if until.strip() else later(day, SPAN_MONTHS)
    return Asked(day, end, " ".join(q.split()), show, by)


def all_due(register: Register, wanted: Asked, begin: int = 0, most: int = PAGE) -> UpkeepView:
    """Return a page of what is due; begin: rows passed.

    Raises
    ------
    InputError
        A page that cannot be.
    """
    if not 0 <= begin <= MOST_FROM:
        raise InputError("from", f"got {begin}.", f"Write 0 to {MOST_FROM}.")
    with register.reading() as connection:
        counts = _counts(register, connection, wanted)
        total = sum(counts.values())
        rows = _rows(connection, wanted, counts, begin, most)
        others = _others(connection, rows, wanted, MOST_PULLED * max(1, most // PAGE))
    return UpkeepView(
        day=wanted.day.isoformat(),
        until=wanted.until.isoformat(),
        q=wanted.q,
        show=wanted.show,
        by=wanted.by,
        first=begin + 1 if rows else 0,
        last=begin + len(rows),
        total=total,
        before=max(0, begin - most) if begin else -1,
        after=begin + most if begin + len(rows) < total else -1,
        groups=_grouped(rows, others, wanted.day),
    )


def _rows(
    connection: Connection, wanted: Asked, counts: Mapping[int, int], begin: int, most: int
) -> list[Any]:
    """Return the rows of a page; by what waiting costs each class is read by its own index."""
    query = select(*_COLUMNS).where(*wanted.where())
    if wanted.by != "why":
        order = (_C.on, _C.station) if wanted.by == "day" else (_C.zone, _C.name, _C.on)
        low, high = min(wanted.classes), max(wanted.classes)
        unsorted = _C.weighs + 0  # so that the index of the order is read, and not that of the weights
        kept = query.where(unsorted >= low, unsorted <= high).order_by(*order, _C.place, _C.activity)
        return list(connection.execute(kept.limit(most).offset(begin)).all())
    found: list[Any] = []
    passed = begin
    for weighs in wanted.classes:
        here = counts.get(weighs, 0)
        if passed >= here:
            passed -= here
            continue
        one = query.where(_C.weighs == weighs).order_by(_C.on, _C.station, _C.place, _C.activity)
        found += connection.execute(one.limit(most - len(found)).offset(passed)).all()
        passed = 0
        if len(found) >= most:
            break
    return found


_counted: OrderedDict[tuple[Any, ...], Mapping[int, int]] = OrderedDict()
COUNTS_AT_HAND = 64
"""Counts held at hand, until something is written. Own estimate."""


def _counts(register: Register, connection: Connection, wanted: Asked) -> Mapping[int, int]:
    """Return how many rows there are of each weight; counted again when something was written."""
    head = connection.execute(select(func.max(audit.c.seq))).scalar()
    key = (str(register.engine.url), head, wanted)
    found = _counted.get(key)
    if found is None:
        query = select(_C.weighs, func.count()).where(_C.weighs.in_(wanted.classes), *wanted.where())
        rows = connection.execute(query.group_by(_C.weighs)).all()
        found = {int(weighs): int(count) for weighs, count in rows}
        _counted[key] = found
        while len(_counted) > COUNTS_AT_HAND:
            _counted.popitem(last=False)
    return found


def _others(connection: Connection, rows: Sequence[Any], wanted: Asked, most: int) -> list[Any]:
    """Return what may be worth doing with the same isolation, at the stations of a page."""
    keys = {row.station for row in rows if row.isolation}
    if not keys:
        return []
    visit = max([wanted.day.isoformat(), *(row.on for row in rows)])
    query = (
        select(_C.station, _C.place, _C.activity, _C.on, _C.until, _C.pull_from, _C.isolation)
        .where(_C.station.in_(keys), _C.isolation > "", _C.pull_from <= visit, _C.weighs > 0)
        .order_by(_C.on, _C.station, _C.place, _C.activity)
        .limit(most)
    )
    return list(connection.execute(query).all())


def _grouped(rows: Sequence[Any], others: Sequence[Any], day: date) -> tuple[DueGroup, ...]:
    by_key = {_key(row): row for row in rows}
    more = {_key(row): row for row in others}
    found = []
    for one in group([_line(row) for row in rows], [_line(row) for row in others], day):
        lines = tuple(line_of(by_key[key], day) for key in one.due)
        found.append(
            DueGroup(
                station=one.station,
                name=lines[0].name,
                zone=lines[0].zone,
                isolation=one.isolation,
                isolation_words=isolation_words(one.isolation) if one.isolation else "",
                lines=lines,
                together=tuple(_together(more[key], day) for key in one.pulled),
            )
        )
    return tuple(found)


def _together(row: Any, day: date) -> Together:
    until = date.fromisoformat(row.until) if row.until else None
    return Together(
        place=row.place,
        activity=row.activity,
        does=BY_KEY[row.activity].does,
        on=row.on,
        state=state_words(date.fromisoformat(row.on), until, day)[1],
    )


def _key(row: Any) -> str:
    return f"{row.station}\0{row.place}\0{row.activity}"


def _line(row: Any) -> Line:
    return Line(
        _key(row), row.station, row.isolation, date.fromisoformat(row.on), date.fromisoformat(row.pull_from)
    )
