"""Certificates of the register: made from its runs or taken in, verified, kept; pack and card."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select

from steadyhead.errors import InputError, StationError
from steadyhead.procedure.touching import shut_offs
from steadyhead.records.certificate import ChainHead
from steadyhead.records.protection import ProofSheet
from steadyhead.register import Register
from steadyhead.register.chain import FIRST
from steadyhead.register.core import Writing
from steadyhead.register.tables import audit, blob, released, revision
from steadyhead.reports.attaching import taken_apart
from steadyhead.reports.card_left import as_left
from steadyhead.services.certificates.design import Release, read_release
from steadyhead.services.certificates.handover import pack
from steadyhead.services.certificates.making import (
    ENTRIES,
    PLAN,
    Made,
    certificate_file_name,
    make,
    plain_record,
)
from steadyhead.services.certificates.verifying import Verified, verify
from steadyhead.services.judging import Judged, judge_file
from steadyhead.services.papers import card_paper
from steadyhead.services.running import JudgedRun, judge_run
from steadyhead.services.signing import NAME, Key, load, own_key
from steadyhead.services.signing import make as make_key
from steadyhead.services.stations.gist import renew
from steadyhead.services.stations.kept import NotKept, head_file
from steadyhead.services.studies.kept import proof_in
from steadyhead.services.visits_kept.filing import Filed, content_of, filed, keep, one_filed
from steadyhead.services.visits_kept.run_gist import proved_rests
from steadyhead.services.visits_kept.run_rows import Run, files_of, one_run
from steadyhead.units import METRIC, UnitSet
from steadyhead.units import say as say_value
from steadyhead.visits.certifying import PROVED

MOST_PAPER = 32_000_000
"""Largest certificate taken in. Own estimate. [bytes]"""
_SLIM = ("number", "revision", "standing", "day", "station_id", "station_sha256", "settings", "proofs")


@dataclass(frozen=True, slots=True)
class Kept:
    """A certificate that is kept; is_new: whether it was made or taken in just now."""

    filed: Filed
    is_new: bool


def key_of(register: Register) -> Key:
    """Return the key a register signs with: in its folder, made where there is none; else this machine's.

    Raises
    ------
    InputError
        A key others may read, or a folder that cannot be written.
    """
    if not register.folder:
        return own_key()
    path = Path(register.folder) / NAME
    return load(path) if path.exists() else make_key(path)


def certify(
    register: Register,
    key: str,
    run: str,
    who: str,
    *,
    proof: ProofSheet | None = None,
    units: UnitSet = METRIC,
    at: str = "",
    day: date | None = None,
) -> Kept:
    """Make the certificate of a signed run and keep it; the same run unchanged gives the one there is.

    A run that was certified before and has other entries now gives the next revision.

    Parameters
    ----------
    proof
        Protection proof of the station file it was planned with; None: the one kept here, else lumped
        figures stand.
    units
        Of its words.

    Raises
    ------
    NotKept
        No such run.
    NotCertified
        It is not signed, or what is signed does not stand.
    """
    with register.reading() as connection:
        of = one_run(connection, key, run)
        plan, entries = files_of(connection, of)
        before = _of_run(connection, key, run)
    judged = judge_run(plan, entries)
    station = _station(register, judged, proof)
    last = before[0] if before else None
    if last is not None and _is_same(last, judged, station.release):
        return Kept(last, False)
    former = verify(content_of(register, last)) if last is not None else None
    made = make(
        judged,
        plan,
        key_of(register),
        loaded=station.judged.loaded if station.judged else None,
        source=station.judged.source if station.judged else b"",
        sheet=station.judged.sheet if station.judged else None,
        release=station.release,
        old=former.record if former else None,
        old_sha256=former.record_sha256 if former else "",
        units=units,
        chain=chain_head(register),
    )
    with register.writing(who, at) as writing:
        kept = _keep(writing, of, made, judged)
        renew(writing, register, key, day)
    return Kept(kept, True)


@dataclass(frozen=True, slots=True)
class _Station:
    judged: Judged | None
    release: Release | None
    record: bytes = b""


def _station(register: Register, run: JudgedRun, proof: ProofSheet | None) -> _Station:
    """Return the station file a run was planned with and its release, where the register keeps them."""
    digest = run.procedure.station_hash
    with register.reading() as connection:
        source = connection.execute(
            select(blob.c.bytes)
            .join(revision, revision.c.file == blob.c.hash)
            .where(blob.c.hash == digest)
            .limit(1)
        ).scalar()
        record = connection.execute(
            select(blob.c.bytes)
            .select_from(released)
            .join(
                revision,
                (revision.c.station == released.c.station) & (revision.c.number == released.c.revision),
            )
            .join(blob, blob.c.hash == released.c.record)
            .where(revision.c.file == digest)
            .order_by(released.c.number.desc())
            .limit(1)
        ).scalar()
    if source is None:
        return _Station(None, None)
    signed = [entry.day for entry in run.ledger.standing if entry.kind == "sign"]
    if proof is None:
        with register.reading() as connection:
            kept = proof_in(connection, run.procedure.station_id, digest)
        proof = kept.sheet if kept is not None else None
    judged = judge_file(bytes(source), day=signed[-1] if signed else None, proof=proof)
    return _Station(judged, read_release(bytes(record)) if record else None, bytes(record) if record else b"")


def _is_same(last: Filed, run: JudgedRun, release: Release | None) -> bool:
    """Return whether a certificate says what the run says now."""
    from steadyhead.procedure.ledger import dump
    from steadyhead.station.canonical import sha256

    entries = dump(run.ledger.of_run(run.judgement.run).entries)
    named = release.revision if release else ""
    return (last.about.get("entries_sha256"), last.about.get("release", "")) == (sha256(entries), named)


def chain_head(register: Register) -> ChainHead | None:
    """Return the last link of the register's chain; None for a register in which nothing was done yet."""
    head = register.head()
    return None if head.seq == FIRST.seq else ChainHead(head.seq, head.at, head.hash)


