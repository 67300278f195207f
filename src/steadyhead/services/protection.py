"""The protection proof of a station file: looked up among those this person has, else worked out and kept.

A proof belongs to the content of its station file and to the engine that made it: another of either is
another proof. What is kept can always be worked out again.
"""

from __future__ import annotations

import hashlib
import json
import os
import sys
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from steadyhead import __version__
from steadyhead.findings import Finding, Severity
from steadyhead.laws.compiling import PACKAGE
from steadyhead.records.protection import FORMAT, ProofSheet
from steadyhead.records.station import Station
from steadyhead.services.files import write_replacing
from steadyhead.station.canonical import canonical
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

ROOMS = ("records", "water", "laws", "station", "hydraulics", "surge", "design")
"""Rooms of the house whose text a proof rests on."""
CODES = tuple(f"SUR-{number}" for number in (*range(25, 35), *range(44, 50), 10, 41, 54, 59, 62, 63, 65))
"""Findings of the proof; `LIMIT_CODE` is the one of the consumers' limit."""
LIMIT_CODE = "LAD-08"
NO_BEARING = ("answers", "papers", "equipment")
"""Fields of a station file a proof does not rest on."""
MOST_KEPT = 300
LARGEST = 20_000_000
"""Largest file read as a proof. Own estimate. [bytes]"""


def folder(environment: Mapping[str, str] = os.environ, system: str = sys.platform) -> Path:
    """Return where this person's proofs lie; the folder need not exist.

    ``proofs`` in the folder for what can be made again: ``XDG_CACHE_HOME`` or ``~/.cache``, ``LOCALAPPDATA``
    on Windows.
    """
    if system == "win32" and environment.get("LOCALAPPDATA"):
        base = Path(environment["LOCALAPPDATA"])
    else:
        stated = environment.get("XDG_CACHE_HOME", "")
        base = Path(stated) if stated and Path(stated).is_absolute() else Path.home() / ".cache"
    return base / "steadyhead" / "proofs"


def key_of(station: Station) -> str:
    """Return the key of a proof: SHA-256 of what the station file says, and of the engine."""
    said = station.model_dump(mode="json", exclude=set(NO_BEARING), exclude_unset=True)
    digest = hashlib.sha256(canonical(said))
    digest.update(f"\0{FORMAT}\0{__version__}\0{engine_digest()}".encode())
    return digest.hexdigest()


def engine_digest(package: Path = PACKAGE) -> str:
    """Return a hash of the source a proof rests on; empty where it cannot be read."""
    digest = hashlib.sha256()
    try:
        for room in ROOMS:
            for path in sorted((package / room).rglob("*.py")):
                digest.update(path.relative_to(package).as_posix().encode() + b"\0" + path.read_bytes())
    except OSError:
        return ""
    return digest.hexdigest()


def look_up(station: Station, place: Path | None = None) -> ProofSheet | None:
    """Return the proof kept for a station; None where there is none, or what is kept cannot be read."""
    from pydantic import TypeAdapter, ValidationError

    key = key_of(station)
    path = (place or folder()) / f"{key}.json"
    try:
        if path.stat().st_size > LARGEST:
            return None
        held = json.loads(path.read_bytes())
        if held["format"] != FORMAT or held["key"] != key:
            return None
        return TypeAdapter(ProofSheet).validate_json(json.dumps(held["proof"]))
    except (OSError, ValueError, KeyError, TypeError, RecursionError, ValidationError):
        return None


def keep(station: Station, proof: ProofSheet, place: Path | None = None) -> Path | None:
    """Keep a proof, all or nothing; None where the folder cannot be written: nothing is lost by that."""
    from pydantic import TypeAdapter

    from steadyhead.errors import InputError

    key = key_of(station)
    folder_now = place or folder()
    plain = TypeAdapter(ProofSheet).dump_python(proof, mode="json")
    content = json.dumps({"format": FORMAT, "key": key, "proof": plain}, sort_keys=True).encode()
    try:
        folder_now.mkdir(parents=True, exist_ok=True)
        written = write_replacing(folder_now / f"{key}.json", content)
        _clear_out(folder_now)
    except (OSError, InputError):
        return None
    return written


def _clear_out(place: Path) -> None:
    """Take the oldest proofs away where there are very many."""
    kept = sorted(place.glob("*.json"), key=lambda path: path.stat().st_mtime)
    for path in kept[:-MOST_KEPT]:
        path.unlink(missing_ok=True)


def proof_of(
    station: Station,
    *,
    place: Path | None = None,
    telling: Callable[[str], None] = lambda words: None,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
) -> ProofSheet | None:
    """Return the proof of a station: the one kept, else a new one that is then kept; None: cancelled.

    Parameters
    ----------
    station
        A checked station file with its data sheets taken in.
    place
        Folder of proofs; None: this person's.
    telling
        Told what is about to take a while.
    progress, cancel
        See `steadyhead.work`.
    """
    known = look_up(station, place)
    if known is not None:
        return known
    if not has_something_to_prove(station):
        return ProofSheet(())
    from steadyhead.design.protection import prove_station
    from steadyhead.services.first_use import tell_first_use

    tell_first_use(telling)
    found = prove_station(station, progress=progress, cancel=cancel)
    if found is not None:
        keep(station, found, place)
    return found


def is_proved(findings: Iterable[Finding]) -> bool:
    """Return whether every limit is shown to hold in each credited failure, or who answers for it is named.

    A limit that is passed, a side without a verdict, a column that parts, a way that could not be proved and
    an empty window are stops or questions of the sheet; a question that is answered is none any more.
    """
    told = [one for one in findings if one.code in (*CODES, LIMIT_CODE)]
    return not any(one.severity in (Severity.STOP, Severity.ASK) for one in told)


def has_something_to_prove(station: Station) -> bool:
    """Return whether a station has a shut-off."""
    from steadyhead.records.parts import ShutOff

    return any(isinstance(part, ShutOff) for part in station.parts())
