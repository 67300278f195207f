"""Which certificates this installation has issued: one content for one revision, none written over.

Beside the signing key lies a folder with one small file for each revision of each run. A revision is claimed
before its paper is written; the same content may be written again, another asks for the next revision.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from steadyhead.errors import InputError
from steadyhead.findings import Finding, Severity
from steadyhead.records.certificate import Certificate
from steadyhead.services.certificates.making import Made, NotCertified
from steadyhead.services.files import read_file, write_new, write_paper
from steadyhead.services.signing import folder
from steadyhead.station.canonical import canonical, sha256

FORMAT = "steadyhead/issued/1"
FOLDER = "issued"
DIGITS = 24
"""Digits of the hash of station and run that name its folder. [1]"""
SIGNATURE_ENDING = ".sig"
LARGEST_PAPER = 400_000_000
"""Largest certificate that is read; own estimate: entries may have 200 MB. [bytes]"""


@dataclass(frozen=True, slots=True)
class Issued:
    """One revision that was issued: number, revision, day of signing, hash of its record."""

    number: str
    revision: int
    day: str
    record_sha256: str


def place_of(station_id: str, run: str) -> Path:
    """Return the folder of a run's issued certificates; it need not exist."""
    return folder() / FOLDER / sha256(f"{station_id}\n{run}".encode())[:DIGITS]


def issued(station_id: str, run: str) -> tuple[Issued, ...]:
    """Return what was issued for a run, by revision; a file that cannot be read is none."""
    place = place_of(station_id, run)
    found = (_read(path) for path in sorted(place.glob("r*.json"))) if place.is_dir() else ()
    return tuple(sorted((one for one in found if one is not None), key=lambda one: one.revision))


def _read(path: Path) -> Issued | None:
    try:
        data: Any = json.loads(read_file(str(path)))
        return Issued(
            str(data["number"]), int(data["revision"]), str(data["day"]), str(data["record_sha256"])
        )
    except (InputError, ValueError, KeyError, TypeError):
        return None


def refusals(record: Certificate, stored: bytes, run: str) -> list[Finding]:
    """Return why a certificate may not be issued beside those there are; empty where it may.

    Parameters
    ----------
    record, stored
        The certificate, and the bytes of it that are signed.
    run
        Id of its run.
    """
    before = issued(record.station_id, run)
    digest = sha256(stored)
    if not before or any((one.revision, one.record_sha256) == (record.revision, digest) for one in before):
        return []
    newest = before[-1]
    if record.replaces is None:
        words: dict[str, str | int] = {"revision": newest.revision, "day": newest.day}
        return [Finding("RUN-76", newest.number, Severity.STOP, words)]
    if newest.revision > record.replaces.revision:
        words = {"got": record.replaces.revision, "revision": newest.revision}
        return [Finding("RUN-77", newest.number, Severity.STOP, words)]
    return []


def issue(made: Made, run: str, place: str, source: str) -> tuple[Path, bool]:
    """Write a certificate with its signature beside it; return where, and whether it was there already.

    Parameters
    ----------
    made, run
        The certificate, and the id of its run.
    place, source
        Name of the file, and the plan file, which is never written over.

    Raises
    ------
    NotCertified
        Another content was issued under this number and revision, or a newer one.
    InputError
        A file of that name is there and says otherwise, or the place cannot be written.
    """
    found = refusals(made.record, made.stored, run)
    if found:
        raise NotCertified(found)
    beside = f"{place}{SIGNATURE_ENDING}"
    there = [_is_there(name, content) for name, content in ((place, made.pdf), (beside, made.signature))]
    _claim(made, run)
    kinds = ((place, made.pdf, ".pdf", b"%PDF"), (beside, made.signature, SIGNATURE_ENDING, b"{"))
    for is_there, (name, content, ending, begins) in zip(there, kinds, strict=True):
        if not is_there:
            write_paper(name, content, option="--pdf", ending=ending, begins=begins, source=source)
    return Path(place), there[0]


def _is_there(place: str, content: bytes) -> bool:
    """Say whether a file holds this very content; refuse one that holds another."""
    path = Path(place)
    try:
        if not path.is_file() or path.stat().st_size == 0:
            return False
    except (OSError, ValueError):
        return False
    if read_file(place, LARGEST_PAPER) == content:
        return True
    problem = f"got {place!r}, which is there and says otherwise; a certificate is never written over."
    raise InputError("--pdf", problem, "Give another name; keep the old file.")


def _claim(made: Made, run: str) -> None:
    record = made.record
    place = place_of(record.station_id, run) / f"r{record.revision}.json"
    content = canonical(
        {
            "format": FORMAT,
            "number": record.number,
            "revision": record.revision,
            "day": record.day,
            "standing": record.standing,
            "run": run,
            "record_sha256": sha256(made.stored),
        }
    )
    try:
        place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        write_new(place, content)
    except FileExistsError:
        again = refusals(record, made.stored, run)
        if again:
            raise NotCertified(again) from None
    except OSError as problem:
        raise InputError(
            "certificate",
            f"cannot be noted as issued in {str(place.parent)!r}: {problem.strerror}.",
            "Give that folder back its rights, or free some room.",
        ) from None
