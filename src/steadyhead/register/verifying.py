"""Hold a register against its own chain: links, rows, bytes; what does not fit is a finding, named in words.

Nothing is changed. The tables are read as they are in the database, so that a register of an older version,
or one that is damaged, is looked at as far as it can be read.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

from sqlalchemy import Connection, MetaData, Table, func, inspect, select, text, tuple_
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from steadyhead.findings import Finding, Severity, tell
from steadyhead.findings.model import Parameter
from steadyhead.register import tables
from steadyhead.register.chain import FIRST, Link
from steadyhead.register.core import row_digest
from steadyhead.register.guards import missing_guards
from steadyhead.register.migrating import newest, revision_of
from steadyhead.register.reading import found, rows
from steadyhead.station.canonical import sha256
from steadyhead.work import Progress, no_progress

AT_ONCE = 400
"""Links whose rows are looked up together."""
MOST = 50
"""Most findings of one code; more are counted. Own estimate."""
_SHORT = 12
_ON_OFF = ("on the list", "off the list")
MADE = "register made"
ACTS_OF_PEOPLE = (
    "person added", "role changed", "person suspended", "person resumed", "password taken away",
    "password set",
)  # fmt: skip
"""What the chain tells of people; see `services.accounts`."""
_WEIGHS = {"REG-11": Severity.HEED, "REG-12": Severity.HEED}
"""What forbids nothing: what is there is whole."""


@dataclass(slots=True)
class Verdict:
    """What a register came to when it was held against its chain.

    Parameters
    ----------
    findings
        All that does not fit, links first, in the order of the chain.
    links, head, moment
        Length of the chain, hash and moment of its last link.
    rows, blobs
        How many rows and bytes were held against it.
    name
        The register's own id.
    more
        By code: how many findings beyond those told.
    """

    findings: list[Finding] = field(default_factory=list)
    links: int = 0
    head: str = ""
    moment: str = ""
    rows: int = 0
    blobs: int = 0
    name: str = ""
    more: dict[str, int] = field(default_factory=dict)

    @property
    def is_whole(self) -> bool:
        """Whether nothing forbids to trust it."""
        return not any(one.severity is Severity.STOP for one in self.findings)

    @property
    def first_broken(self) -> int:
        """Number of the first link that does not hold; 0: every one does."""
        broken = [one.params["link"] for one in self.findings if one.code in ("REG-02", "REG-03", "REG-04")]
        return int(str(broken[0])) if broken else 0

    @property
    def first_contradicted(self) -> int:
        """Number of the first link that tells of something else than what is there; 0: none does."""
        told = [int(str(one.params["link"])) for one in self.findings if one.code in ("REG-05", "REG-06")]
        return min(told, default=0)

    def add(self, code: str, subject: str, **params: Parameter) -> None:
        """Note a finding; of one code no more than are read."""
        if sum(one.code == code for one in self.findings) >= MOST:
            self.more[code] = self.more.get(code, 0) + 1
            return
        self.findings.append(Finding(code, subject, _WEIGHS.get(code, Severity.STOP), params))


def verify(
    connection: Connection,
    progress: Progress = no_progress,
    *,
    with_bytes: bool = True,
    with_guards: bool = True,
) -> Verdict:
    """Hold everything in a register against its chain.

    with_bytes: hash every kept file again; with_guards: look at the database's own health and its guards.
    """
    verdict = Verdict()
    if with_guards and not _readable(connection, verdict):
        return verdict
    there = _Tables(connection, verdict)
    _walk(connection, there, verdict, progress)
    _untold(connection, there, verdict)
    _named_bytes(connection, there, verdict)
    _heads(connection, there, verdict)
    _listed(connection, there, verdict)
    _came(connection, there, verdict)
    _people(connection, there, verdict)
    if with_bytes:
        _bytes(connection, there, verdict, progress)
    if with_guards:
        for table, act in missing_guards(connection, [one.name for one in there.kept]):
            verdict.add("REG-11", table, what=act)
    return verdict


def first_trouble(connection: Connection) -> str:
    """Return the first thing in a register that does not fit, in words; empty where all does.

    For one whose bytes were hashed as they came in.
    """
    found = verify(connection, with_bytes=False, with_guards=False).findings
    worst = [one for one in found if one.severity is Severity.STOP]
    return tell(worst[0]).statement if worst else ""


class _Tables:
    """The tables as they are in the database."""

    def __init__(self, connection: Connection, verdict: Verdict) -> None:
        self._connection, self._data = connection, MetaData()
        there = set(inspect(connection).get_table_names())
        self.by_name: dict[str, Table] = {}
        self.told: dict[str, set[int]] = {}
        """By table: marks of the keys that the chain tells of."""
        self.people: dict[str, dict[str, tuple[str, Link]]] = {}
        """By account: what the chain told last of each of its columns, and the link that did."""
        self.listed: dict[str, str] = {}
        """By station: whether it was taken off the list or brought back last."""
        self.added: dict[str, Link] = {}
        """By station: the link that tells when it came, and through whom."""
        self.made: Link | None = None
        """The link that tells the register's own id."""
        for table in (*tables.KEPT, tables.station, tables.setting, tables.account):
            if table.name in there:
                self.by_name[table.name] = self._reflected(table.name)
        made, known = revision_of(connection), newest()
        if made != known:
            verdict.add("REG-12", "tables", got=made or "none", asked=known)
        kept = [one.name for one in tables.KEPT if one.name not in ("blob", "audit")]
        self.kept = [self.by_name[name] for name in kept if name in self.by_name]

    def _reflected(self, name: str) -> Table:
        return Table(name, self._data, autoload_with=self._connection, resolve_fks=False)

    def get(self, name: str) -> Table | None:
        return self.by_name.get(name)


