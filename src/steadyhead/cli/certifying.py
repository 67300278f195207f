"""What certify, handover, verify and key do once their words are parsed."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from steadyhead.cli.showing import paragraph, show_json
from steadyhead.cli.streams import put_file
from steadyhead.errors import InputError

if TYPE_CHECKING:
    from steadyhead.records.design import DesignSheet
    from steadyhead.services.certificates.design import Release
    from steadyhead.services.certificates.making import Made, NotCertified
    from steadyhead.services.certificates.verifying import Verified
    from steadyhead.services.running import JudgedRun
    from steadyhead.services.signing import Key
    from steadyhead.station.load import Loaded
    from steadyhead.units import UnitSet

FINE, FORBIDDEN = 0, 1
SIGNATURE_ENDING = ".sig"


@dataclass(frozen=True, slots=True)
class Asked:
    """What a person asked for: files by name, units, key."""

    plan: str
    entries: str
    station: str = ""
    release: str = ""
    replaces: str = ""
    key: str = ""
    units: str = ""
    without_proof: bool = False


@dataclass(frozen=True, slots=True)
class _Files:
    run: JudgedRun
    plan: bytes
    loaded: Loaded | None
    source: bytes
    sheet: DesignSheet | None
    release: Release | None
    units: UnitSet


def do_certify(asked: Asked, pdf: str, json: bool) -> int:
    """Make a certificate and write it, with its signature beside it."""
    if not pdf and not json:
        raise InputError(
            "--pdf", "got no place for the certificate.", "Say where, e.g. --pdf certificate.pdf."
        )
    from steadyhead.services.certificates.issued import issue
    from steadyhead.services.certificates.making import NotCertified, plain_record, record_of
    from steadyhead.services.certificates.making import make as make_certificate
    from steadyhead.services.signing import own_key

    files = _files(asked)
    try:
        if not pdf:
            record = record_of(files.run, **_given(files))
            show_json(plain_record(record))
            return FINE
        record_of(files.run, **_given(files))
        key = _told_of(own_key(asked.key))
        old = _old(asked.replaces, key)
        made = make_certificate(files.run, files.plan, key, **_given(files), **old)
        written, there = issue(made, files.run.judgement.run, pdf, asked.plan)
    except NotCertified as refused:
        return _refused(refused, files.units, json)
    _told_written(made, written, there=there)
    if json:
        show_json(plain_record(made.record))
    return FINE


def _given(files: _Files) -> dict[str, Any]:
    return {
        "loaded": files.loaded,
        "source": files.source,
        "sheet": files.sheet,
        "release": files.release,
        "units": files.units,
    }


def _files(asked: Asked) -> _Files:
    from steadyhead.cli.commands import units_for
    from steadyhead.cli.proving import proof_for
    from steadyhead.cli.running import entries_of
    from steadyhead.services.certificates.design import read_release
    from steadyhead.services.files import read_file
    from steadyhead.services.judging import judge_file
    from steadyhead.services.running import judge_run

    units_for(asked.units)
    plan, entries = read_file(asked.plan), entries_of(asked.entries)
    run = judge_run(plan, entries, plan_name=asked.plan, entries_name=asked.entries)
    release = read_release(read_file(asked.release), asked.release) if asked.release else None
    source = read_file(asked.station) if asked.station else release.source if release else b""
    if release is not None and source != release.source:
        problem = "is not the release of that station file."
        raise InputError(asked.release, problem, "Name the release made from this file, or leave one out.")
    if not source:
        return _Files(run, plan, None, b"", None, release, units_for(asked.units))
    shown = asked.station or asked.release
    proof = proof_for(source, shown, without=asked.without_proof, keep_quick=False)
    signed = [entry.day for entry in run.ledger.standing if entry.kind == "sign"]
    judged = judge_file(source, shown, signed[-1] if signed else None, proof)
    mine = units_for(asked.units, station=judged.loaded.station, paper="plan")
    return _Files(run, plan, judged.loaded, source, judged.sheet, release, mine)


def _told_of(key: Key) -> Key:
    from steadyhead.services.signing import fingerprint

    if key.is_new:
        print(
            f"A signing key was made: {key.place}\n"
            f"    Fingerprint {fingerprint(key.public)}. Keep a copy of that file where it cannot be lost "
            "or read; see the manual, Signing key.",
            file=sys.stderr,
        )
    return key


def _old(name: str, key: Key) -> dict[str, Any]:
    """Return record and hash of the certificate to be replaced, its record proved."""
    if not name:
        return {}
    from steadyhead.services.certificates.making import not_replaceable
    from steadyhead.services.certificates.verifying import verify
    from steadyhead.services.files import read_file

    found = verify(read_file(name, LARGEST_PDF), key.public, name=name)
    if found.key != "yours":
        raise not_replaceable("another key signed it.")
    for part in found.parts:
        if not part.proved:
            raise not_replaceable(f"{part.name}: {part.words}")
    return {"old": found.record, "old_sha256": found.record_sha256}


def _refused(refused: NotCertified, units: UnitSet, json: bool) -> int:
    from steadyhead.cli.running_text import finding_lines_of_run
    from steadyhead.services.judging import finding_data

    if json:
        findings = [finding_data(finding) for finding in refused.findings]
        show_json({"format": "steadyhead/certificate-refused/1", "findings": findings})
    else:
        print("No certificate, because:", file=sys.stderr)
        for finding in sorted(refused.findings, key=lambda one: one.code == "RUN-07"):
            print(finding_lines_of_run(finding, units), file=sys.stderr)
    return FORBIDDEN


def _told_written(made: Made, written: Path, *, there: bool) -> None:
    again = " (there already, byte for byte)" if there else ""
    print(
        f"Certificate, {made.record.standing}: {written}{again}\n"
        f"Signature kept apart: {written}{SIGNATURE_ENDING}",
        file=sys.stderr,
    )
    print(f"{made.record.number}, record revision {made.record.revision}; key {made.finger}", file=sys.stderr)


def do_handover(asked: Asked, place: str) -> int:
    """Write the handover pack of a certificate (named where a plan stands otherwise)."""
    from steadyhead.cli.commands import units_for
    from steadyhead.cli.proving import proof_for
    from steadyhead.services.certificates.design import read_release
    from steadyhead.services.certificates.handover import pack
    from steadyhead.services.certificates.verifying import verify
    from steadyhead.services.files import read_file, write_paper
    from steadyhead.services.judging import judge_file

    kept = read_file(asked.release) if asked.release else b""
    release = read_release(kept, asked.release) if kept else None
    source = read_file(asked.station) if asked.station else release.source if release else b""
    if not source:
        raise InputError("--station", "is missing.", "Name the station file, or the release of it.")
    content = read_file(asked.plan, LARGEST_PDF)
    found = verify(content, _public(asked.key), name=asked.plan)
    proof = proof_for(source, asked.station or asked.release, without=asked.without_proof, keep_quick=False)
    judged = judge_file(source, asked.station or asked.release, _day_of(found), proof)
    mine = units_for(asked.units, station=judged.loaded.station, paper="plan")
    made = pack(
        content, found, judged, release=kept, revision=release.revision if release else "", units=mine
    )
    written, again = write_paper(place, made, option="--zip", ending=".zip", begins=b"PK", source=asked.plan)
    print(f"Handover pack: {written}{' (replaced an older one)' if again else ''}", file=sys.stderr)
    return FINE


def _day_of(found: Verified) -> date | None:
    """Return the day of a certificate, by which its design is judged again; None where there is none."""
    try:
        return date.fromisoformat(str(found.record.get("day")))
    except ValueError:
        return None


def _public(key: str) -> bytes | None:
    """Return the public key that is compared with: the one named, else that of this installation."""
    from steadyhead.services.signing import NAME, folder, load, read_public

    own = folder() / NAME
    return read_public(key) if key else load(own).public if own.exists() else None


LARGEST_PDF = 400_000_000
"""Largest certificate that is read; own estimate: entries may have 200 MB. [bytes]"""


def signed_record(name: str, loaded: Loaded) -> dict[str, Any]:
    """Return the record of a certificate of this station, after its signature was found to fit.

    Whose key it is is told and forbids nothing: a card is a reminder.

    Raises
    ------
    InputError
        No certificate, one that was changed, or one of another station.
    """
    from steadyhead.services.certificates.verifying import verify
    from steadyhead.services.files import read_file

    found = verify(read_file(name, LARGEST_PDF), name=name)
    for part in (found.part("signature"), found.part("record")):
        if not part.proved:
            raise InputError(
                "--certificate", f"{part.name}: {part.words}", "Name the certificate as handed over."
            )
    if found.record.get("station_id") != loaded.station.station.id:
        problem = f"{name!r} belongs to {found.record.get('station_id')}."
        raise InputError("--certificate", problem, "Name the certificate of this station.")
    print(
        f"As left by {found.number}, record revision {found.revision}, key {found.finger}.", file=sys.stderr
    )
    return dict(found.record)


TO_VERIFY = (
    "Check the name. It may be a certificate, a hand-over, an archive, or the folder a register is kept in."
)
"""What can be verified, where something else is named."""


def do_verify(file: str, sig: str, key: str, json: bool) -> int:
    """Prove a certificate, part by part."""
    from steadyhead.services.certificates.handover import certificate_in, checked, unlike
    from steadyhead.services.certificates.verifying import verified_data, verify
    from steadyhead.services.files import read_file

    whole = read_file(file, LARGEST_PDF, instead=TO_VERIFY)
    pack = checked(whole) if whole.startswith(b"PK") else None
    content = whole if pack is None else certificate_in(whole)
    found = verify(content, _public(key), read_file(sig) if sig else None, file)
    if pack is not None:
        pack += unlike(whole, found)
    if json:
        show_json(verified_data(found) | ({} if pack is None else {"pack": pack}))
    else:
        put_file("\n".join([*_packed(pack), *_verified(found, named=bool(key))]) + "\n")
    return FINE if found.all_proved and not pack else FORBIDDEN


def _packed(pack: list[str] | None) -> list[str]:
    """Return what is said of a pack: held to its manifest, and what is signed to its certificate."""
    if pack is None:
        return []
    if not pack:
        return [
            paragraph(
                "Pack: every file is as its manifest says. Record, plan, entries, readings and station file "
                "are those of the certificate. Notes, design sheet, card and strip are signed by nobody: "
                "where they say otherwise, the certificate counts."
            ),
            "",
        ]
    return [paragraph(f"Pack: NOT as it was handed over. {'; '.join(pack)}."), ""]


def _verified(found: Verified, *, named: bool) -> list[str]:
    head = (
        f"{found.number}, record revision {found.revision}, {found.standing}"
        if found.number
        else "Nothing is certified."
    )
    lines = [head, ""]
    for part in found.parts:
        mark = "as signed" if part.proved else "NOT PROVED"
        first = f"  {part.name:<10} {mark:<11} "
        lines.append(paragraph(part.words, indent=len(first), first=first))
    lines += ["", *_key(found, named=named), *_chain(found), "", *_sum(found)]
    return lines


def _chain(found: Verified) -> list[str]:
    if found.chain is None:
        return []
    seq, digest = found.chain
    return [
        paragraph(
            f"Register's chain: head at link {seq}, {digest}. The register it came from holds that link."
        )
    ]


def _key(found: Verified, *, named: bool) -> list[str]:
    if not found.finger:
        return ["No key."]
    whose = "the key you named" if named else "the key of this installation"
    told = {
        "yours": f"This is {whose}.",
        "other": f"This is NOT {whose}: somebody else signed, or a newer key.",
        "not compared": "Whose it is, is not proved: get the public key from the owner and name it with "
        "--key, or compare the fingerprint by telephone.",
    }[found.key]
    return [paragraph(f"Key {found.finger}. {told}")]


def _sum(found: Verified) -> list[str]:
    if found.all_proved:
        return ["Record and page are proved."]
    if found.key != "yours" and all(part.proved for part in found.parts):
        return ["Record and page are what was signed with that key. Whose key it is, is not proved."]
    if found.record_proved:
        others = [part.name for part in found.parts if not part.proved and part.name != "page"]
        told = (
            "The record is proved. The page is not."
            if not found.page_proved
            else "Record and page are proved."
        )
        return [told, *(f"Not proved: {', '.join(others)}." for _ in others[:1])]
    if found.page_proved:
        return ["The page is proved. The record is not."]
    return ["Neither record nor page is proved."]


def do_key(make: bool, public: str, json: bool) -> int:
    """Show the key of this installation; make it, or write its public half."""
    from steadyhead.services.files import write_paper
    from steadyhead.services.signing import NAME, fingerprint, folder, load, own_key, public_pem

    place = folder() / NAME
    if not place.exists() and not make:
        if json:
            show_json({"format": "steadyhead/key/1", "file": str(place), "fingerprint": None})
        else:
            print(
                "There is no signing key yet. The first certificate makes one, or: steadyhead key --make\n"
                f"{place}"
            )
        return FORBIDDEN
    key = own_key() if make else load(place)
    if public:
        content = public_pem(key.public)
        write_paper(
            public,
            content,
            option="--public",
            ending=Path(public).suffix.lower() or ".pem",
            begins=b"-----BEGIN PUBLIC KEY",
            source="-",
        )
        print(f"Public key written: {public}", file=sys.stderr)
    if json:
        show_json({"format": "steadyhead/key/1", "file": str(place), "fingerprint": fingerprint(key.public)})
    else:
        print(f"{fingerprint(key.public)}\n{key.place}")
    return FINE
