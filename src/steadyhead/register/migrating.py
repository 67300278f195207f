"""Bring a database to the tables of today, from whatever released revision made it."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from steadyhead.errors import InputError

PLACE = Path(__file__).parent / "migrations"
REVISIONS = ("r0001", "r0002")
"""Every step there is, the first one first; names sort in their order."""


def migrate(engine: Engine) -> None:
    """Run what is missing between the database's revision and today's.

    Raises
    ------
    InputError
        As `refuse_unfit`.
    """
    with engine.connect() as connection:
        refuse_unfit(connection)
        if revision_of(connection) != newest():
            connection.rollback()
            _up(connection)


def refuse_unfit(connection: Connection) -> None:
    """Refuse a database that cannot be brought up to date.

    Raises
    ------
    InputError
        A newer version of steadyhead made it, or it holds other tables than ours.
    """
    now = revision_of(connection)
    if now and now not in REVISIONS:
        raise InputError(
            "register", f"was made by a newer version of steadyhead ({now}).",
            "Open it with that version or a newer one; nothing was changed.",
        )  # fmt: skip
    if not now and inspect(connection).get_table_names():
        raise InputError(
            "register", "is a database that holds other tables already.",
            "Name an empty database or a new folder; nothing was changed.",
        )  # fmt: skip


def _up(connection: Connection) -> None:
    # Only a register that is made or brought up to date waits for what does it.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(PLACE))
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
    connection.commit()


def revision_of(connection: Connection) -> str:
    """Return by which step of ours the tables were made; empty where none made them."""
    if not inspect(connection).has_table("alembic_version"):
        return ""
    return str(connection.execute(text("SELECT version_num FROM alembic_version")).scalar() or "")


def newest() -> str:
    """Return the last step this version knows."""
    return REVISIONS[-1]
