"""Look without touching: one state of a register from beginning to end, rows in one order, a closed door."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Column, Connection, Engine, Select, Table, collate, create_engine, select, text
from sqlalchemy.exc import OperationalError
from sqlalchemy.pool import NullPool

from steadyhead.errors import InputError
from steadyhead.register.core import Register
from steadyhead.register.opening import FILE, looking_engine, not_opened, refuse_other_servers
from steadyhead.register.tables import audit

AT_ONCE = 500
"""Rows fetched at a time, so that memory does not grow with the register."""


@contextmanager
def one_state(register: Register) -> Iterator[Connection]:
    """Give a connection that sees the register as it is now, whatever is written meanwhile."""
    with register.engine.connect() as connection:
        if register.is_embedded:
            connection.execute(text("BEGIN"))
        else:
            connection = connection.execution_options(isolation_level="REPEATABLE READ")
        try:
            yield connection
        finally:
            connection.rollback()


def in_order(connection: Connection, *columns: Column[Any]) -> list[Any]:
    """Return what to order by, so that texts sort by their bytes on every database."""
    name = "BINARY" if connection.dialect.name == "sqlite" else "C"
    return [collate(one, name) if one.type.python_type is str else one for one in columns]


def rows(connection: Connection, table: Table, *columns: Column[Any]) -> Iterator[dict[str, Any]]:
    """Yield every row of a table by its primary key; `columns`: only these."""
    asked: Select[Any] = select(*(columns or (table,)))
    asked = asked.order_by(*in_order(connection, *table.primary_key.columns))
    yield from found(connection, asked)


def found(connection: Connection, asked: Select[Any]) -> Iterator[dict[str, Any]]:
    """Yield what a question finds, a few rows in memory at a time."""
    with connection.execute(asked.execution_options(yield_per=AT_ONCE)) as answer:
        for row in answer.mappings():
            yield dict(row)


def order_told(connection: Connection, subject: str, table: Table) -> dict[str, int]:
    """Return for the rows of a table that the chain tells of a subject, by id, the number of their link.

    So things are in the order in which they were done, also where a clock was set back in between.
    """
    c = audit.c
    asked = select(c.seq, c.body).where(c.subject == subject, c.body.contains(f'"table":"{table.name}"'))
    told = ((json.loads(body), seq) for seq, body in connection.execute(asked.order_by(c.seq)).all())
    return {str(body["key"][0]): seq for body, seq in told if body.get("table") == table.name}


@contextmanager
def looking(place: str | Path) -> Iterator[Connection]:
    """Give a connection to a register's folder or server that can change nothing and makes nothing.

    Raises
    ------
    InputError
        No register there, or it cannot be opened at all; says the remedy.
    """
    words = str(place)
    engine = _server(words) if "://" in words else _embedded(Path(words))
    try:
        if "://" in words:
            _reach(engine, words)
        with engine.connect() as connection:
            yield connection
            connection.rollback()
    finally:
        engine.dispose()


def _reach(engine: Engine, url: str) -> None:
    """Refuse a server that cannot be reached: nothing can be said of its register then."""
    try:
        engine.connect().close()
    except OperationalError as problem:
        raise not_opened(url, problem) from None


def _server(url: str) -> Engine:
    refuse_other_servers(url)
    engine = create_engine(url.replace("postgresql://", "postgresql+psycopg://", 1), poolclass=NullPool)
    return engine.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)


def _embedded(folder: Path) -> Engine:
    """Return an engine on the file as it lies there; what a killed server left beside it is read too."""
    path = folder if folder.is_file() else folder / FILE
    if not path.is_file():
        raise InputError(str(folder), f"holds no register: there is no {FILE}.", "Name its folder.")
    return looking_engine(path)
