"""What every entry carries beside what it says: its id, its device and number there, who, and when."""

from __future__ import annotations

import platform
import secrets
import time
import uuid
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from steadyhead.errors import InputError
from steadyhead.records.entry import Entry, clock_micros
from steadyhead.services.entering.book import Book
from steadyhead.services.entering.draft import Draft

_OF_DAY = ("%H:%M", "%H:%M:%S")
CLOCK_WITHIN = 5.0
"""How well a machine's clock is known where nothing compares it: set by its network within a second, by hand
within some. Own estimate. [s]"""
TYPED_WITHIN = 60.0
"""How well a time is known that a person gave to the minute, afterwards. Own estimate. [s]"""

EARLIEST = datetime(1970, 1, 1, tzinfo=UTC)
"""Times of entries are counted from here."""
AHEAD = timedelta(days=3653)
"""How far a typed time may lie ahead of the machine's clock: a clock may be off by years, a slip is off
by more. What lies ahead by less is told. Own estimate."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """Who enters, on what, and for which time.

    at: as typed, where it is entered after the event; empty: now. who, device: empty where left out, and then
    as in the last entry of the file. typed_by: who types it, where that is known, as from signing in; kept
    with entries of another time or person. Who types for oneself and is new in the run is described by it.
    """

    who: str = ""
    device: str = ""
    at: str = ""
    typed_by: str = ""


def new_id(micros: int) -> str:
    """Return a new id: UUID version 7 (RFC 9562), in the order of the time given. [µs since 1970-01-01]"""
    value = (micros // 1000 & (1 << 48) - 1) << 80 | secrets.randbits(80)
    value = value & ~(0xF << 76) | 0x7 << 76
    return str(uuid.UUID(int=value & ~(0x3 << 62) | 0x2 << 62))


def made(book: Book, drafts: tuple[Draft, ...], stamp: Stamp) -> tuple[Entry, ...]:
    """Return the entries that drafts become at the end of a book, the beginning of its run first.

    Raises
    ------
    InputError
        Nobody named, a person not described in the run, or a time that is none.
    """
    device = stamp.device or book.device or platform.node() or "console"
    clock = datetime.now().astimezone()
    when = moment(book, stamp.at, clock) if stamp.at else clock
    drafts = (*_newcomer(book, drafts, stamp), *drafts)
    who = _who(book, drafts, stamp.who)
    _signs_oneself(drafts, stamp, who)
    written = when.isoformat(timespec="seconds" if when.microsecond == 0 else "milliseconds")
    more = {"typed_at": clock.isoformat(timespec="seconds")} if stamp.at else {}
    more |= {"typed_by": stamp.typed_by} if stamp.typed_by and (stamp.at or stamp.typed_by != who) else {}
    mono = 0.0 if stamp.at else _running()
    number, run = book.last_number(device), book.run or new_id(clock_micros(written))
    found = []
    begun = bool(book.run) or drafts[0].kind == "run"
    for draft in (*(() if begun else (_begins(book),)), *drafts):
        number += 1
        found.append(
            Entry(
                id=new_id(clock_micros(clock.isoformat())),
                run=run,
                node=draft.node,
                device=device,
                device_seq=number,
                kind=draft.kind,
                payload=draft.payload,
                who=who,
                t_device=written,
                t_mono=mono,
                clock_within=_within(when) if stamp.at else CLOCK_WITHIN,
                replaces=draft.replaces,
                more=more,
            )
        )
    return tuple(found)


def moment(book: Book, text: str, now: datetime | None = None) -> datetime:
    """Return a time as typed: with its offset, or a time of day.

    Within a day of the last entry a time of day means the nearest past one, also over midnight. Else, and
    where now is not given, it means that on the day of the last entry.

    Raises
    ------
    InputError
        No time, or a time of day for a file without entries.
    """
    last = max(book.entries, key=lambda entry: entry.order, default=None)
    for form in _OF_DAY:
        try:
            clock = datetime.strptime(text, form).time()
        except ValueError:
            continue
        if last is None:
            remedy = "Write day and offset too, e.g. 2027-04-14T08:05+01:00; then a time of day will do."
            raise InputError("--at", f"got {text!r} for a file without entries.", remedy)
        return _nearest(datetime.combine(last.day, clock, last.clock.tzinfo), last.clock, now)
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        found = None
    if found is None or found.tzinfo is None:
        remedy = "Write 12:55, or day and offset too, e.g. 2027-04-14T12:55+01:00."
        raise InputError("--at", f"got {text!r:.60}.", remedy)
    return _possible(found, text, now)


def _possible(found: datetime, text: str, now: datetime | None) -> datetime:
    """Return a time that an entry can have; refuse one before the count begins, or years ahead."""
    bare, now = found.replace(tzinfo=None), now or datetime.now().astimezone()
    day = timedelta(days=1)
    if bare < EARLIEST.replace(tzinfo=None) + day:
        raise InputError("--at", f"got {text!r:.60}, before {EARLIEST + day:%Y-%m-%d}.", "Look at the year.")
    if bare > now.replace(tzinfo=None) + AHEAD:
        remedy = f"Look at the year; this machine's clock says {now:%Y-%m-%d %H:%M}."
        raise InputError("--at", f"got {text!r:.60}, which lies years ahead.", remedy)
    return found


def _nearest(found: datetime, last: datetime, now: datetime | None) -> datetime:
    """Return the newest such time of day that is past, where the last entry is less than a day old.

    One that lies ahead by less than half a day stays there: it is told as such.
    """
    if now is None or not timedelta() <= now - last < timedelta(days=1):
        return found
    day = timedelta(days=1)
    days = (now + timedelta(seconds=TYPED_WITHIN) - found) // day
    is_slip = days < 0 and found - now < day / 2
    return found if is_slip else found + days * day


def _within(when: datetime) -> float:
    """Return how well a time given by hand is known; one with seconds was read from a clock. [s]"""
    return CLOCK_WITHIN if when.second or when.microsecond else TYPED_WITHIN


def _begins(book: Book) -> Draft:
    plan = book.plan
    return Draft("run", {"plan": plan.sha256, "kind": plan.procedure.kind})


def _running() -> float:
    """Return the machine's running seconds, also while it slept; 0 where it does not tell them. [s]"""
    clock = getattr(time, "CLOCK_BOOTTIME", None)
    return 0.0 if clock is None else round(time.clock_gettime(clock), 3)


