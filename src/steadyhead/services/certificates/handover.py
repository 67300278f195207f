"""The handover pack of a certified run: one zip of papers and of open data, with a manifest of hashes."""

from __future__ import annotations

import csv
import io
import json
import zipfile
import zlib
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from steadyhead.drawings import draw_strip, screen
from steadyhead.errors import InputError
from steadyhead.reports import handover as paper
from steadyhead.reports.attaching import taken_apart
from steadyhead.reports.card_left import as_left
from steadyhead.reports.strips import strip_picture
from steadyhead.services.certificates.making import ENTRIES, PLAN, RECORD, SIGNATURE
from steadyhead.services.certificates.verifying import Verified
from steadyhead.services.judging import Judged
from steadyhead.services.papers import card_data, card_paper, design_paper
from steadyhead.station.canonical import canonical, sha256
from steadyhead.station.load import load
from steadyhead.units import METRIC, UnitSet

FORMAT = "steadyhead/handover/1"
MANIFEST, CERTIFICATE = "manifest.json", "2-certificate.pdf"
COLUMNS = ("step", "input", "tap", "value", "quantity", "typed", "instrument", "flow", "at", "who", "entry")
_AS_GIVEN = "Name the certificate as it was handed over."
_NO_PACK = (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, zlib.error)


def pack(
    content: bytes,
    found: Verified,
    judged: Judged,
    *,
    release: bytes = b"",
    revision: str = "",
    units: UnitSet = METRIC,
) -> bytes:
    """Return the handover pack of a certificate as a zip file; the same input gives the same bytes.

    Parameters
    ----------
    content, found
        The certificate file, and what was proved of it.
    judged
        The station file it belongs to, with its design sheet.
    release, revision
        Record of its release, and the revision in words, where at hand.
    units
        Display units of the papers.

    Raises
    ------
    InputError
        The certificate is not proved, or belongs to another station file.
    """
    if not (found.record_proved and found.page_proved):
        said = "; ".join(f"{part.name}: {part.words}" for part in found.parts if not part.proved)
        raise InputError(
            "CERT.pdf", f"is not proved. {said or 'Its key is not the one compared.'}", _AS_GIVEN
        )
    if found.record.get("station_sha256") != judged.loaded.sha256:
        raise InputError("--station", "is not the file this certificate belongs to.", "Name that one.")
    files = _files(content, found.record, judged, release, revision, units)
    return _zipped(files, found.record)


def _files(
    content: bytes, record: Mapping[str, Any], judged: Judged, release: bytes, revision: str, units: UnitSet
) -> dict[str, bytes]:
    apart = taken_apart(content)
    assert apart is not None
    day = date.fromisoformat(str(record["day"]))
    left = as_left(record, units)
    shown = strip_picture(judged.loaded.station, units=units, sheet=judged.sheet)
    notes = paper.pdf(
        judged.loaded.station,
        record,
        card_data(judged, units, left),
        day=day,
        station_hash=judged.loaded.sha256,
        engine_version=str(record["engine_version"]),
        revision=revision,
        strip=shown,
        units=units,
    )
    files = {
        "1-handover-notes.pdf": notes,
        CERTIFICATE: content,
        "2-certificate.pdf.sig": apart.files[SIGNATURE],
        "3-design-sheet.pdf": design_paper(judged, units, day, revision),
        "4-station-card.pdf": card_paper(judged, units, day, revision, left),
        "data/record.json": apart.files[RECORD],
        "data/signature.json": apart.files[SIGNATURE],
        "data/plan.plan": apart.files[PLAN],
        "data/entries.jsonl": apart.files[ENTRIES],
        "data/readings.csv": readings(record),
        "data/station.yaml": judged.source,
        "data/station.json": judged.loaded.canonical or canonical(judged.loaded.data),
        "data/strip.svg": draw_strip(shown, screen(embed=True), 1360).encode(),
    }
    return files | ({"data/release.json": release} if release else {})


def readings(record: Mapping[str, Any]) -> bytes:
    """Return every reading of a record as a table: SI, one head line, commas, UTF-8."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(COLUMNS)
    for step in record["tests"]:
        for line in step["lines"]:
            noted = line["noted"]
            if noted is not None:
                told = {**noted, "step": step["step"], "input": line["input"]}
                table.writerow(["" if told[key] is None else _plain(told[key]) for key in COLUMNS])
    return out.getvalue().encode()


def _plain(value: Any) -> Any:
    """Return a cell that no table program takes for a formula; numbers as they are."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return f"'{value}"
    return value


