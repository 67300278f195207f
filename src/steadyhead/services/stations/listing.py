"""The list of all stations: find by words, filter, sort, and turn pages by key; SQL does all of it."""

from __future__ import annotations

import json
import threading
import time
from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict
from sqlalchemy import (
    Column,
    ColumnElement,
    Connection,
    Integer,
    Select,
    and_,
    bindparam,
    case,
    func,
    or_,
    select,
)

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.tables import audit, gist, station
from steadyhead.services.stations.days import today
from steadyhead.services.stations.kept import LONGEST_KEY
from steadyhead.services.stations.situation import (
    DOWN,
    HEED,
    NEEDS_SOMEBODY,
    OVERDUE,
    say_day,
)

PAGE = 50
"""Rows of one page."""
LONGEST_FIND = 100
"""Longest text to find by. [characters]"""
MOST_WORDS = 8
LATEST = "9999-12-31"
"""Stands for no day where days are sorted."""

Show = Literal["all", "needs", "shut", "unproved", "stale", "proof-due", "overdue", "unreleased", "off"]
SHOWS: dict[Show, str] = {
    "all": "all",
    "needs": "need somebody",
    "shut": "tripped or shut",
    "unproved": "nothing proved",
    "stale": "proof stale or refused",
    "proof-due": "proof due",
    "overdue": "overdue",
    "unreleased": "not released",
    "off": "off the list",
}
"""What may be shown, and what it is called."""
By = Literal["need", "name", "due", "changed"]
SORTS: dict[By, str] = {"need": "need", "name": "name", "due": "next due", "changed": "last change"}
"""What the list may be sorted by."""
_C = station.c
_SHOWN: tuple[Column[Any], ...] = (
    _C.key,
    _C.name,
    _C.place,
    _C.weight,
    _C.worst,
    _C.proof,
    _C.proof_words,
    _C.next_due,
    _C.due_words,
    _C.changed_at,
    _C.released,
    _C.struck,
)

COLUMNS = tuple(one.name for one in _SHOWN)
"""Names of the columns that `rows_listed` yields."""


class ListedStation(BaseModel):
    """One row. Pressures Pa gauge at datum; null: not stated. `because` of the worst stands in its words.

    group: ``needs``, ``heed`` or ``order``; worst: what is most serious, empty where the station is in order;
    also: how much else there is; then: what to do next.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    key: str
    name: str
    place: str
    group: str
    weight: int
    mark: str
    worst: str
    also: int
    then: str
    proof: str
    proof_mark: str
    proof_words: str
    next_due: str
    due_words: str
    is_overdue: bool
    changed_at: str
    released: str
    struck: str
    inlet_lowest_pa: float
    inlet_typical_pa: float
    inlet_static_pa: float
    duty_pa: float | None
    alarm_pa: float | None
    trip_pa: float | None
    limit_pa: float | None
    read_pa: float | None
    read_day: str


class StationsView(BaseModel):
    """A page of the list.

    q, show, by: what was asked for; counts: stations found, by what may be shown; first, last: numbers of the
    rows, from 1; total: all rows of this list; before: key the page before ends at, for `to`; after: key the
    page after begins with, for `from`.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    day: str
    q: str
    show: Show
    by: By
    counts: dict[str, int]
    first: int
    last: int
    total: int
    before: str
    after: str
    rows: tuple[ListedStation, ...]


@dataclass(frozen=True, slots=True)
class Drawn:
    """What a page needs of each row beside the view: the line as SVG, and the pressures of its labels."""

    svg: str
    labels: tuple[float, ...]


def listed(
    register: Register,
    q: str = "",
    show: str = "all",
    by: str = "need",
    begin: str = "",
    until: str = "",
    day: date | None = None,
    most: int = PAGE,
) -> tuple[StationsView, tuple[Drawn, ...]]:
    """Return a page of the list.

    Parameters
    ----------
    q
        Words that must all be found: of name, place, key, findings, serials.
    show, by
        A key of `SHOWS` and of `SORTS`.
    begin, until
        Key of the station the page begins with, or of the one it ends before; without one, or with a key that
        is not kept, the first page.

    Raises
    ------
    InputError
        What cannot be shown, sorted by or found.
    """
    asked = _asked(q, show, by, day or today())
    with register.reading() as connection:
        counts, is_fresh = _counts(register, connection, asked)
        sql = _sql(asked.show, asked.by, len(asked.words), is_fresh=is_fresh)
        given = asked.given()
        anchor = _anchor(connection, sql, given, begin or until)
        is_back = anchor is not None and not begin
        earlier = connection.execute(sql.count_before, given | anchor).scalar_one() if anchor else 0
        query = sql.first if anchor is None else sql.back if is_back else sql.on
        rows = connection.execute(query, given | (anchor or {}) | {"most": most + 1}).all()
    more = len(rows) > most
    shown = rows[:most][::-1] if is_back else rows[:most]
    passed = max(earlier - len(shown), 0) if is_back else earlier
    lines = [json.loads(one.line) for one in shown]
    view = StationsView(
        day=asked.day,
        q=" ".join(asked.words),
        show=asked.show,
        by=asked.by,
        counts=counts,
        first=passed + 1 if shown else 0,
        last=passed + len(shown),
        total=counts[asked.show],
        before=shown[0].key if shown and passed else "",
        after=until if is_back else rows[most].key if more else "",
        rows=tuple(_row(one, line, asked.day) for one, line in zip(shown, lines, strict=True)),
    )
    return view, tuple(Drawn(one["svg"], tuple(one["labels"])) for one in lines)