def _keep(writing: Writing, of: Run, made: Made, run: JudgedRun) -> Filed:
    record = plain_record(made.record)
    about = {
        **about_of(record, run),
        "finger": made.finger,
        "key": "yours",
        "proved": True,
        "made_here": True,
    }
    about["entries"] = of.entries
    title = f"{record['number']}, record revision {record['revision']}, {record['standing']}"
    return keep(
        writing,
        of.station,
        "certificate",
        made.pdf,
        name=certificate_file_name(made.record),
        title=title,
        media="application/pdf",
        run=of.id,
        about=about,
        act="certificate made",
    )


def about_of(record: Mapping[str, Any], run: JudgedRun | None) -> dict[str, Any]:
    """Return what the register knows of a certificate beside its bytes.

    run: its plan and entries, judged, by which it is known what its proofs rest on; None: not at hand.
    """
    proved = [trip["valve"] for trip in record["trips"] if trip["state"] in PROVED]
    guards = (
        sorted(shut_offs(run.procedure)) if run is not None else [trip["valve"] for trip in record["trips"]]
    )
    slim = {name: record[name] for name in _SLIM}
    slim["trips"] = [
        {name: value for name, value in trip.items() if name != "runs"} for trip in record["trips"]
    ]
    slim["tests"] = [{name: step[name] for name in ("step", "state", "at")} for step in record["tests"]]
    slim["signatures"] = record["signatures"]
    return {
        "number": record["number"],
        "revision": record["revision"],
        "standing": record["standing"],
        "kind": record["kind"],
        "item": record["item"],
        "day": record["day"],
        "begun": record["begun"],
        "signed_at": record["signed_at"],
        "release": (record["design"] or {}).get("revision", ""),
        "plan_sha256": record["plan_sha256"],
        "station_sha256": record["station_sha256"],
        "entries": record["entries"],
        "entries_sha256": record["entries_sha256"],
        "chain": record.get("chain"),
        "valves": proved,
        "guards": guards,
        "proves": bool(proved) or not guards,
        "rests": list(proved_rests(run)) if run is not None else [],
        "shown": _shown(record),
        "replaces": (record.get("replaces") or {}).get("revision", 0),
        "record": slim,
    }