def _zipped(files: Mapping[str, bytes], record: Mapping[str, Any]) -> bytes:
    manifest = {
        "format": FORMAT,
        "certificate": record["number"],
        "revision": record["revision"],
        "files": [
            {"name": name, "bytes": len(content), "sha256": sha256(content)}
            for name, content in files.items()
        ],
    }
    listed = {MANIFEST: canonical(manifest), **files}
    moment = datetime.fromisoformat(str(record["signed_at"]))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as target:
        for name, content in listed.items():
            head = zipfile.ZipInfo(name, moment.timetuple()[:6])
            head.create_system, head.external_attr = 3, 0o644 << 16
            target.writestr(head, content)
    return out.getvalue()


def certificate_in(content: bytes) -> bytes:
    """Return the certificate of a pack.

    Raises
    ------
    InputError
        No such pack.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as source:
            return source.read(CERTIFICATE)
    except (*_NO_PACK, KeyError):
        problem = f"is no handover pack, or {CERTIFICATE} in it was changed."
        raise InputError("pack", problem, "Name the zip as it was handed over.") from None


def _hash_in(source: zipfile.ZipFile, name: str) -> str:
    """Return the hash of a file in a pack; empty where it cannot be read any more."""
    try:
        return sha256(source.read(name))
    except _NO_PACK:
        return ""


def checked(content: bytes) -> list[str]:
    """Return what in a pack is not as its manifest says; empty where all is.

    Raises
    ------
    InputError
        No such pack.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as source:
            manifest = json.loads(source.read(MANIFEST))
            listed = source.namelist()
            names = set(listed) - {MANIFEST}
            told = {one["name"]: one["sha256"] for one in manifest["files"]}
            wrong = [f"{name}: gone" for name in told if name not in names]
            wrong += [f"{name}: not in the manifest" for name in sorted(names - set(told))]
            wrong += [f"{name}: there twice" for name in sorted(set(listed)) if listed.count(name) > 1]
            wrong += [
                f"{name}: changed" for name in told if name in names and _hash_in(source, name) != told[name]
            ]
    except (*_NO_PACK, KeyError, ValueError, TypeError):
        raise InputError("pack", "is no handover pack.", "Name the zip as it was handed over.") from None
    return wrong


SIGNED = (
    "2-certificate.pdf.sig", "data/record.json", "data/signature.json", "data/plan.plan",
    "data/entries.jsonl", "data/readings.csv", "data/station.yaml", "data/station.json",
)  # fmt: skip
"""Files of a pack that the certificate carries, or tells byte for byte."""


def unlike(content: bytes, found: Verified) -> list[str]:
    """Return the files of a pack that are not as its certificate has them, whatever the manifest says.

    Anybody can write a manifest anew: what the signature covers is held against the certificate itself.

    Parameters
    ----------
    content
        The pack, as a zip that can be read.
    found
        What was proved of the certificate in it. Nothing is compared where its record is not proved.
    """
    apart = taken_apart(certificate_in(content))
    if apart is None or not found.part("record").proved:
        return []
    with zipfile.ZipFile(io.BytesIO(content)) as source:
        files = {name: _read(source, name) for name in (MANIFEST, *SIGNED)}
    wanted = {
        "2-certificate.pdf.sig": apart.files.get(SIGNATURE),
        "data/record.json": apart.files.get(RECORD),
        "data/signature.json": apart.files.get(SIGNATURE),
        "data/plan.plan": apart.files.get(PLAN),
        "data/entries.jsonl": apart.files.get(ENTRIES),
        "data/readings.csv": readings(found.record),
    }
    wrong = [name for name, own in wanted.items() if files[name] is not None and files[name] != own]
    told, asked = files["data/station.yaml"], found.record.get("station_sha256")
    if told is not None and sha256(told) != asked:
        wrong.append("data/station.yaml")
    elif told is not None and files["data/station.json"] not in (None, _canonical(told)):
        wrong.append("data/station.json")
    if _named(files[MANIFEST]) != (found.number, found.revision):
        wrong.append(MANIFEST)
    return [f"{name}: not as the certificate has it" for name in wrong]


def _read(source: zipfile.ZipFile, name: str) -> bytes | None:
    try:
        return source.read(name)
    except (*_NO_PACK, KeyError):
        return None


def _canonical(source: bytes) -> bytes | None:
    """Return a station file as its open twin; None where this version cannot read it."""
    try:
        loaded = load(source)
    except InputError:
        return None
    return loaded.canonical or canonical(loaded.data)


def _named(manifest: bytes | None) -> tuple[object, object]:
    """Return the certificate and revision that a manifest names."""
    try:
        told = json.loads(manifest or b"")
        return told["certificate"], told["revision"]
    except (ValueError, KeyError, TypeError):
        return "", 0