def _newcomer(book: Book, drafts: tuple[Draft, ...], stamp: Stamp) -> tuple[Draft, ...]:
    """Return what describes the person who types for oneself, where others are described and this one not."""
    is_own = bool(stamp.typed_by) and stamp.who.strip() == stamp.typed_by
    named = {*book.persons, *(str(draft.payload["name"]) for draft in drafts if draft.kind == "person")}
    is_new = is_own and bool(book.persons) and stamp.typed_by not in named
    return (Draft("person", {"name": stamp.typed_by}),) if is_new else ()


def _signs_oneself(drafts: tuple[Draft, ...], stamp: Stamp, who: str) -> None:
    """Refuse a signature that one person gives for another; one on paper has its time."""
    is_for_another = bool(stamp.typed_by) and who != stamp.typed_by and not stamp.at
    if is_for_another and any(draft.kind == "sign" for draft in drafts):
        remedy = f"{who} signs, signed in here or on a device. One given on paper is typed in with its time."
        raise InputError("--who", f"got {who!r}, for whom {stamp.typed_by} cannot sign.", remedy)


def _who(book: Book, drafts: tuple[Draft, ...], typed: str) -> str:
    persons = book.persons
    described = [str(draft.payload["name"]) for draft in drafts if draft.kind == "person"]
    who = typed.strip() or next((entry.who for entry in reversed(book.entries) if entry.who), "")
    who = who or next(iter(described), "")
    if not who:
        remedy = 'Say it once, e.g. --who "Ilse Marrow"; the next entries take it from there.'
        raise InputError("--who", "nobody is named.", remedy)
    if typed and persons and who not in (*persons, *described):
        known = ", ".join(persons)
        remedy = f'Known are: {known}. Somebody else is described first: person name="{who}" role=…'
        raise InputError("--who", f"got {who!r}, who is not described in this run.", remedy)
    return who
