"""Files of loggers taken in: imports, their files, those undone, and how files of a source are read."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from steadyhead.register.guards import guard

revision = "r0002"
down_revision = "r0001"
KEPT = ("logger_import", "logger_file", "logger_undo", "logger_profile")
"""Tables that only grow."""


def _text(name: str) -> sa.Column[str]:
    return sa.Column(name, sa.Text(), server_default="", nullable=False)


def _whole(name: str) -> sa.Column[int]:
    return sa.Column(name, sa.Integer(), autoincrement=False, nullable=False)


def upgrade() -> None:
    """Make the tables and their guards."""
    _import()
    _file()
    _undo()
    _profile()
    guard(op.get_bind(), KEPT)


def _import() -> None:
    op.create_table(
        "logger_import",
        _whole("number"),
        _text("token"),
        sa.Column("station", sa.Text(), nullable=False),
        _text("source"),
        sa.Column("manifest", sa.Text(), nullable=False),
        *(_text(name) for name in ("begins", "ends", "at", "who")),
        sa.ForeignKeyConstraint(["station"], ["station.key"], name="fk_logger_import_station_station"),
        sa.ForeignKeyConstraint(["manifest"], ["blob.hash"], name="fk_logger_import_manifest_blob"),
        sa.PrimaryKeyConstraint("number", name="pk_logger_import"),
        sa.UniqueConstraint("token", name="uq_logger_import_token"),
    )
    op.create_index("ix_logger_import_station", "logger_import", ["station", "number"])


def _file() -> None:
    op.create_table(
        "logger_file",
        _whole("number"),
        _whole("place"),
        *(_text(name) for name in ("sha256", "name")),
        sa.Column("size", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["number"], ["logger_import.number"], name="fk_logger_file_number_logger_import"
        ),
        sa.PrimaryKeyConstraint("number", "place", name="pk_logger_file"),
    )
    op.create_index("ix_logger_file_sha256", "logger_file", ["sha256"])


def _undo() -> None:
    op.create_table(
        "logger_undo",
        _whole("number"),
        *(_text(name) for name in ("reason", "at", "who")),
        sa.ForeignKeyConstraint(
            ["number"], ["logger_import.number"], name="fk_logger_undo_number_logger_import"
        ),
        sa.PrimaryKeyConstraint("number", name="pk_logger_undo"),
    )


def _profile() -> None:
    op.create_table(
        "logger_profile",
        _whole("number"),
        sa.Column("station", sa.Text(), nullable=False),
        *(_text(name) for name in ("source", "body", "at", "who")),
        sa.ForeignKeyConstraint(
            ["number"], ["logger_import.number"], name="fk_logger_profile_number_logger_import"
        ),
        sa.ForeignKeyConstraint(["station"], ["station.key"], name="fk_logger_profile_station_station"),
        sa.PrimaryKeyConstraint("number", name="pk_logger_profile"),
    )
    op.create_index("ix_logger_profile_station", "logger_profile", ["station", "source", "number"])
