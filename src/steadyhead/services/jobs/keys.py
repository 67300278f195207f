"""What names the result of a study: station, canonical JSON of its file, what was asked, and the engine."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from steadyhead.services.prepared import engine
from steadyhead.station.canonical import canonical, sha256

ID_LENGTH = 24


@dataclass(frozen=True, slots=True)
class Ground:
    """The revision of a station file a study is made of: number, hash of its bytes, of its canonical JSON."""

    key: str
    number: int
    file: str
    canonical: str


def result_key(station: str, canonical_hash: str, kind: str, spec: Mapping[str, Any]) -> str:
    """Return what names a result."""
    told = {
        "kind": kind, "station": station, "canonical": canonical_hash, "spec": dict(spec), "engine": engine(),
    }  # fmt: skip
    return sha256(canonical(told))


def study_id(key: str) -> str:
    """Return the id of the record of a study from the key of its result."""
    return f"study-{key[:ID_LENGTH]}"


def judgement_id(key: str, asked_at: str) -> str:
    """Return the id of the record of a judgement: another one each time the same one is asked for."""
    return f"judged-{sha256(f'{key} {asked_at}'.encode())[:ID_LENGTH]}"