def _readable(connection: Connection, verdict: Verdict) -> bool:
    """Note what the database itself says of its health; return whether its tables can be looked at."""
    try:
        if connection.dialect.name == "sqlite":
            for (words,) in connection.execute(text("PRAGMA integrity_check(10)")).all():
                if words != "ok":
                    said = " ".join(str(words).split())[:200].rstrip(".")
                    verdict.add("REG-01", "the database", what=f"the database says of itself: {said}")
        inspect(connection).get_table_names()
    except SQLAlchemyError as problem:
        verdict.add("REG-01", "the database", what=said_by(problem))
        return False
    return True


def said_by(problem: SQLAlchemyError) -> str:
    """Return what a database says, on one line."""
    words = str(problem.orig if isinstance(problem, DBAPIError) else problem)
    return (words.strip().splitlines() or ["no reason given"])[0][:160].rstrip(".")


def _safely(
    given: Callable[[], Iterator[dict[str, Any]]], subject: str, connection: Connection, verdict: Verdict
) -> Iterator[dict[str, Any]]:
    """Yield rows as far as they can be read; where they end early, say after how many."""
    count = 0
    try:
        for row in given():
            count += 1
            yield row
    except SQLAlchemyError as problem:
        where = f"{subject}, after {count} rows"
        verdict.add("REG-01", where, what=said_by(problem))
        connection.rollback()


def _walk(connection: Connection, there: _Tables, verdict: Verdict, progress: Progress) -> None:
    """Go along the chain and hold each link against the one before, and each row it tells of against it."""
    audit = there.get("audit")
    if audit is None:
        verdict.add("REG-01", "the chain", what="its table is not there")
        return
    last, names = FIRST, [column.name for column in tables.audit.columns]
    links = _safely(lambda: rows(connection, audit), "the chain", connection, verdict)
    while some := list(islice(links, AT_ONCE)):
        told: list[tuple[Link, dict[str, Any]]] = []
        for row in some:
            one = Link(**{name: row[name] for name in names})
            _hold(one, last, verdict)
            told.append((one, _body(one)))
            _hear(one, there)
            last = one
            verdict.links += 1
        _hold_rows(connection, there, told, verdict)
        progress(verdict.links, max(last.seq, verdict.links), "links of the chain")
    verdict.head, verdict.moment = (last.hash, last.at) if verdict.links else ("", "")
    setting = there.get("setting")
    if setting is not None:
        asked = select(setting.c.value).where(setting.c.name == "id")
        verdict.name = str(connection.execute(asked).scalar() or "")
        if there.made is not None and verdict.name != str(_told(there.made).get("id", verdict.name)):
            made = there.made
            verdict.add("REG-05", "the register's own id", link=str(made.seq), what=said(made))


def _hear(link: Link, there: _Tables) -> None:
    """Note what a link tells of a person of the team, or of the register itself."""
    if link.act == MADE and link.seq == 1:
        there.made = link
    elif link.act in ACTS_OF_PEOPLE:
        told = there.people.setdefault(link.subject, {})
        for name, value in _told(link).items():
            if name in ("name", "role", "state"):
                told[name] = (str(value), link)


def said(link: Link) -> str:
    """Return what a link tells, in a few words."""
    return ", ".join(part for part in (link.act, link.subject, link.at, f"by {link.who}") if part)


