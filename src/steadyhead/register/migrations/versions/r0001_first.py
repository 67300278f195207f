"""The first tables, written out: what later versions of `tables` say changes nothing here."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from steadyhead.register.guards import guard

revision = "r0001"
down_revision = None
KEPT = (
    "blob",
    "audit",
    "revision",
    "listing",
    "released",
    "record",
    "run",
    "entry",
    "piece",
    "fitting",
    "doing",
    "habit",
    "mapping",
)
"""Tables that only grow."""
_WIDE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make all tables, and the guards of those that only grow."""
    _account()
    _attempt()
    _audit()
    _blob()
    _mapping()
    _piece()
    _setting()
    _station()
    _doing()
    _due()
    _fitting()
    _gist()
    _habit()
    _job()
    _listing()
    _prepared()
    _record()
    _released()
    _revision()
    _run()
    _entry()
    guard(op.get_bind(), KEPT)


def _account() -> None:
    op.create_table(
        "account",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), server_default="", nullable=False),
        sa.Column("role", sa.Text(), server_default="", nullable=False),
        sa.Column("secret", sa.Text(), server_default="", nullable=False),
        sa.Column("state", sa.Text(), server_default="", nullable=False),
        sa.Column("epoch", sa.Integer(), server_default="0", nullable=False),
        sa.Column("at", sa.Text(), server_default="", nullable=False),
        sa.PrimaryKeyConstraint("id", name=("pk_account")),
        sa.UniqueConstraint("name", name=("uq_account_name")),
    )


def _attempt() -> None:
    op.create_table(
        "attempt",
        sa.Column("id", _WIDE, autoincrement=True, nullable=False),
        sa.Column("name", sa.Text(), server_default="", nullable=False),
        sa.Column("address", sa.Text(), server_default="", nullable=False),
        sa.Column("at", sa.Float(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=("pk_attempt")),
    )
    op.create_index("ix_attempt_address", "attempt", ["address", "at"], unique=False)
    op.create_index("ix_attempt_name", "attempt", ["name", "at"], unique=False)


def _audit() -> None:
    op.create_table(
        "audit",
        sa.Column("seq", _WIDE, autoincrement=False, nullable=False),
        sa.Column("at", sa.Text(), server_default="", nullable=False),
        sa.Column("who", sa.Text(), server_default="", nullable=False),
        sa.Column("act", sa.Text(), server_default="", nullable=False),
        sa.Column("subject", sa.Text(), server_default="", nullable=False),
        sa.Column("body", sa.Text(), server_default="", nullable=False),
        sa.Column("previous", sa.Text(), server_default="", nullable=False),
        sa.Column("hash", sa.Text(), server_default="", nullable=False),
        sa.PrimaryKeyConstraint("seq", name=("pk_audit")),
    )
    op.create_index("ix_audit_subject", "audit", ["subject", "seq"], unique=False)


def _blob() -> None:
    op.create_table(
        "blob",
        sa.Column("hash", sa.Text(), nullable=False),
        sa.Column("size", sa.BigInteger(), nullable=False),
        sa.Column("bytes", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("hash", name=("pk_blob")),
    )


def _mapping() -> None:
    op.create_table(
        "mapping",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), server_default="", nullable=False),
        sa.Column("body", sa.Text(), server_default="", nullable=False),
        sa.Column("at", sa.Text(), server_default="", nullable=False),
        sa.Column("who", sa.Text(), server_default="", nullable=False),
        sa.PrimaryKeyConstraint("id", name=("pk_mapping")),
    )


def _piece() -> None:
    op.create_table(
        "piece",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), server_default="", nullable=False),
        sa.Column("words", sa.Text(), server_default="", nullable=False),
        sa.Column("serial", sa.Text(), server_default="", nullable=False),
        sa.Column("at", sa.Text(), server_default="", nullable=False),
        sa.Column("who", sa.Text(), server_default="", nullable=False),
        sa.PrimaryKeyConstraint("id", name=("pk_piece")),
    )


