"""The tables of the register: what is kept for ever, and what may be worked out again.

Tables of `KEPT` only grow: triggers refuse a change or removal of a row, and every row is told in the audit
chain by its digest. The others hold what follows from them (`station`, `gist`, `prepared`, `job`) or what
need not be kept (`attempt`).
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(column_0_label)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def _text(name: str, *, null: bool = False) -> Column[str]:
    return Column(name, Text, nullable=null, server_default=None if null else "")


def _id(name: str = "id") -> Column[str]:
    return Column(name, Text, primary_key=True)


def _station() -> Column[str]:
    return Column("station", Text, ForeignKey("station.key"), nullable=False)


def _blob(name: str, *, null: bool = False) -> Column[str]:
    return Column(name, Text, ForeignKey("blob.hash"), nullable=null)


blob = Table(
    "blob",
    METADATA,
    _id("hash"),
    Column("size", BigInteger, nullable=False),
    Column("bytes", LargeBinary, nullable=False),
)
"""Bytes as given, under their SHA-256: files, records, papers."""

audit = Table(
    "audit",
    METADATA,
    Column("seq", BigInteger().with_variant(Integer, "sqlite"), primary_key=True, autoincrement=False),
    _text("at"),
    _text("who"),
    _text("act"),
    _text("subject"),
    _text("body"),
    _text("previous"),
    _text("hash"),
    Index("ix_audit_subject", "subject", "seq"),
)
"""The chain: each link holds the hash of the one before; `body` is canonical JSON of what was done."""

station = Table(
    "station",
    METADATA,
    _id("key"),
    _text("made_at"),
    _text("made_by"),
    # What a list finds, sorts and says, renewed by `services.stations.gist` in each change's transaction.
    _text("name"),
    _text("place"),
    Column("head", Integer, nullable=False, server_default="0"),
    Column("weight", Integer, nullable=False, server_default="0"),
    _text("worst"),
    _text("proof"),
    _text("proof_words"),
    _text("next_due"),
    _text("due_words"),
    _text("changed_at"),
    _text("released"),
    _text("struck"),
    _text("search"),
    _text("gist_day"),
    Index("ix_station_gist_day", "gist_day", "key"),
    Index("ix_station_next_due", "next_due", "key"),
    # All that lists count, filter and sort by, so that they need not read the rows.
    Index(
        "ix_station_list",
        *("struck", "weight", "proof", "released", "next_due", "name", "changed_at", "key"),
    ),
)

gist = Table(
    "gist",
    METADATA,
    Column("station", Text, ForeignKey("station.key"), primary_key=True),
    _text("line"),
    _text("body"),
)
"""The longer part of a station's gist, JSON, apart from `station` so that a list finds and sorts narrow rows.
`line`: its drawing and figures in the list; `body`: what heads its pages."""

revision = Table(
    "revision",
    METADATA,
    Column("station", Text, ForeignKey("station.key"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    _blob("file"),
    _blob("canonical"),
    _text("at"),
    _text("who"),
    _text("why"),
    Column("based_on", Integer, nullable=False, server_default="0"),
)
"""Each saving of a station file: bytes as given and canonical JSON."""

listing = Table(
    "listing",
    METADATA,
    _id(),
    _station(),
    _text("what"),
    _text("reason"),
    _text("at"),
    _text("who"),
    Index("ix_listing_station", "station", "at"),
)
"""A station taken off the list, or brought back (`what`: off, back), with the reason; the last one holds."""

released = Table(
    "released",
    METADATA,
    Column("station", Text, ForeignKey("station.key"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("revision", Integer, nullable=False),
    _blob("record"),
    _text("at"),
    _text("who"),
)
"""Releases r1, r2 …: the record of `services.release`."""

record = Table(
    "record",
    METADATA,
    _id(),
    _station(),
    _text("kind"),
    _text("name"),
    _text("title"),
    _text("media"),
    _blob("content"),
    _text("run"),
    _text("at"),
    _text("who"),
    _text("about"),
    Index("ix_record_station", "station", "kind", "at"),
)
"""Files that belong to a station: plan, paper, certificate, handover, document, study, photo, baseline."""

run = Table(
    "run",
    METADATA,
    _id(),
    _station(),
    _text("kind"),
    _text("title"),
    _blob("plan"),
    _text("plan_name"),
    _text("at"),
    _text("who"),
    Index("ix_run_station", "station", "at"),
)
"""A visit begun on a plan; how it stands follows from its entries."""

entry = Table(
    "entry",
    METADATA,
    Column("run", Text, ForeignKey("run.id"), primary_key=True),
    Column("seq", Integer, primary_key=True, autoincrement=False),
    _text("entry_id"),
    _text("line"),
    _text("at"),
    UniqueConstraint("run", "entry_id"),
)
"""Lines of entries as they came; `seq` in the order of acceptance."""

piece = Table(
    "piece",
    METADATA,
    _id(),
    _text("kind"),
    _text("words"),
    _text("serial"),
    _text("at"),
    _text("who"),
)
"""A thing that can be taken out and put in elsewhere: valve, pilot, gauge; keeps its own history."""

fitting = Table(
    "fitting",
    METADATA,
    _id(),
    _station(),
    _text("place"),
    _text("piece"),
    _text("on"),
    _text("what"),
    _text("why"),
    _text("at"),
    _text("who"),
    Index("ix_fitting_station", "station", "place", "on"),
    Index("ix_fitting_piece", "piece", "on"),
)
"""A piece put into a place or taken out of it (`what`: in, out)."""

doing = Table(
    "doing",
    METADATA,
    _id(),
    _station(),
    _text("place"),
    _text("piece"),
    _text("activity"),
    _text("what"),
    _text("on"),
    _text("until"),
    _text("reason"),
    _text("risk"),
    _text("record"),
    _text("strikes"),
    _text("about"),
    _text("at"),
    _text("who"),
    Index("ix_doing_station", "station", "activity", "on"),
)
"""Upkeep: an activity done, deferred (until, reason, risk), or an earlier line struck out."""

habit = Table(
    "habit",
    METADATA,
    _id(),
    _station(),
    _text("place"),
    _text("activity"),
    Column("months", Float, nullable=False),
    _text("reason"),
    _text("at"),
    _text("who"),
    Index("ix_habit_station", "station"),
)
"""An interval set by a person, with the reason; the last one of a place and activity holds."""

due = Table(
    "due",
    METADATA,
    Column("station", Text, ForeignKey("station.key"), primary_key=True),
    Column("place", Text, primary_key=True),
    Column("activity", Text, primary_key=True),
    _text("on"),
    _text("until"),
    _text("pull_from"),
    Column("weighs", Integer, nullable=False, server_default="0"),
    _text("isolation"),
    _text("name"),
    _text("zone"),
    _text("body"),
    Index("ix_due_on", "on", "station"),
    Index("ix_due_weighs", "weighs", "on", "station", "place", "activity"),
    Index("ix_due_zone", "zone", "name", "on"),
    Index("ix_due_until", "until"),
)
"""What is due at each station and place; `services.upkeep.renew` renews it in the transaction of each change.