def _hold(link: Link, before: Link, verdict: Verdict) -> None:
    try:
        worked_out = link.worked_out()
    except (ValueError, TypeError):
        worked_out = "no hash"
    common: dict[str, Parameter] = {"link": str(link.seq), "what": said(link)}
    if link.seq != before.seq + 1:
        count = str(link.seq - before.seq - 1)
        verdict.add("REG-04", f"link {link.seq}", before=str(before.seq), count=count, **common)
    elif link.previous != before.hash:
        got, asked = link.previous[:_SHORT], before.hash[:_SHORT]
        verdict.add("REG-03", f"link {link.seq}", got=got, asked=asked, **common)
    if worked_out != link.hash:
        got, asked = worked_out[:_SHORT], link.hash[:_SHORT]
        verdict.add("REG-02", f"link {link.seq}", got=got, asked=asked, **common)


def _told(link: Link) -> dict[str, Any]:
    """Return the facts of a link; empty where they cannot be read."""
    try:
        body = json.loads(link.body)
    except (ValueError, RecursionError):
        return {}
    return body if isinstance(body, dict) else {}


def _body(link: Link) -> dict[str, Any]:
    """Return what a link tells of a row; empty where it tells of none."""
    body = _told(link)
    return body if isinstance(body.get("table"), str) and isinstance(body.get("key"), list) else {}


def _hold_rows(
    connection: Connection, there: _Tables, told: Sequence[tuple[Link, dict[str, Any]]], verdict: Verdict
) -> None:
    by_table: dict[str, list[tuple[Link, dict[str, Any]]]] = {}
    kept = {table.name for table in there.kept}
    for link, body in told:
        if body and body["table"] in kept:
            by_table.setdefault(body["table"], []).append((link, body))
            there.told.setdefault(body["table"], set()).add(_mark(body["key"]))
    for name, asked in by_table.items():
        table = there.by_name[name]
        got = _rows_of(connection, table, [tuple(body["key"]) for _, body in asked], verdict)
        for link, body in asked:
            row = got.get(tuple(body["key"]))
            common: dict[str, Parameter] = {"link": str(link.seq), "what": said(link)}
            if row is None:
                verdict.add("REG-06", row_words(name, body["key"]), **common)
            elif row_digest(name, row) != body.get("digest"):
                verdict.add("REG-05", row_words(name, body["key"]), **common)
            elif name == "listing":
                there.listed[str(row["station"])] = str(row["what"])
            elif name == "revision" and row["number"] == 1:
                there.added[str(row["station"])] = link
            verdict.rows += 1


def row_words(table: str, key: Sequence[Any]) -> str:
    """Return a row in words."""
    return f"{table} {' '.join(str(part) for part in key)}"[:160]


def _rows_of(
    connection: Connection, table: Table, keys: Sequence[tuple[Any, ...]], verdict: Verdict
) -> dict[tuple[Any, ...], Mapping[str, Any]]:
    columns = list(table.primary_key.columns)
    fitting = [key for key in keys if len(key) == len(columns)]
    where = (
        columns[0].in_([key[0] for key in fitting]) if len(columns) == 1 else tuple_(*columns).in_(fitting)
    )
    got = _safely(lambda: found(connection, select(table).where(where)), table.name, connection, verdict)
    return {tuple(row[column.name] for column in columns): row for row in got}


def _mark(key: Sequence[Any]) -> int:
    """Return a short mark of a key; many of them are held in memory."""
    return int(sha256(json.dumps(list(key)).encode())[:15], 16)


def _untold(connection: Connection, there: _Tables, verdict: Verdict) -> None:
    """Note rows that no link tells of."""
    for table in there.kept:
        told = there.told.get(table.name, set())
        key = list(table.primary_key.columns)

        def given(table: Table = table, key: list[Any] = key) -> Iterator[dict[str, Any]]:
            return rows(connection, table, *key)

        for row in _safely(given, table.name, connection, verdict):
            mine = [row[column.name] for column in key]
            if _mark(mine) not in told:
                verdict.add("REG-07", row_words(table.name, mine))


def _named_bytes(connection: Connection, there: _Tables, verdict: Verdict) -> None:
    """Note bytes that a row names and that are not there."""
    blob = there.get("blob")
    if blob is None:
        verdict.add("REG-01", "kept files", what="their table is not there")
        return
    for table in tables.KEPT:
        mine = there.get(table.name)
        names = [
            column.name
            for column in table.columns
            if any(key.column.table is tables.blob for key in column.foreign_keys)
        ]
        for name in names if mine is not None else ():
            assert mine is not None
            asked = (
                select(*mine.primary_key.columns, mine.c[name].label("named"))
                .outerjoin(blob, blob.c.hash == mine.c[name])
                .where(blob.c.hash.is_(None), mine.c[name].is_not(None))
            )

            def given(asked: Any = asked) -> Iterator[dict[str, Any]]:
                return found(connection, asked)

            for row in _safely(given, table.name, connection, verdict):
                digest = str(row.pop("named"))
                verdict.add("REG-09", row_words(table.name, list(row.values())), asked=digest[:_SHORT])