def _setting() -> None:
    op.create_table(
        "setting",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), server_default="", nullable=False),
        sa.PrimaryKeyConstraint("name", name=("pk_setting")),
    )


def _station() -> None:
    op.create_table(
        "station",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("made_at", sa.Text(), server_default="", nullable=False),
        sa.Column("made_by", sa.Text(), server_default="", nullable=False),
        sa.Column("name", sa.Text(), server_default="", nullable=False),
        sa.Column("place", sa.Text(), server_default="", nullable=False),
        sa.Column("head", sa.Integer(), server_default="0", nullable=False),
        sa.Column("weight", sa.Integer(), server_default="0", nullable=False),
        sa.Column("worst", sa.Text(), server_default="", nullable=False),
        sa.Column("proof", sa.Text(), server_default="", nullable=False),
        sa.Column("proof_words", sa.Text(), server_default="", nullable=False),
        sa.Column("next_due", sa.Text(), server_default="", nullable=False),
        sa.Column("due_words", sa.Text(), server_default="", nullable=False),
        sa.Column("changed_at", sa.Text(), server_default="", nullable=False),
        sa.Column("released", sa.Text(), server_default="", nullable=False),
        sa.Column("struck", sa.Text(), server_default="", nullable=False),
        sa.Column("search", sa.Text(), server_default="", nullable=False),
        sa.Column("gist_day", sa.Text(), server_default="", nullable=False),
        sa.PrimaryKeyConstraint("key", name=("pk_station")),
    )
    op.create_index("ix_station_gist_day", "station", ["gist_day", "key"], unique=False)
    op.create_index(
        "ix_station_list",
        "station",
        ["struck", "weight", "proof", "released", "next_due", "name", "changed_at", "key"],
        unique=False,
    )
    op.create_index("ix_station_next_due", "station", ["next_due", "key"], unique=False)


def _doing() -> None:
    op.create_table(
        "doing",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("station", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), server_default="", nullable=False),
        sa.Column("piece", sa.Text(), server_default="", nullable=False),
        sa.Column("activity", sa.Text(), server_default="", nullable=False),
        sa.Column("what", sa.Text(), server_default="", nullable=False),
        sa.Column("on", sa.Text(), server_default="", nullable=False),
        sa.Column("until", sa.Text(), server_default="", nullable=False),
        sa.Column("reason", sa.Text(), server_default="", nullable=False),
        sa.Column("risk", sa.Text(), server_default="", nullable=False),
        sa.Column("record", sa.Text(), server_default="", nullable=False),
        sa.Column("strikes", sa.Text(), server_default="", nullable=False),
        sa.Column("about", sa.Text(), server_default="", nullable=False),
        sa.Column("at", sa.Text(), server_default="", nullable=False),
        sa.Column("who", sa.Text(), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["station"], ["station.key"], name=("fk_doing_station_station")),
        sa.PrimaryKeyConstraint("id", name=("pk_doing")),
    )
    op.create_index("ix_doing_station", "doing", ["station", "activity", "on"], unique=False)


def _due() -> None:
    op.create_table(
        "due",
        sa.Column("station", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("activity", sa.Text(), nullable=False),
        sa.Column("on", sa.Text(), server_default="", nullable=False),
        sa.Column("until", sa.Text(), server_default="", nullable=False),
        sa.Column("pull_from", sa.Text(), server_default="", nullable=False),
        sa.Column("weighs", sa.Integer(), server_default="0", nullable=False),
        sa.Column("isolation", sa.Text(), server_default="", nullable=False),
        sa.Column("name", sa.Text(), server_default="", nullable=False),
        sa.Column("zone", sa.Text(), server_default="", nullable=False),
        sa.Column("body", sa.Text(), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["station"], ["station.key"], name=("fk_due_station_station")),
        sa.PrimaryKeyConstraint("station", "place", "activity", name=("pk_due")),
    )
    op.create_index("ix_due_on", "due", ["on", "station"], unique=False)
    op.create_index("ix_due_until", "due", ["until"], unique=False)
    op.create_index("ix_due_weighs", "due", ["weighs", "on", "station", "place", "activity"], unique=False)
    op.create_index("ix_due_zone", "due", ["zone", "name", "on"], unique=False)


def _fitting() -> None:
    op.create_table(
        "fitting",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("station", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), server_default="", nullable=False),
        sa.Column("piece", sa.Text(), server_default="", nullable=False),
        sa.Column("on", sa.Text(), server_default="", nullable=False),
        sa.Column("what", sa.Text(), server_default="", nullable=False),
        sa.Column("why", sa.Text(), server_default="", nullable=False),
        sa.Column("at", sa.Text(), server_default="", nullable=False),
        sa.Column("who", sa.Text(), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["station"], ["station.key"], name=("fk_fitting_station_station")),
        sa.PrimaryKeyConstraint("id", name=("pk_fitting")),
    )
    op.create_index("ix_fitting_piece", "fitting", ["piece", "on"], unique=False)
    op.create_index("ix_fitting_station", "fitting", ["station", "place", "on"], unique=False)


