"""How the proofs of a station stand on a day: by certificates, visits, trips, pieces, and today's design."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any, Literal

from sqlalchemy import Connection, select

from steadyhead.register import Register
from steadyhead.register.reading import order_told
from steadyhead.register.tables import doing, fitting, record, revision
from steadyhead.services.upkeep.intervals import proof_months
from steadyhead.services.visits_kept.design_values import changed, values_of
from steadyhead.services.visits_kept.filing import Filed, filed
from steadyhead.services.visits_kept.run_gist import RunGist, run_gist
from steadyhead.services.visits_kept.run_rows import Run, runs

State = Literal["none", "stands", "due", "stale", "open", "tripped", "refused"]
MONTHS = 12.0
"""From one proof of the trip to the next where nobody set another interval: common practice. [months]"""
MOST_REVISIONS = 20
"""Revisions looked back through for the one that made a proof stale. Own choice."""
SOON = 30
"""Days before its end from which a proof is due. Own choice. [days]"""
NO_DESIGN = "its station file is not kept here: held against no design"
_MOVED = ("taken out", "replaced")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class Standing:
    """The proof state of a station.

    Parameters
    ----------
    state
        none: nothing proved yet; stands; due: its interval ends on `on`; stale: something it rests on was
        touched; open: a visit is under way; tripped: shut by its shut-off; refused: a test failed.
    words
        The state in words, e.g. ``trip proved 14 Apr: 5.11 bar``.
    since, on
        Day since when it is so, and day until which the proof counts; empty where there is none.
    certificate
        Number of the certificate it rests on; empty without one.
    """

    state: State
    words: str
    since: str = ""
    on: str = ""
    certificate: str = ""


def standing(
    connection: Connection,
    register: Register,
    key: str,
    day: date,
    *,
    keep: bool = True,
    is_trip_told: bool = True,
) -> Standing:
    """Return how the proofs of a station stand on a day; nothing kept yet: none.

    keep: the connection writes; what was worked out of runs is kept beside them. is_trip_told: a trip comes
    before all else; without it, how the proofs stand although the station is shut.
    """
    every = filed(connection, key, ("certificate", "trip"))
    visits = runs(connection, key)
    if not every and not visits:
        return Standing("none", "no proof yet")
    gists = _gists(connection, visits, every, day, keep=keep)
    tripped = _tripped(every, visits, gists, day) if is_trip_told else None
    if tripped is not None:
        return tripped
    counting = _counting(every, day)
    last = counting[0] if counting else None
    states = [
        _touched(one, visits, gists, _of_certificate(connection, key, one, day)) for one in _each(counting)
    ]
    shown = min(states, key=_weight, default=None)
    missing = _missing(counting, _shut_offs(connection, key))
    if shown is not None and missing and shown.state != "stale":
        words = f"{', '.join(missing)} not proved; {shown.words}"
        shown = Standing("none", words, shown.since, shown.on, shown.certificate)
    if shown is not None and shown.state == "stale":
        return shown
    under_way = _under_way(visits, gists, every, last)
    return under_way or shown or Standing("none", "no proof yet")


def of_certificates(connection: Connection, key: str, day: date) -> Standing | None:
    """Return how the proofs stand by certificates and today's design alone, the worst; None without one."""
    counting = _counting(filed(connection, key, ("certificate", "trip")), day)
    return min(
        (_of_certificate(connection, key, one, day) for one in _each(counting)), key=_weight, default=None
    )


def _gists(
    connection: Connection, visits: Sequence[Run], every: Sequence[Filed], day: date, *, keep: bool
) -> dict[str, RunGist]:
    """Return the gists of the visits that have no certificate of all their entries."""
    certified = {
        (one.run, int(one.about.get("entries", -1)))
        for one in every
        if one.kind == "certificate" and not one.struck
    }
    return {
        one.id: run_gist(connection, one, keep=keep)
        for one in visits
        if (one.id, one.entries) not in certified and one.at[:10] <= day.isoformat()
    }


def _tripped(
    every: Sequence[Filed], visits: Sequence[Run], gists: Mapping[str, RunGist], day: date
) -> Standing | None:
    """Return that a station is shut by a trip nobody has restarted it from; None where it is not."""
    for one in every:
        since = str(one.about.get("since", ""))
        if one.kind != "trip" or one.struck or _is_to_come(since, day):
            continue
        if not _restarted(since, every, visits, gists, day):
            by = str(one.about.get("valve", "")) or "a shut-off"
            return Standing("tripped", f"tripped, shut since {say_moment(since)} by {by}", since[:10])
    return None