def _heads(connection: Connection, there: _Tables, verdict: Verdict) -> None:
    """Note stations that show another revision than their last."""
    station, revision = there.get("station"), there.get("revision")
    if station is None or revision is None:
        return
    asked = text(
        "SELECT s.key AS key, s.head AS head, COALESCE(MAX(r.number), 0) AS last FROM station s "
        "LEFT JOIN revision r ON r.station = s.key GROUP BY s.key, s.head "
        "HAVING s.head <> COALESCE(MAX(r.number), 0) ORDER BY s.key"
    )
    try:
        for key, head, last in connection.execute(asked).all():
            verdict.add("REG-10", f"station {key}", got=str(head), asked=str(last))
    except SQLAlchemyError as problem:
        verdict.add("REG-01", "stations", what=said_by(problem))
        connection.rollback()


def _listed(connection: Connection, there: _Tables, verdict: Verdict) -> None:
    """Note stations that are kept and in no list, and those off the list, or on it, against what was told."""
    station, revision = there.get("station"), there.get("revision")
    if station is None or revision is None:
        return
    is_lost = revision.c.station.not_in(select(station.c.key))
    try:
        lost = select(revision.c.station, func.max(revision.c.number)).where(is_lost)
        for key, last in connection.execute(lost.group_by(revision.c.station)).all():
            verdict.add("REG-10", f"station {key}", got="none", asked=str(last))
        for key, struck in connection.execute(select(station.c.key, station.c.struck)).all():
            if bool(struck) != (there.listed.get(key) == "off"):
                verdict.add("REG-16", f"station {key}", got=_ON_OFF[bool(struck)], asked=_ON_OFF[not struck])
    except SQLAlchemyError as problem:
        verdict.add("REG-01", "stations", what=said_by(problem))
        connection.rollback()


def _came(connection: Connection, there: _Tables, verdict: Verdict) -> None:
    """Note stations that came on another day, or through another person, than the link of it tells."""
    station = there.get("station")
    if station is None:
        return
    asked = select(station.c.key, station.c.made_at, station.c.made_by).order_by(station.c.key)
    for row in _safely(lambda: found(connection, asked), "stations", connection, verdict):
        link = there.added.get(row["key"])
        if link is not None and (row["made_at"], row["made_by"]) != (link.at, link.who):
            verdict.add("REG-05", f"station {row['key']}", link=str(link.seq), what=said(link))


def _people(connection: Connection, there: _Tables, verdict: Verdict) -> None:
    """Hold who may do what against what the chain tells of people; those of another machine are not here."""
    account = there.get("account")
    if account is None:
        return
    columns = (account.c.id, account.c.name, account.c.role, account.c.state)
    given = _safely(lambda: found(connection, select(*columns)), "people", connection, verdict)
    for row in given:
        told, subject = there.people.get(row["id"]), f"account {row['name']}"[:160]
        if told is None:
            verdict.add("REG-07", subject)
            continue
        first = next(iter(told.values()))[1] if told else None
        for name in ("name", "role", "state"):
            asked, link = told.get(name, ("invited" if name == "state" else "", first))
            if link is not None and row[name] != asked and (name in told or row[name] == "active"):
                verdict.add("REG-05", subject, link=str(link.seq), what=said(link))
                break


def _bytes(connection: Connection, there: _Tables, verdict: Verdict, progress: Progress) -> None:
    """Hash every kept file again."""
    blob = there.get("blob")
    if blob is None:
        return
    hashes = _safely(
        lambda: rows(connection, blob, blob.c.hash, blob.c.size), "kept files", connection, verdict
    )
    for row in hashes:
        asked = select(blob.c.bytes).where(blob.c.hash == row["hash"])
        try:
            content = connection.execute(asked).scalar()
        except SQLAlchemyError as problem:
            verdict.add("REG-01", f"file {row['hash'][:_SHORT]}…", what=said_by(problem))
            connection.rollback()
            continue
        got = sha256(bytes(content or b""))
        if got != row["hash"] or row["size"] != len(content or b""):
            asked_for = row["hash"][:_SHORT]
            size = len(content or b"")
            sizes = "" if row["size"] == size else f", told to have {row['size']} bytes, has {size}"
            verdict.add("REG-08", f"file {asked_for}…{sizes}", got=got[:_SHORT], asked=asked_for)
        verdict.blobs += 1
        progress(verdict.blobs, verdict.blobs, "kept files")