def _gist() -> None:
    op.create_table(
        "gist",
        sa.Column("station", sa.Text(), nullable=False),
        sa.Column("line", sa.Text(), server_default="", nullable=False),
        sa.Column("body", sa.Text(), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["station"], ["station.key"], name=("fk_gist_station_station")),
        sa.PrimaryKeyConstraint("station", name=("pk_gist")),
    )


def _habit() -> None:
    op.create_table(
        "habit",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("station", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), server_default="", nullable=False),
        sa.Column("activity", sa.Text(), server_default="", nullable=False),
        sa.Column("months", sa.Float(), nullable=False),
        sa.Column("reason", sa.Text(), server_default="", nullable=False),
        sa.Column("at", sa.Text(), server_default="", nullable=False),
        sa.Column("who", sa.Text(), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["station"], ["station.key"], name=("fk_habit_station_station")),
        sa.PrimaryKeyConstraint("id", name=("pk_habit")),
    )
    op.create_index("ix_habit_station", "habit", ["station"], unique=False)


def _job() -> None:
    op.create_table(
        "job",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), server_default="", nullable=False),
        sa.Column("station", sa.Text(), nullable=False),
        sa.Column("spec_hash", sa.Text(), server_default="", nullable=False),
        sa.Column("spec", sa.Text(), server_default="", nullable=False),
        sa.Column("state", sa.Text(), server_default="", nullable=False),
        sa.Column("share", sa.Float(), server_default="0", nullable=False),
        sa.Column("words", sa.Text(), server_default="", nullable=False),
        sa.Column("result", sa.Text(), server_default="", nullable=False),
        sa.Column("problem", sa.Text(), server_default="", nullable=False),
        sa.Column("asked_at", sa.Text(), server_default="", nullable=False),
        sa.Column("asked_by", sa.Text(), server_default="", nullable=False),
        sa.Column("begun_at", sa.Text(), server_default="", nullable=False),
        sa.Column("ended_at", sa.Text(), server_default="", nullable=False),
        sa.Column("beat", sa.Float(), server_default="0", nullable=False),
        sa.Column("tries", sa.Integer(), server_default="0", nullable=False),
        sa.Column("stop", sa.Integer(), server_default="0", nullable=False),
        sa.Column("worker", sa.Text(), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["station"], ["station.key"], name=("fk_job_station_station")),
        sa.PrimaryKeyConstraint("id", name=("pk_job")),
    )
    op.create_index("ix_job_spec", "job", ["spec_hash"], unique=False)
    op.create_index("ix_job_state", "job", ["state", "asked_at"], unique=False)
    op.create_index("ix_job_station", "job", ["station", "asked_at"], unique=False)


def _listing() -> None:
    op.create_table(
        "listing",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("station", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), server_default="", nullable=False),
        sa.Column("reason", sa.Text(), server_default="", nullable=False),
        sa.Column("at", sa.Text(), server_default="", nullable=False),
        sa.Column("who", sa.Text(), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["station"], ["station.key"], name=("fk_listing_station_station")),
        sa.PrimaryKeyConstraint("id", name=("pk_listing")),
    )
    op.create_index("ix_listing_station", "listing", ["station", "at"], unique=False)