def _shown(record: Mapping[str, Any]) -> str:
    """Return the figure a proof is known by: the trip, else the duty."""
    settings = [
        one for one in record["settings"] if one["as_left"] is not None and one["quantity"] == "pressure"
    ]
    order = (".trip", ".crack", ".duty")
    for ending in order:
        found = [one for one in settings if one["key"].endswith(ending)]
        if found:
            told = [
                f"{one['key'].partition('.')[0]} {say_value(one['as_left']['value'], 'pressure', METRIC)}"
                for one in found
            ]
            return (
                f"{ending[1:]} {', '.join(told)}"
                if len(found) > 1
                else f"{ending[1:]} {told[0].split(' ', 1)[1]}"
            )
    return ""


def _of_run(connection: Connection, key: str, run: str) -> list[Filed]:
    """Return the certificates of a run that stand, the newest revision first."""
    found = [one for one in filed(connection, key, ("certificate",)) if one.run == run and not one.struck]
    return sorted(found, key=lambda one: -int(one.about.get("revision", 0)))


def take_certificate(
    register: Register,
    key: str,
    content: bytes,
    who: str,
    *,
    compared: str = "",
    at: str = "",
    day: date | None = None,
) -> Kept:
    """Verify a certificate that was made elsewhere and keep it, with what was proved of it.

    compared: fingerprint of its key, as the owner told it; then it counts as that of a key known.

    Raises
    ------
    InputError
        No certificate, one of another station, or a fingerprint that is not the one of its key.
    """
    if len(content) > MOST_PAPER:
        raise InputError(
            "certificate",
            f"has {len(content) / 1e6:.0f} MB; at most 32 MB are taken in.",
            "Take in the certificate itself, without photos laid in.",
        )
    found = verify(content, key_of(register).public)
    if not found.record:
        raise InputError(
            "certificate", "holds no record that can be read.", "Take in the PDF as it was handed over."
        )
    if found.record.get("station_id") != key:
        raise InputError(
            "certificate", f"is of station {found.record.get('station_id')}.", "Take it in there."
        )
    finger = "".join(compared.split()).lower()
    if finger and finger != found.finger.replace(" ", ""):
        raise InputError(
            "compared",
            f"got {compared!r:.60}; its key is {found.finger}.",
            "Compare it again with the owner of the key.",
        )
    all_parts = all(part.proved for part in found.parts)
    whose = "compared" if finger else found.key
    try:
        about = about_of(found.record, _judged_inside(content))
        date.fromisoformat(about["day"])
        datetime.fromisoformat(about["signed_at"])
    except (KeyError, TypeError, AttributeError, ValueError):
        raise InputError(
            "certificate", "holds a record of another form.", "Use the program that made it."
        ) from None
    about |= {
        "finger": found.finger,
        "key": whose,
        "proved": all_parts and whose in ("yours", "compared"),
        "parts": {part.name: [part.proved, part.words] for part in found.parts},
        "made_here": False,
    }
    title = f"{found.number}, record revision {found.revision}, {found.standing}, taken in"
    with register.writing(who, at) as writing:
        there = [
            one for one in filed(writing.connection, key, ("certificate",)) if one.digest == _digest(content)
        ]
        if there and there[0].about.get("key") == whose:
            return Kept(there[0], False)
        one = keep(
            writing,
            key,
            "certificate",
            content,
            name=f"{key}-certificate.pdf",
            title=title,
            media="application/pdf",
            about=about,
            act="certificate taken in",
        )
        renew(writing, register, key, day)
    return Kept(one, True)


def _digest(content: bytes) -> str:
    from steadyhead.station.canonical import sha256

    return sha256(content)


