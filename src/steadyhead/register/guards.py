"""Triggers of the database that refuse to change or remove a row of what only grows."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import Connection, text

SAID = "what is kept is never changed"


def guard(connection: Connection, names: Iterable[str]) -> None:
    """Put the triggers on tables."""
    is_embedded = connection.dialect.name == "sqlite"
    if not is_embedded:
        connection.execute(
            text(
                "CREATE OR REPLACE FUNCTION steadyhead_kept() RETURNS trigger LANGUAGE plpgsql AS "
                f"$$ BEGIN RAISE EXCEPTION '{SAID}: %', TG_TABLE_NAME; END $$"
            )
        )
    for table in names:
        for act in ("UPDATE", "DELETE"):
            name = f"kept_{table}_{act.lower()}"
            if is_embedded:
                words = f"BEGIN SELECT RAISE(ABORT, '{SAID}: {table}'); END"
            else:
                words = "FOR EACH ROW EXECUTE FUNCTION steadyhead_kept()"
            connection.execute(text(f"CREATE TRIGGER {name} BEFORE {act} ON {table} {words}"))
        if not is_embedded:
            words = "FOR EACH STATEMENT EXECUTE FUNCTION steadyhead_kept()"
            connection.execute(
                text(f"CREATE TRIGGER kept_{table}_truncate BEFORE TRUNCATE ON {table} {words}")
            )


def unguard(connection: Connection, names: Iterable[str]) -> None:
    """Take the triggers away, inside a transaction that fills an empty register and puts them back."""
    is_embedded = connection.dialect.name == "sqlite"
    acts = ("update", "delete") if is_embedded else ("update", "delete", "truncate")
    for table in names:
        for act in acts:
            on = "" if is_embedded else f" ON {table}"
            connection.execute(text(f"DROP TRIGGER IF EXISTS kept_{table}_{act}{on}"))


def missing_guards(connection: Connection, tables: Iterable[str]) -> list[tuple[str, str]]:
    """Return for which of these tables the database does not refuse a change or a removal, and which."""
    is_embedded = connection.dialect.name == "sqlite"
    asked = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        if is_embedded
        else "SELECT tgname FROM pg_trigger WHERE tgenabled <> 'D' AND NOT tgisinternal"
    )
    there = set(connection.execute(text(asked)).scalars())
    acts = (("update", "a change"), ("delete", "removal"))
    return [(table, words) for table in tables for act, words in acts if f"kept_{table}_{act}" not in there]