def _prepared() -> None:
    op.create_table(
        "prepared",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), server_default="", nullable=False),
        sa.Column("station", sa.Text(), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.Column("at", sa.Text(), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["station"], ["station.key"], name=("fk_prepared_station_station")),
        sa.PrimaryKeyConstraint("key", name=("pk_prepared")),
    )
    op.create_index("ix_prepared_station", "prepared", ["station", "kind"], unique=False)


def _record() -> None:
    op.create_table(
        "record",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("station", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), server_default="", nullable=False),
        sa.Column("name", sa.Text(), server_default="", nullable=False),
        sa.Column("title", sa.Text(), server_default="", nullable=False),
        sa.Column("media", sa.Text(), server_default="", nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("run", sa.Text(), server_default="", nullable=False),
        sa.Column("at", sa.Text(), server_default="", nullable=False),
        sa.Column("who", sa.Text(), server_default="", nullable=False),
        sa.Column("about", sa.Text(), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["content"], ["blob.hash"], name=("fk_record_content_blob")),
        sa.ForeignKeyConstraint(["station"], ["station.key"], name=("fk_record_station_station")),
        sa.PrimaryKeyConstraint("id", name=("pk_record")),
    )
    op.create_index("ix_record_station", "record", ["station", "kind", "at"], unique=False)


def _released() -> None:
    op.create_table(
        "released",
        sa.Column("station", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("record", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), server_default="", nullable=False),
        sa.Column("who", sa.Text(), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["record"], ["blob.hash"], name=("fk_released_record_blob")),
        sa.ForeignKeyConstraint(["station"], ["station.key"], name=("fk_released_station_station")),
        sa.PrimaryKeyConstraint("station", "number", name=("pk_released")),
    )


def _revision() -> None:
    op.create_table(
        "revision",
        sa.Column("station", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("file", sa.Text(), nullable=False),
        sa.Column("canonical", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), server_default="", nullable=False),
        sa.Column("who", sa.Text(), server_default="", nullable=False),
        sa.Column("why", sa.Text(), server_default="", nullable=False),
        sa.Column("based_on", sa.Integer(), server_default="0", nullable=False),
        sa.ForeignKeyConstraint(["canonical"], ["blob.hash"], name=("fk_revision_canonical_blob")),
        sa.ForeignKeyConstraint(["file"], ["blob.hash"], name=("fk_revision_file_blob")),
        sa.ForeignKeyConstraint(["station"], ["station.key"], name=("fk_revision_station_station")),
        sa.PrimaryKeyConstraint("station", "number", name=("pk_revision")),
    )


def _run() -> None:
    op.create_table(
        "run",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("station", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), server_default="", nullable=False),
        sa.Column("title", sa.Text(), server_default="", nullable=False),
        sa.Column("plan", sa.Text(), nullable=False),
        sa.Column("plan_name", sa.Text(), server_default="", nullable=False),
        sa.Column("at", sa.Text(), server_default="", nullable=False),
        sa.Column("who", sa.Text(), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["plan"], ["blob.hash"], name=("fk_run_plan_blob")),
        sa.ForeignKeyConstraint(["station"], ["station.key"], name=("fk_run_station_station")),
        sa.PrimaryKeyConstraint("id", name=("pk_run")),
    )
    op.create_index("ix_run_station", "run", ["station", "at"], unique=False)


def _entry() -> None:
    op.create_table(
        "entry",
        sa.Column("run", sa.Text(), nullable=False),
        sa.Column("seq", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("entry_id", sa.Text(), server_default="", nullable=False),
        sa.Column("line", sa.Text(), server_default="", nullable=False),
        sa.Column("at", sa.Text(), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["run"], ["run.id"], name=("fk_entry_run_run")),
        sa.PrimaryKeyConstraint("run", "seq", name=("pk_entry")),
        sa.UniqueConstraint("run", "entry_id", name=("uq_entry_run")),
    )