def rows_listed(
    connection: Connection, q: str = "", show: str = "all", by: str = "need", day: date | None = None
) -> Iterator[dict[str, Any]]:
    """Yield every station of a list in its order, its narrow columns by name: for papers and tables of it.

    Raises
    ------
    InputError
        As `listed`.
    """
    asked = _asked(q, show, by, day or today())
    sql = _sql(asked.show, asked.by, len(asked.words), is_fresh=False)
    for row in connection.execute(sql.whole, asked.given()):
        yield dict(row._mapping)


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is asked for."""

    words: tuple[str, ...]
    show: Show
    by: By
    day: str

    def given(self) -> dict[str, Any]:
        """Return what the statements are filled in with."""
        return {"day": self.day} | {f"word{at}": _like(word) for at, word in enumerate(self.words)}


def _like(word: str) -> str:
    """Return a word as a pattern that finds it anywhere, its own signs taken as they are."""
    for sign in ("/", "%", "_"):
        word = word.replace(sign, f"/{sign}")
    return f"%{word.casefold()}%"


@dataclass(frozen=True, slots=True)
class _Sql:
    """The statements of one way to show and sort the list, made once; filled in with `_Asked.given`.

    first: rows of the first page; on: from an anchor (``there``, ``key``) on; back: those before it, the
    nearest first; count_before; value: what a station is sorted by; whole: the whole list.
    """

    first: Select[Any]
    on: Select[Any]
    back: Select[Any]
    count_before: Select[Any]
    value: Select[Any]
    whole: Select[Any]


@lru_cache(maxsize=512)
def _sql(show: Show, by: By, words: int, *, is_fresh: bool) -> _Sql:
    """Return the statements; is_fresh: whether no gist is older than something that fell due since."""
    value, is_down = _sorts(by, is_fresh=is_fresh)
    where = _where(show, words)
    there: ColumnElement[Any] = bindparam("there")
    key: ColumnElement[str] = bindparam("key")
    before = or_(value > there if is_down else value < there, and_(value == there, _C.key < key))
    after = or_(value < there if is_down else value > there, and_(value == there, _C.key >= key))
    order = [value.desc() if is_down else value.asc(), _C.key.asc()]
    backwards = [value.asc() if is_down else value.desc(), _C.key.desc()]
    narrow = select(_C.key, value.label("sorted"))
    return _Sql(
        first=_page(narrow.where(*where).order_by(*order), is_down=is_down),
        on=_page(narrow.where(*where, after).order_by(*order), is_down=is_down),
        back=_page(narrow.where(*where, before).order_by(*backwards), is_down=not is_down, is_back=True),
        count_before=select(func.count()).select_from(station).where(*where, before),
        value=select(value).where(_C.key == key),
        whole=select(*_SHOWN).where(*where).order_by(*order),
    )


def _page(narrow: Select[Any], *, is_down: bool, is_back: bool = False) -> Select[Any]:
    """Return what reads a page: narrow rows are found and sorted, only those of the page are read whole."""
    found = narrow.limit(bindparam("most", type_=Integer)).subquery()
    whole = select(*_SHOWN, gist.c.line).select_from(
        found.join(station, _C.key == found.c.key).join(gist, gist.c.station == found.c.key)
    )
    value = found.c.sorted.desc() if is_down else found.c.sorted.asc()
    return whole.order_by(value, found.c.key.desc() if is_back else found.c.key.asc())


def _is_late() -> ColumnElement[bool]:
    return and_(_C.next_due != "", _C.next_due < bindparam("day"))


def _weight() -> ColumnElement[int]:
    """Return the weight as of the day, also where the gist is of an earlier one."""
    return case((and_(_is_late(), _C.weight < OVERDUE), OVERDUE), else_=_C.weight)


def _sorts(by: By, *, is_fresh: bool) -> tuple[ColumnElement[Any], bool]:
    """Return what is sorted by, and whether the greatest comes first; equal ones follow by key."""
    if by == "name":
        return func.lower(_C.name), False
    if by == "due":
        return case((_C.next_due == "", LATEST), else_=_C.next_due), False
    if by == "changed":
        return _C.changed_at, True
    return (_C.weight if is_fresh else _weight()), True


def _of(show: str) -> ColumnElement[bool]:
    """Return what tells the stations of a choice from the others on the list."""
    asks: dict[str, ColumnElement[bool]] = {
        "needs": _weight() >= NEEDS_SOMEBODY,
        "shut": _C.weight >= DOWN,
        "unproved": _C.proof == "none",
        "stale": _C.proof.in_(("stale", "refused")),
        "proof-due": _C.proof == "due",
        "overdue": _is_late(),
        "unreleased": _C.released == "",
    }
    return asks[show]


def _where(show: str, words: int) -> list[ColumnElement[bool]]:
    # Words stand in the rows themselves; an index of what is struck would only lead there the long way.
    struck = _C.struck + "" if words else _C.struck
    on_list = struck != "" if show == "off" else struck == ""
    narrower = [] if show in ("all", "off") else [_of(show)]
    return [on_list, *narrower, *(_C.search.like(bindparam(f"word{at}"), escape="/") for at in range(words))]


def _anchor(connection: Connection, sql: _Sql, given: dict[str, Any], key: str) -> dict[str, Any] | None:
    """Return what the station at the edge of a page is sorted by; None where there is no such station."""
    if not key or len(key) > LONGEST_KEY:
        return None
    found = connection.execute(sql.value, given | {"key": key}).first()
    return None if found is None else {"there": found[0], "key": key}


def _asked(q: str, show: str, by: str, day: date) -> _Asked:
    words = " ".join("".join(one if one.isprintable() else " " for one in q).split())
    if len(words) > LONGEST_FIND:
        raise InputError("q", f"got {len(words)} characters.", f"Find by {LONGEST_FIND} characters at most.")
    if len(words.split()) > MOST_WORDS:
        raise InputError("q", f"got {len(words.split())} words.", f"Find by {MOST_WORDS} words at most.")
    if show not in SHOWS:
        raise InputError("show", f"got {show[:40]!r}.", f"Use one of: {', '.join(SHOWS)}.")
    if by not in SORTS:
        raise InputError("by", f"got {by[:40]!r}.", f"Use one of: {', '.join(SORTS)}.")
    return _Asked(tuple(words.split()), show, by, day.isoformat())


Counted = tuple[dict[str, int], bool]
_counted: OrderedDict[tuple[str, _Asked], tuple[int, float, Counted]] = OrderedDict()
_alone = threading.Lock()
COUNT_LASTS = 5.0
"""How long a count may be shown again where the chain tells of no change; of a new day it does not. [s]"""
MOST_COUNTED = 64
_LAST = select(func.max(audit.c.seq))


def _counts(register: Register, connection: Connection, asked: _Asked) -> Counted:
    """Return how many stations found by the words each choice shows, and whether all gists are fresh."""
    name = (str(register.engine.url), replace(asked, show="all", by="need"))
    now, last = time.monotonic(), connection.execute(_LAST).scalar() or 0
    with _alone:
        held = _counted.get(name)
    if held is not None and held[0] == last and now - held[1] < COUNT_LASTS:
        return held[2]
    counted = _count(connection, asked)
    with _alone:
        _counted[name] = (last, now, counted)
        _counted.move_to_end(name)
        while len(_counted) > MOST_COUNTED:
            _counted.popitem(last=False)
    return counted


def _count(connection: Connection, asked: _Asked) -> Counted:
    on_list, off = _counting(len(asked.words))
    given = asked.given()
    *found, old = connection.execute(on_list, given).one()
    struck = connection.execute(off, given).scalar_one()
    counts: dict[str, int] = {
        show: int(count or 0) for show, count in zip(SHOWS, (*found, struck), strict=True)
    }
    return counts, not old


@lru_cache(maxsize=MOST_WORDS + 1)
def _counting(words: int) -> tuple[Select[Any], Select[Any]]:
    columns: list[ColumnElement[Any]] = [func.count()]
    columns += [func.sum(case((_of(show), 1), else_=0)) for show in SHOWS if show not in ("all", "off")]
    columns.append(func.sum(case((and_(_is_late(), _C.weight < OVERDUE), 1), else_=0)))
    return (
        select(*columns).where(*_where("all", words)),
        select(func.count()).select_from(station).where(*_where("off", words)),
    )


def _row(found: Any, line: dict[str, Any], day: str) -> ListedStation:
    late = bool(found.next_due) and found.next_due < day
    weight, mark, worst = found.weight, line["mark"], found.worst
    if late and weight < OVERDUE:
        weight, mark = OVERDUE, "due"
        worst = f"{found.due_words} overdue since {say_day(found.next_due)}"
    low, usual, high = line["inlet"]
    return ListedStation(
        key=found.key,
        name=found.name,
        place=found.place,
        group="needs" if weight >= NEEDS_SOMEBODY else "heed" if weight >= HEED else "order",
        weight=weight,
        mark=mark,
        worst=worst,
        also=line["also"],
        then=line["then"],
        proof=found.proof,
        proof_mark=line["proof_mark"],
        proof_words=found.proof_words,
        next_due=found.next_due,
        due_words=found.due_words,
        is_overdue=late,
        changed_at=found.changed_at,
        released=found.released,
        struck=found.struck,
        inlet_lowest_pa=low,
        inlet_typical_pa=usual,
        inlet_static_pa=high,
        duty_pa=line["duty"],
        alarm_pa=line["alarm"],
        trip_pa=line["trip"],
        limit_pa=line["limit"],
        read_pa=line["read"],
        read_day=line["read_day"],
    )