def _restarted(
    since: str, every: Sequence[Filed], visits: Sequence[Run], gists: Mapping[str, RunGist], day: date
) -> bool:
    papers = any(
        one.kind == "certificate"
        and not one.struck
        and one.about.get("kind") == "restart"
        and one.about.get("standing") == "final"
        and not _is_to_come(str(one.about.get("day", "")), day)
        and is_begun_after(str(one.about.get("begun", "")), since)
        for one in every
    )
    struck = _struck_runs(every)
    final = any(
        one.kind == "restart"
        and one.id not in struck
        and gists[one.id].is_final
        and is_begun_after(gists[one.id].first, since)
        for one in visits
        if one.id in gists
    )
    return papers or final


def _struck_runs(every: Sequence[Filed]) -> set[str]:
    """Return the visits whose certificate was struck out and that got no other."""
    papers = [one for one in every if one.kind == "certificate" and one.run]
    return {one.run for one in papers if one.struck} - {one.run for one in papers if not one.struck}


def _is_to_come(when: str, day: date) -> bool:
    """Return whether a moment, or a day anywhere on earth, is to come on a day of UTC."""
    if len(when) <= 10:
        return when > (day + timedelta(days=1)).isoformat()
    return datetime.fromisoformat(when).astimezone(UTC).date() > day


def is_begun_after(begun: str, since: str) -> bool:
    """Return whether a restart was begun when a station had tripped already; whatever is no moment was not.

    begun, since: ISO 8601 with offset; of a trip of which only the day is known the day decides.

    Examples
    --------
    >>> is_begun_after("2027-06-23T02:00+00:00", "2027-06-23T02:47+01:00")
    True
    """
    if len(since) <= 10:
        return begun[:10] >= since
    try:
        return datetime.fromisoformat(begun).replace(second=0, microsecond=0) >= datetime.fromisoformat(since)
    except (ValueError, TypeError):
        return False


def _counting(every: Sequence[Filed], day: date) -> list[Filed]:
    """Return the final certificates that prove something and count here, the newest first.

    A revision takes the place of its former.
    """
    newest = _newest(every)
    counts = [
        one
        for one in newest.values()
        if one.about.get("standing") == "final"
        and one.about.get("proves")
        and not _is_to_come(_signed(one), day)
    ]
    return sorted(counts, key=lambda one: (_moment(_signed(one)), one.at), reverse=True)


def _newest(every: Sequence[Filed]) -> dict[str, Filed]:
    """Return the newest revision of each certificate that is proved and not struck out, by number."""
    newest: dict[str, Filed] = {}
    for one in every:
        if one.kind != "certificate" or one.struck or not one.about.get("proved"):
            continue
        number = str(one.about.get("number"))
        if number not in newest or int(newest[number].about["revision"]) < int(one.about["revision"]):
            newest[number] = one
    return newest


def replaced_by(one: Filed, every: Sequence[Filed]) -> int:
    """Return the revision that takes the place of a certificate; 0 where none does."""
    newest = _newest(every).get(str(one.about.get("number")))
    newer = 0 if newest is None else int(newest.about["revision"])
    return newer if newer > int(one.about.get("revision", 0)) else 0


def followed(every: Sequence[Filed], day: date) -> dict[str, str]:
    """Return, by id, the certificates a later one has taken over from, and the day of that one."""
    counting = _counting(every, day)
    now = _each(counting)
    days = {}
    for one in counting:
        valves = set(one.about.get("valves", ()))
        by = [other for other in now if not valves or valves & set(other.about.get("valves", ()))]
        if one not in now:
            days[one.id] = str((by or now)[0].about["day"])
    return days


def _signed(one: Filed) -> str:
    """Return when a certificate was signed, with offset from UTC; its day, where it says no more.

    Its day is the one on site: east of Greenwich that may be tomorrow, and the proof counts all the same.
    """
    about = one.about
    return str(about.get("signed_at") or about.get("day", ""))


def _moment(iso: str) -> float:
    """Return a moment, or the start of a day. [s since 1970-01-01 UTC]"""
    found = datetime.fromisoformat(iso)
    return (found if found.tzinfo is not None else found.replace(tzinfo=UTC)).timestamp()


def _each(counting: Sequence[Filed]) -> list[Filed]:
    """Return for each shut-off the newest certificate that proves it; of a station without one the newest."""
    guards = counting[0].about.get("guards", ()) if counting else ()
    found = [
        next((one for one in counting if valve in one.about.get("valves", ())), None) for valve in guards
    ]
    return list({one.id: one for one in (*counting[:1], *found) if one is not None}.values())


