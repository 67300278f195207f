"""Protection proofs that are kept, at hand for whoever judges a station file.

A proof is of the canonical JSON of a file and of the engine, whichever register holds it; so one that was
found once stays at hand under the hash of the file.
"""

from __future__ import annotations

import json
import threading
from collections import OrderedDict
from dataclasses import dataclass

from pydantic import TypeAdapter
from sqlalchemy import Connection, select

from steadyhead.records.protection import ProofSheet
from steadyhead.register.tables import blob, record, revision
from steadyhead.services.jobs.keys import result_key, study_id
from steadyhead.services.prepared import engine

AT_HAND = 128
"""Proofs kept in this process. Own estimate."""
_SHEET: TypeAdapter[ProofSheet] = TypeAdapter(ProofSheet)
_at_hand: OrderedDict[str, KeptProof] = OrderedDict()
_alone = threading.Lock()


@dataclass(frozen=True, eq=False)
class KeptProof:
    """A proof that is kept: hash of its record, and the proof. One record is one proof.

    key: of what it is a proof, see `steadyhead.services.protection.key_of`.
    """

    hash: str
    key: str
    sheet: ProofSheet

    def __eq__(self, other: object) -> bool:
        return isinstance(other, KeptProof) and other.hash == self.hash

    def __hash__(self) -> int:
        return hash(self.hash)


def plain_proof(sheet: ProofSheet) -> object:
    """Return a proof as plain data."""
    return _SHEET.dump_python(sheet, mode="json")


def read_proof(digest: str, content: bytes) -> KeptProof:
    """Return a proof from the bytes of its record, and their hash."""
    plain = json.loads(content)
    return KeptProof(digest, plain["key"], _SHEET.validate_python(plain["proof"]))


def hold(file_hash: str, proof: KeptProof) -> None:
    """Have a proof at hand for a file."""
    with _alone:
        _at_hand[file_hash] = proof
        _at_hand.move_to_end(file_hash)
        while len(_at_hand) > AT_HAND:
            _at_hand.popitem(last=False)


def at_hand(file_hash: str) -> KeptProof | None:
    """Return the proof of a file that was looked up; None: there was none when somebody last looked."""
    with _alone:
        return _at_hand.get(file_hash)


def old_proof(connection: Connection, key: str, file_hash: str) -> str:
    """Return the newest proof of a file that another engine worked out: the id of its record; empty: none.

    It counts no more, for the engine of today may find otherwise.
    """
    c = record.c
    query = select(c.id, c.about).where(c.station == key, c.kind == "study", c.name.like("proof-%"))
    for one in connection.execute(query.order_by(c.at.desc(), c.id.desc())):
        about = json.loads(one.about)
        if about.get("kind") == "proof" and about.get("file") == file_hash and about["engine"] != engine():
            return str(one.id)
    return ""


def look_up(connection: Connection, key: str, file_hash: str, canonical_hash: str = "") -> str:
    """Look up the proof of a file of a station, have it at hand, and return its hash; empty: there is none.

    canonical_hash: of the file's canonical JSON, where it is known already.
    """
    known = at_hand(file_hash)
    if known is not None:
        return known.hash
    if not canonical_hash:
        query = select(revision.c.canonical).where(revision.c.station == key, revision.c.file == file_hash)
        canonical_hash = connection.execute(query.limit(1)).scalar() or ""
    study = study_id(result_key(key, canonical_hash, "proof", {}))
    found = connection.execute(
        select(blob.c.hash, blob.c.bytes)
        .join(record, record.c.content == blob.c.hash)
        .where(record.c.id == study)
    ).first()
    if found is None:
        return ""
    hold(file_hash, read_proof(found.hash, bytes(found.bytes)))
    return str(found.hash)