def _judged_inside(content: bytes) -> JudgedRun | None:
    """Return plan and entries of a certificate, judged; None where they are not in it or cannot be."""
    apart = taken_apart(content)
    if apart is None or PLAN not in apart.files or ENTRIES not in apart.files:
        return None
    try:
        return judge_run(apart.files[PLAN], apart.files[ENTRIES])
    except StationError:
        return None


@dataclass(frozen=True, slots=True)
class Shown:
    """What can be proved of a kept certificate: each part, the key, and the register's chain, in words."""

    parts: tuple[tuple[str, bool, str], ...]
    key_words: str
    chain_words: str
    all_proved: bool
    record: Mapping[str, Any]


def shown(register: Register, one: Filed, content: bytes) -> Shown:
    """Verify a kept certificate again and say in words what is proved."""
    found = verify(content, key_of(register).public)
    words = {
        "yours": f"Key {found.finger}: the key of this register.",
        "other": f"Key {found.finger}: not the key of this register.",
        "not compared": f"Key {found.finger or 'none'}: not compared.",
    }[found.key]
    if one.about.get("key") == "compared":
        words += f" Its fingerprint was compared when it was taken in, by {one.who}."
    elif found.key != "yours":
        words += " Whose it is, is not proved: compare the fingerprint with the owner by telephone."
    counts = found.key == "yours" or one.about.get("key") == "compared"
    proved = all(part.proved for part in found.parts) and counts
    with register.reading() as connection:
        chain = _chain_words(connection, found)
    parts = tuple((part.name, part.proved, part.words) for part in found.parts)
    return Shown(parts, words, chain, proved, found.record)


def _chain_words(connection: Connection, found: Verified) -> str:
    if found.chain is None:
        return "It names no chain: it was made without a register."
    seq, digest = found.chain
    there = connection.execute(select(audit.c.hash).where(audit.c.seq == seq)).scalar()
    if there == digest:
        return f"The chain of this register holds link {seq} as the certificate names it."
    held = "another hash" if there else "no such link"
    names = f"The certificate names link {seq} of a chain; this register holds {held} there"
    return f"{names}: another register, or a chain cut off."


def handover(register: Register, key: str, one: str, units: UnitSet = METRIC) -> tuple[str, bytes]:
    """Return name and bytes of the handover pack of a certificate.

    Raises
    ------
    NotKept
        No such certificate, or its station file is not kept.
    InputError
        It is not proved.
    """
    kept, content, station = _with_station(register, key, one)
    found = verify(content, key_of(register).public)
    if kept.about.get("key") == "compared":
        found = replace(found, key="yours")
    judged = station.judged
    assert judged is not None
    revision_ = station.release.revision if station.release else ""
    made = pack(content, found, judged, release=station.record, revision=revision_, units=units)
    return kept.name.removesuffix(".pdf") + ".handover.zip", made


def card(register: Register, key: str, one: str = "", units: UnitSet = METRIC) -> tuple[str, bytes]:
    """Return name and bytes of the station card, filled in by a certificate; empty: as the file has it.

    Raises
    ------
    NotKept
        No such certificate, or its station file is not kept.
    """
    if not one:
        head = head_file(register, key)
        judged = judge_file(head.source)
        return f"{key}-card.pdf", card_paper(
            judged, units, date.fromisoformat(head.at[:10]), f"revision {head.number}"
        )
    _, content, station = _with_station(register, key, one)
    record = verify(content).record
    assert station.judged is not None
    revision_ = station.release.revision if station.release else ""
    left = as_left(record, units)
    day = date.fromisoformat(str(record["day"]))
    return f"{key}-card.pdf", card_paper(station.judged, units, day, revision_, left)


def _with_station(register: Register, key: str, one: str) -> tuple[Filed, bytes, _Station]:
    with register.reading() as connection:
        kept = one_filed(connection, key, one)
    content = content_of(register, kept)
    run = _judged_inside(content)
    station = _station(register, run, None) if kept.kind == "certificate" and run is not None else None
    if station is None or station.judged is None:
        raise NotKept(
            "certificate", "belongs to a station file that is not kept here.", "Take that file in first."
        )
    return kept, content, station