def _missing(counting: Sequence[Filed], today: Sequence[str]) -> list[str]:
    """Return the shut-offs no certificate proves; `today`: those of the design of today."""
    guards = counting[0].about.get("guards", ()) if counting else ()
    proved = {valve for one in counting for valve in one.about.get("valves", ())}
    return [valve for valve in dict.fromkeys((*guards, *today)) if valve not in proved]


def _shut_offs(connection: Connection, key: str) -> list[str]:
    """Return the shut-offs of the design of today; none where it is not kept or cannot be read."""
    head = _head(connection, key)
    now = values_of(connection, head) if head is not None else None
    return [name.removesuffix(".trip") for name in now or () if name.endswith(".trip")]


def _head(connection: Connection, key: str) -> str | None:
    """Return the hash of the last station file; None where none is kept."""
    c = revision.c
    asked = select(c.file).where(c.station == key).order_by(c.number.desc()).limit(1)
    return connection.execute(asked).scalar()


def _weight(one: Standing) -> tuple[int, str]:
    """Return what puts the worst of several first: stale, then what is due soonest."""
    return (0 if one.state == "stale" else 1, one.on)


def _of_certificate(connection: Connection, key: str, last: Filed, day: date) -> Standing:
    about = last.about
    proved, number = str(about["day"]), str(about.get("number"))
    on = _add_months(proved, _interval(connection, key))
    why, held = _stale_by_design(connection, key, about)
    pieces = _pieces(connection, key, last)
    if why or pieces:
        since = [_changed_since(connection, key, about)] if why else []
        since += [day for _, day in pieces]
        words = (*why, *(words for words, _ in pieces))[0]
        return Standing("stale", f"proof of {say_day(proved)} stale, because {words}", min(since), on, number)
    shown = str(about.get("shown", "")) or "settings proved"
    words = f"proved {say_day(proved)}: {shown}" + ("" if held else f"; {NO_DESIGN}")
    left = (date.fromisoformat(on) - day).days
    if left < 0:
        return Standing("due", f"proof was due on {say_day(on)}; {words}", proved, on, number)
    if left <= SOON:
        return Standing("due", f"proof due on {say_day(on)}; {words}", proved, on, number)
    return Standing("stands", words, proved, on, number)


def _stale_by_design(
    connection: Connection, key: str, about: Mapping[str, Any]
) -> tuple[tuple[str, ...], bool]:
    """Return which values the proof rests on are others today; and whether a design could be compared."""
    head = _head(connection, key)
    then = str(about.get("station_sha256", ""))
    if head is None or head == then:
        return (), head is not None
    was, now = values_of(connection, then), values_of(connection, head)
    if was is None or now is None:
        return (), False
    return changed(was, now, about.get("rests", ())), True


def _changed_since(connection: Connection, key: str, about: Mapping[str, Any]) -> str:
    """Return the day since which each revision of the file has other values than a proof rests on."""
    c = revision.c
    rows = connection.execute(
        select(c.file, c.at).where(c.station == key).order_by(c.number.desc()).limit(MOST_REVISIONS)
    ).all()
    was, since = values_of(connection, str(about.get("station_sha256", ""))), ""
    for file, at in rows:
        now = values_of(connection, file)
        if since and (was is None or now is None or not changed(was, now, about.get("rests", ()))):
            break
        since = str(at)[:10]
    return max(since, str(about["day"]))


def _pieces(connection: Connection, key: str, last: Filed) -> tuple[tuple[str, str], ...]:
    """Return what was put in or taken out since the proof, of what it rests on, and the day."""
    c = fitting.c
    proved, rests = str(last.about["day"]), tuple(last.about.get("rests", ()))
    rows = connection.execute(
        select(c.id, c.place, c.what, c.on, c.at).where(c.station == key, c.on >= proved).order_by(c.on, c.at)
    ).all()
    struck = select(doing.c.strikes).where(doing.c.station == key, doing.c.what == "struck")
    gone = set(connection.execute(struck).scalars()) if rows else set()
    put, made = ({}, {}) if all(row.on > proved for row in rows) else _told(connection, key)
    since = made.get(last.id, 0)  # of the same day: by the chain, also where a clock was set back
    later = [row for row in rows if row.id not in gone and (row.on > proved or put.get(row.id, 0) > since)]
    return tuple(
        dict.fromkeys(
            (
                f"{row.place} was {'replaced' if row.what == 'in' else 'taken out'} on {say_day(row.on)}",
                row.on,
            )
            for row in later
            if _is_under(row.place, rests)
        )
    )


