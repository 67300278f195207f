"""Records that belong to a station: kept for ever, struck out with a reason, found by kind and run."""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, func, select

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.core import Writing
from steadyhead.register.reading import order_told
from steadyhead.register.tables import record
from steadyhead.services.stations.kept import NotKept
from steadyhead.station.canonical import canonical, sha256

MADE = ("plan", "plan paper", "plan text", "certificate", "handover", "card", "baseline")
"""Kinds made here from plans, runs and station files."""
MARKS = ("strike", "trip", "choice", "refused entries", "judged apart")
"""Kinds that say something about the station or another record; no papers of their own."""
DOCUMENTS = ("document", "drawing", "photo", "instrument certificate", "permit", "logger file", "letter")
"""Kinds a person may give to a document."""
LONGEST_TITLE = 160
LONGEST_REASON = 400
"""Own estimates. [characters]"""
_COLUMNS = (
    record.c.id,
    record.c.station,
    record.c.kind,
    record.c.name,
    record.c.title,
    record.c.media,
    record.c.content,
    record.c.run,
    record.c.at,
    record.c.who,
    record.c.about,
)


@dataclass(frozen=True, slots=True)
class Filed:
    """A record without its bytes.

    Parameters
    ----------
    id, station, kind
        Which it is.
    name, title, media
        Name of the file, what it is, and its media type.
    digest
        SHA-256 of the bytes, under which they are kept.
    run
        Run it belongs to; empty for none.
    at, who
        When it was kept, and by whom.
    about
        What else is known of it; depends on the kind.
    struck
        Why it was struck out; empty where it stands.
    """

    id: str
    station: str
    kind: str
    name: str
    title: str
    media: str
    digest: str
    run: str
    at: str
    who: str
    about: Mapping[str, Any] = field(default_factory=dict)
    struck: str = ""


def new_id(at: str, *parts: str) -> str:
    """Return an id in the order of time: the form of UUID version 7, its random half from what it names.

    at: moment as the register writes it; parts: what makes it the only one.
    """
    moment = datetime.fromisoformat(at.replace("Z", "+00:00")).astimezone(UTC)
    millis = int(moment.timestamp() * 1000) & (1 << 48) - 1
    digits = sha256(canonical(list(parts)))
    variant = "89ab"[int(digits[3], 16) % 4]
    return f"{millis >> 16:08x}-{millis & 0xFFFF:04x}-7{digits[:3]}-{variant}{digits[4:7]}-{digits[7:19]}"


def keep(
    writing: Writing,
    key: str,
    kind: str,
    content: bytes,
    *,
    name: str,
    title: str,
    media: str = "application/json",
    run: str = "",
    about: Mapping[str, Any] | None = None,
    act: str = "",
) -> Filed:
    """Keep a record of a station inside a transaction; the chain tells of it.

    act: what was done, in the words of the chain; ``KIND kept`` where left out.
    """
    digest = writing.blob(content)
    told = canonical(dict(about or {})).decode()
    stem = (key, kind, digest, run, told, title)
    at = 0
    while _is_taken(writing.connection, one := new_id(writing.at, *stem, str(at))):
        at += 1
    row = {
        "id": one,
        "station": key,
        "kind": kind,
        "name": name,
        "title": _shown(title)[:LONGEST_TITLE],
        "media": media,
        "content": digest,
        "run": run,
        "at": writing.at,
        "who": writing.who,
        "about": told,
    }
    writing.add(record, row, act or f"{kind} kept", key, kind=kind, title=row["title"], name=name, run=run)
    return Filed(
        one, key, kind, name, row["title"], media, digest, run, writing.at, writing.who, dict(about or {})
    )


def _shown(text: str) -> str:
    """Return a text on one line, without signs that show nothing."""
    kept = "".join(
        one for one in text if unicodedata.category(one) not in ("Cc", "Cf", "Cs") or one.isspace()
    )
    return " ".join(kept.split())


def _is_taken(connection: Connection, one: str) -> bool:
    return connection.execute(select(record.c.id).where(record.c.id == one)).first() is not None


def filed(connection: Connection, key: str, kinds: Iterable[str] = (), run: str = "") -> tuple[Filed, ...]:
    """Return the records of a station, the newest first, those struck out with the reason.

    kinds, run: only of these; all where left out.
    """
    query = select(*_COLUMNS).where(record.c.station == key)
    listed = tuple(kinds)
    if run:
        query = query.where(record.c.run == run)
    if listed:
        query = query.where(record.c.kind.in_((*listed, "strike")))
    found = [
        _filed(row) for row in connection.execute(query.order_by(record.c.at.desc(), record.c.id.desc()))
    ]
    if len(found) > 1:  # the newest by the chain: a clock may have been set back
        told = order_told(connection, key, record)
        found.sort(key=lambda one: told.get(one.id, 0), reverse=True)
    struck = {str(one.about.get("strikes")): one for one in found if one.kind == "strike"}
    return tuple(
        _struck(one, struck.get(one.id)) for one in found if one.kind != "strike" or "strike" in listed
    )


def one_filed(connection: Connection, key: str, one: str) -> Filed:
    """Return one record of a station.

    Raises
    ------
    NotKept
        The station has no such record.
    """
    row = connection.execute(select(*_COLUMNS).where(record.c.station == key, record.c.id == one)).first()
    if row is None:
        raise NotKept("record", f"{key[:40]} has no record {one[:40]!r}.", "See its records.")
    strikes = connection.execute(
        select(*_COLUMNS).where(record.c.station == key, record.c.kind == "strike")
    ).all()
    found = next((each for each in map(_filed, strikes) if each.about.get("strikes") == one), None)
    return _struck(_filed(row), found)


def content_of(register: Register, one: Filed) -> bytes:
    """Return the bytes of a record.

    Raises
    ------
    NotKept
        They are not there.
    """
    content = register.content(one.digest)
    if content is None:
        raise NotKept("record", f"{one.title!r:.60} is not kept here.", "Look for a copy in an archive.")
    return content


def strike_out(writing: Writing, one: Filed, reason: str) -> Filed:
    """Strike a record out: it stays, with the reason beside it.

    Raises
    ------
    InputError
        No reason, or it is struck out already.
    """
    said = " ".join(reason.split())[:LONGEST_REASON]
    if not said:
        raise InputError(
            "reason", "is missing.", "Write why it is struck out, e.g. belongs to another station."
        )
    if one.struck:
        raise InputError("record", f"is struck out already: {one.struck}", "Nothing more is to be done.")
    about = {"strikes": one.id, "reason": said}
    return keep(
        writing,
        one.station,
        "strike",
        canonical(about),
        name="strike.json",
        title=f"{one.title} struck out",
        run=one.run,
        about=about,
        act="record struck out",
    )


def count_of(connection: Connection, key: str, kind: str) -> int:
    """Return how many records of a kind a station has, struck out or not."""
    query = select(func.count()).select_from(record).where(record.c.station == key, record.c.kind == kind)
    return int(connection.execute(query).scalar_one())


def _filed(row: Any) -> Filed:
    told = json.loads(row.about) if row.about else {}
    return Filed(
        row.id,
        row.station,
        row.kind,
        row.name,
        row.title,
        row.media,
        row.content,
        row.run,
        row.at,
        row.who,
        told,
    )


def _struck(one: Filed, by: Filed | None) -> Filed:
    if by is None:
        return one
    return Filed(
        one.id,
        one.station,
        one.kind,
        one.name,
        one.title,
        one.media,
        one.digest,
        one.run,
        one.at,
        one.who,
        one.about,
        str(by.about.get("reason", "")) or "no reason given",
    )