on: day it is due, or is deferred to (`until`, empty where it is not); pull_from: day from which it is worth
doing with another of the same isolation; weighs: what waiting costs, 3 most; body: the rest, as JSON.
"""

mapping = Table(
    "mapping",
    METADATA,
    _id(),
    _text("name"),
    _text("body"),
    _text("at"),
    _text("who"),
)
"""How the columns of a spreadsheet were read; the last of a name holds."""

logger_import = Table(
    "logger_import",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=False),
    _text("token"),
    _station(),
    _text("source"),
    _blob("manifest"),
    _text("begins"),
    _text("ends"),
    _text("at"),
    _text("who"),
    UniqueConstraint("token"),
    Index("ix_logger_import_station", "station", "number"),
)
"""Files of a logger taken in; `manifest` says what of them lies where in the folder of logger data.

token: names its files there; source: which logger or log they come from, in a person's words; begins, ends:
first and last sample, empty where there is none.
"""

logger_file = Table(
    "logger_file",
    METADATA,
    Column("number", Integer, ForeignKey("logger_import.number"), primary_key=True, autoincrement=False),
    Column("place", Integer, primary_key=True, autoincrement=False),
    _text("sha256"),
    _text("name"),
    Column("size", BigInteger, nullable=False),
    Index("ix_logger_file_sha256", "sha256"),
)
"""Files of an import in the order given; the bytes lie in the folder of logger data, under their hash."""

logger_undo = Table(
    "logger_undo",
    METADATA,
    Column("number", Integer, ForeignKey("logger_import.number"), primary_key=True, autoincrement=False),
    _text("reason"),
    _text("at"),
    _text("who"),
)
"""An import undone: its samples are shown no more."""

logger_profile = Table(
    "logger_profile",
    METADATA,
    Column("number", Integer, ForeignKey("logger_import.number"), primary_key=True, autoincrement=False),
    _station(),
    _text("source"),
    _text("body"),
    _text("at"),
    _text("who"),
    Index("ix_logger_profile_station", "station", "source", "number"),
)
"""How the files of an import were read, with the answers given; the last one of a source holds."""

account = Table(
    "account",
    METADATA,
    _id(),
    _text("name"),
    _text("role"),
    _text("secret"),
    _text("state"),
    Column("epoch", Integer, nullable=False, server_default="0"),
    _text("at"),
    UniqueConstraint("name"),
)
"""People of a team. Its rows change; each change is told in the chain without the secret."""

attempt = Table(
    "attempt",
    METADATA,
    Column("id", BigInteger().with_variant(Integer, "sqlite"), primary_key=True, autoincrement=True),
    _text("name"),
    _text("address"),
    Column("at", Float, nullable=False),
    Index("ix_attempt_name", "name", "at"),
    Index("ix_attempt_address", "address", "at"),
)
"""Failed attempts to sign in; old ones are cleared away."""

job = Table(
    "job",
    METADATA,
    _id(),
    _text("kind"),
    _station(),
    _text("spec_hash"),
    _text("spec"),
    _text("state"),
    Column("share", Float, nullable=False, server_default="0"),
    _text("words"),
    _text("result"),
    _text("problem"),
    _text("asked_at"),
    _text("asked_by"),
    _text("begun_at"),
    _text("ended_at"),
    Column("beat", Float, nullable=False, server_default="0"),
    Column("tries", Integer, nullable=False, server_default="0"),
    Column("stop", Integer, nullable=False, server_default="0"),
    _text("worker"),
    Index("ix_job_state", "state", "asked_at"),
    Index("ix_job_station", "station", "asked_at"),
    Index("ix_job_spec", "spec_hash"),
)
"""Long studies; `result` is the hash of a blob, found again by `spec_hash`."""

prepared = Table(
    "prepared",
    METADATA,
    _id("key"),
    _text("kind"),
    _station(),
    Column("body", LargeBinary, nullable=False),
    _text("at"),
    Index("ix_prepared_station", "station", "kind"),
)
"""Pictures and judged sheets ready to show, under a hash of all that decides them; may be thrown away."""

setting = Table("setting", METADATA, _id("name"), _text("value"))
"""The register's own few facts: its id, when it was made, keys of sessions."""

KEPT = (
    *(blob, audit, revision, listing, released, record, run, entry, piece, fitting, doing, habit, mapping),
    *(logger_import, logger_file, logger_undo, logger_profile),
)
"""Tables that only grow."""
SINCE = dict.fromkeys(("logger_import", "logger_file", "logger_undo", "logger_profile"), "r0002")
"""By which step a table came that was not there from the first one on."""
