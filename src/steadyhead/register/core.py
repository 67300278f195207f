"""Open the register, read from it, and write to it: one transaction, one chain of what was done."""

from __future__ import annotations

import threading
import uuid
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Engine, Table, insert, select, text

from steadyhead.register import tables
from steadyhead.register.chain import FIRST, Link, link
from steadyhead.station.canonical import canonical, sha256

CHAIN_LOCK = 7_316_554
"""Number of the lock that writers of PostgreSQL take turns by; any number of ours would do."""


def now_text() -> str:
    """Return this moment as it is kept: UTC, to the millisecond, so that texts sort by time."""
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def some_id() -> str:
    """Return an id nobody has."""
    return str(uuid.uuid4())


def row_digest(table: str, row: Mapping[str, Any]) -> str:
    """Return the hash by which the chain tells of a row: of its canonical JSON, table and values."""
    return sha256(canonical({"table": table, "row": {key: _plain(value) for key, value in row.items()}}))


def _plain(value: Any) -> Any:
    return sha256(value) if isinstance(value, bytes) else value


@dataclass(slots=True)
class Writing:
    """A transaction that changes the register; everything in it is there afterwards, or nothing.

    who, at: whom and when the chain names; new_id: gives the next id of a row that has none of its own.
    """

    connection: Connection
    who: str
    at: str
    last: Link | None = None
    added: list[str] = field(default_factory=list)
    new_id: Callable[[], str] = some_id

    def blob(self, content: bytes) -> str:
        """Keep bytes under their hash and return it; bytes that are there already are not kept twice."""
        digest = sha256(content)
        there = select(tables.blob.c.hash).where(tables.blob.c.hash == digest)
        if self.connection.execute(there).first() is None:
            row = {"hash": digest, "size": len(content), "bytes": content}
            self.connection.execute(insert(tables.blob).values(row))
        return digest

    def add(self, table: Table, row: Mapping[str, Any], act: str, subject: str, **told: Any) -> None:
        """Add a row to a table that only grows, and tell of it in the chain.

        act: what was done, e.g. ``station saved``; subject: of what, mostly the key of the station;
        told: more to say in the chain, plain data.
        """
        full = {column.name: row.get(column.name, _default(column)) for column in table.columns}
        self.connection.execute(insert(table).values(full))
        key = [full[column.name] for column in table.primary_key.columns]
        self.tell(act, subject, table=table.name, key=key, digest=row_digest(table.name, full), **told)

    def tell(self, act: str, subject: str, **told: Any) -> None:
        """Add a link to the chain without a row of its own."""
        if self.last is None:
            self.last = _head(self.connection)
        self.last = link(self.last, at=self.at, who=self.who, act=act, subject=subject, told=told)
        self.connection.execute(insert(tables.audit).values(self.last.row()))


def _default(column: Any) -> Any:
    return 0 if column.type.python_type in (int, float) else ""


def _head(connection: Connection) -> Link:
    """Return the last link of the chain, or the one before the first."""
    found = connection.execute(select(tables.audit).order_by(tables.audit.c.seq.desc()).limit(1)).first()
    return FIRST if found is None else Link(**found._mapping)


class Register:
    """The register of stations in one database. Safe to use from many threads.

    folder: where the embedded database lies, with the key of its sessions; empty for a server's.
    """

    def __init__(self, engine: Engine, folder: str = "") -> None:
        self.engine = engine
        self.folder = folder
        self._alone = threading.Lock()

    @property
    def is_embedded(self) -> bool:
        """Whether the database is a file of this machine."""
        return self.engine.dialect.name == "sqlite"

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Keep every other writer of this process out, for a transaction of another kind."""
        with self._alone:
            yield

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection that sees one state of the register throughout."""
        with self.engine.connect() as connection:
            if self.is_embedded:
                connection.exec_driver_sql("BEGIN")
            else:
                connection.execution_options(isolation_level="REPEATABLE READ")
            yield connection

    @contextmanager
    def writing(self, who: str, at: str = "") -> Iterator[Writing]:
        """Give a transaction; writers take turns, so that the chain has one order.

        who: the name the chain holds; at: the moment, now where left out.
        """
        with self._alone, self.engine.connect() as connection:
            if self.is_embedded:
                connection.execute(text("BEGIN IMMEDIATE"))
            else:
                connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": CHAIN_LOCK})
            try:
                yield Writing(connection, who, at or now_text())
            except BaseException:
                connection.rollback()
                raise
            connection.commit()

    @contextmanager
    def caching(self) -> Iterator[Connection]:
        """Give a transaction for what may be worked out again: gists, prepared things, jobs, attempts.

        The chain does not tell of it.
        """
        with self._alone, self.engine.connect() as connection:
            if self.is_embedded:
                connection.execute(text("BEGIN IMMEDIATE"))
            try:
                yield connection
            except BaseException:
                connection.rollback()
                raise
            connection.commit()

    def content(self, digest: str) -> bytes | None:
        """Return the bytes kept under a hash; None where there are none."""
        with self.reading() as connection:
            found = connection.execute(
                select(tables.blob.c.bytes).where(tables.blob.c.hash == digest)
            ).scalar()
        return None if found is None else bytes(found)

    def head(self) -> Link:
        """Return the last link of the chain."""
        with self.reading() as connection:
            return _head(connection)

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()