def _told(connection: Connection, key: str) -> tuple[dict[str, int], dict[str, int]]:
    """Return the links that tell of each fitting and of each record of a station."""
    return order_told(connection, key, fitting), order_told(connection, key, record)


def _is_under(place: str, rests: Sequence[str]) -> bool:
    """Return whether a proof rests on a place: the part itself, or something of it."""
    name = place.replace("/", ".")
    return any(one == name or one.startswith(f"{name}.") or name.startswith(f"{one}.") for one in rests)


def _touched(last: Filed, visits: Sequence[Run], gists: Mapping[str, RunGist], shown: Standing) -> Standing:
    """Return that a proof is stale by a later visit that touched what it rests on; else as it was."""
    if shown.state == "stale":
        return shown
    rests = set(last.about.get("rests", ()))
    for one in visits:
        gist = gists.get(one.id)
        if gist is None:
            continue
        is_later = one.id == last.run or gist.ended > str(last.about["day"]) or one.at > last.at
        for thing, words, on in gist.touched if is_later else ():
            if thing in rests and on >= str(last.about["day"]):
                why = f"{words} was touched on {say_day(on)}"
                proved = say_day(str(last.about["day"]))
                return replace(
                    shown, state="stale", words=f"proof of {proved} stale, because {why}", since=on
                )
    return shown


def _under_way(
    visits: Sequence[Run], gists: Mapping[str, RunGist], every: Sequence[Filed], last: Filed | None
) -> Standing | None:
    """Return that a visit is under way, or that what it tested failed; None where none is open."""
    final = {
        one.run
        for one in every
        if one.kind == "certificate" and not one.struck and one.about.get("standing") == "final"
    }
    struck = _struck_runs(every)
    for one in visits:
        gist = gists.get(one.id)
        if gist is None or (one.id in final and gist.is_final):
            continue
        if last is not None and gist.ended and gist.ended < str(last.about["day"]):
            continue
        if one.left and not (gist.refused or gist.stale):
            continue
        number = str(last.about.get("number", "")) if last is not None else ""
        begun = say_day(gist.begun or one.at[:10])
        lost = (*gist.refused, *gist.stale)
        if lost:
            word = "refused" if gist.refused else "stale"
            return Standing(
                "refused", f"visit of {begun}: {', '.join(lost[:2])} {word}", gist.ended, "", number
            )
        if gist.is_final:
            left = "signed, no certificate yet" if gist.signed else "all proved, not signed"
            left = "its certificate is struck out" if one.id in struck else left
        else:
            left = f"{gist.done} of {gist.steps} steps done"
        return Standing("open", f"visit of {begun} open: {left}", gist.begun, "", number)
    return None


def _interval(connection: Connection, key: str) -> float:
    """Return the interval in force, as upkeep works it out. [months]"""
    return proof_months(connection, key) or MONTHS


def _add_months(day: str, months: float) -> str:
    """Return a day some months later, the last of the month where it has no such day.

    Examples
    --------
    >>> _add_months("2027-01-31", 1.0), _add_months("2027-04-14", 12.0)
    ('2027-02-28', '2028-04-14')
    """
    from calendar import monthrange

    start = date.fromisoformat(day)
    at = start.year * 12 + start.month - 1 + round(months)
    year, month = divmod(at, 12)
    return date(year, month + 1, min(start.day, monthrange(year, month + 1)[1])).isoformat()


def say_day(iso: str) -> str:
    """Return a day as it is read: ``14 Apr 2027``; what is no day stays as it is."""
    try:
        found = date.fromisoformat(iso[:10])
    except ValueError:
        return iso
    return f"{found.day} {_MONTHS[found.month - 1]} {found.year}"


def say_moment(iso: str) -> str:
    """Return a moment as it is read: day, and hour where it has one.

    Examples
    --------
    >>> say_moment("2027-06-23T02:47+01:00"), say_moment("2027-06-23")
    ('23 Jun 2027, 02:47', '23 Jun 2027')
    """
    clock = iso[11:16]
    return f"{say_day(iso)}, {clock}" if clock else say_day(iso)


def open_trips(every: Sequence[Filed]) -> Iterator[Filed]:
    """Yield the trips that were reported and not struck out, the newest first."""
    yield from (one for one in every if one.kind == "trip" and not one.struck)
