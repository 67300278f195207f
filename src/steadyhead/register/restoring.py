"""Fill an empty register with the rows of another one: all of it in one transaction, or nothing."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, delete, func, select, text

from steadyhead.errors import InputError
from steadyhead.register import tables
from steadyhead.register.core import CHAIN_LOCK, Register
from steadyhead.register.guards import guard, unguard

_KEPT = tuple(table.name for table in tables.KEPT)
OURS = "register made"
"""What the only link of an empty register tells."""
_EMPTY = (*(table for table in tables.KEPT if table is not tables.audit), tables.station, tables.account)


@contextmanager
def filling(register: Register) -> Iterator[Connection]:
    """Give a transaction in which an empty register is filled, its own first link and id taken out.

    Raises
    ------
    InputError
        The register is not empty; nothing is changed.
    """
    with register.alone(), register.engine.connect() as connection:
        if register.is_embedded:
            connection.execute(text("BEGIN IMMEDIATE"))
        else:
            connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": CHAIN_LOCK})
        try:
            refuse_filled(connection)
            unguard(connection, _KEPT)
            connection.execute(delete(tables.audit))
            connection.execute(delete(tables.setting).where(tables.setting.c.name == "id"))
            yield connection
            guard(connection, _KEPT)
        except BaseException:
            connection.rollback()
            raise
        connection.commit()


def refuse_filled(connection: Connection) -> None:
    """Refuse a register that holds anything.

    Raises
    ------
    InputError
        Says what it holds.
    """
    held = [
        f"{count} rows of {table.name}"
        for table in _EMPTY
        if (count := connection.execute(select(func.count()).select_from(table)).scalar_one())
    ]
    acts = connection.execute(select(tables.audit.c.act).where(tables.audit.c.act != OURS).limit(1)).scalar()
    if acts is not None:
        held.append(f"a chain that tells of {acts!r}")
    if held:
        raise InputError(
            "register",
            f"is not empty: it holds {', '.join(held)}.",
            "Import into a new folder, e.g. steadyhead import ARCHIVE NEW-FOLDER; nothing was changed.",
        )
