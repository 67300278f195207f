"""Studies that are kept: records of a station with what they were asked with, and of which revision."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import TypeAdapter
from sqlalchemy import Connection, select

from steadyhead.findings import Finding
from steadyhead.register import Register
from steadyhead.register.reading import order_told
from steadyhead.register.tables import record
from steadyhead.services.prepared import engine
from steadyhead.services.stations.kept import NotKept
from steadyhead.services.stations.proofs import KeptProof, at_hand, look_up

MOST_LISTED = 200
_FINDINGS: TypeAdapter[tuple[Finding, ...]] = TypeAdapter(tuple[Finding, ...])
COLUMNS = (record.c.id, record.c.station, record.c.title, record.c.content, record.c.at, record.c.who,
           record.c.about)  # fmt: skip


@dataclass(frozen=True, slots=True)
class StudyRow:
    """A study as the register holds it.

    Parameters
    ----------
    id, station, title, at, who
        Its record.
    content, columns
        Hashes of the record's bytes, and of its traces; empty: none.
    kind, ask
        What was asked for, and with what.
    revision, file, canonical, engine
        What it is of: revision, its bytes, its canonical JSON, and the code that worked it out.
    mark, words
        State mark and verdict.
    facts
        All that was told about it.
    """

    id: str
    station: str
    title: str
    content: str
    columns: str
    at: str
    who: str
    kind: str
    ask: Mapping[str, Any]
    revision: int
    file: str
    canonical: str
    engine: str
    mark: str
    words: str
    facts: Mapping[str, Any]

    @property
    def is_of_this_engine(self) -> bool:
        """Whether the code that worked it out is the one that runs now."""
        return self.engine == engine()


def _row(found: Any) -> StudyRow:
    about = json.loads(found.about)
    return StudyRow(
        id=found.id, station=found.station, title=found.title, content=found.content,
        columns=about.get("columns", ""), at=found.at, who=found.who, kind=about.get("kind", ""),
        ask=about.get("ask", {}), revision=about.get("revision", 0), file=about.get("file", ""),
        canonical=about.get("canonical", ""), engine=about.get("engine", ""),
        mark=about.get("mark", "unknown"), words=about.get("words", ""), facts=about,
    )  # fmt: skip


def studies_of(connection: Connection, key: str, most: int = MOST_LISTED) -> tuple[StudyRow, ...]:
    """Return the studies of a station, the last ones first."""
    query = select(*COLUMNS).where(record.c.station == key, record.c.kind == "study")
    found = connection.execute(query.order_by(record.c.at.desc(), record.c.id)).all()
    told = order_told(connection, key, record)  # the last by the chain: a clock may have been set back
    return tuple(_row(one) for one in sorted(found, key=lambda one: -told.get(one.id, 0))[:most])


def study_of(connection: Connection, key: str, study: str) -> StudyRow:
    """Return one study of a station.

    Raises
    ------
    NotKept
        There is none of that id.
    """
    query = select(*COLUMNS).where(record.c.id == study, record.c.station == key, record.c.kind == "study")
    found = connection.execute(query).first()
    if found is None:
        raise NotKept("study", f"{study[:40]!r} is not kept here.", "See the studies of the station.")
    return _row(found)


def content_of(register: Register, digest: str) -> Any:
    """Return the record of a study, read."""
    content = register.content(digest)
    if content is None:
        raise NotKept("study", "has a record that is not kept here.", "Verify the register.")
    return json.loads(content)


def plain_findings(findings: Sequence[Finding]) -> Any:
    """Return findings as plain data that `read_findings` reads."""
    return _FINDINGS.dump_python(tuple(findings), mode="json")


def read_findings(plain: Any) -> tuple[Finding, ...]:
    """Return findings from plain data."""
    return _FINDINGS.validate_python(plain)


def as_json(plain: Mapping[str, Any]) -> bytes:
    """Return the record of a study as bytes: sorted, finite."""
    return json.dumps(_finite(plain), sort_keys=True, allow_nan=False, ensure_ascii=False).encode()


def _finite(value: Any) -> Any:
    """Return plain data with what JSON has no figure for in words that are read as it again."""
    if isinstance(value, float) and not abs(value) < float("inf"):
        return str(value)
    if isinstance(value, dict):
        return {key: _finite(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(one) for one in value]
    return value


def proof_hash(connection: Connection, key: str, file_hash: str) -> str:
    """Return the hash of the record that proves a file of a station; empty: there is none.

    It is a proof of the same canonical JSON, by the engine that runs now.
    """
    return look_up(connection, key, file_hash)


def proof_in(connection: Connection, key: str, file_hash: str) -> KeptProof | None:
    """Return the proof of a file of a station; None: there is none, see `proof_hash`."""
    look_up(connection, key, file_hash)
    return at_hand(file_hash)
