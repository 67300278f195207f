"""Make a certificate: from plan and entries to the record, the paper, the signature, and all in one file."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import UTC, date, datetime
from typing import Any

from steadyhead.errors import InputError, NotConverged
from steadyhead.findings import Finding, Severity, tell
from steadyhead.procedure.ledger import dump
from steadyhead.records.certificate import Against, Certificate, ChainHead, PerTurn, Replaces, Standing
from steadyhead.records.design import DesignSheet
from steadyhead.records.entry import Entry
from steadyhead.reports.attaching import attach
from steadyhead.reports.paper import Attachment
from steadyhead.services.baselines import fit_run
from steadyhead.services.certificates.changes import changes
from steadyhead.services.certificates.design import Release, design_of, identity_of
from steadyhead.services.running import JudgedRun, against_final, worth_knowing
from steadyhead.services.running_words import Speaker
from steadyhead.services.signing import Key, as_text, fingerprint
from steadyhead.station.canonical import canonical, sha256
from steadyhead.station.load import Loaded
from steadyhead.units import METRIC, UnitSet
from steadyhead.visits.certifying import Seen, certificate
from steadyhead.visits.certifying.papers import after
from steadyhead.visits.certifying.seen import kept

SIGNED = "steadyhead/signature/1"
STAMP = "%Y%m%d%H%M%S"
"""How the time of signing stands in the files laid in, UTC."""
RECORD, SIGNATURE, PLAN, ENTRIES = "record.json", "signature.json", "plan.plan", "entries.jsonl"
PAGE_FILES = (RECORD, PLAN, ENTRIES)
LAID = {
    RECORD: ("the certificate as data", "application/json"),
    PLAN: ("the plan it was judged by", "text/plain"),
    ENTRIES: ("every entry of the run", "application/json"),
    SIGNATURE: ("signature over page and files", "application/json"),
}
"""Files of a certificate in their order, each with its phrase and kind; no other is laid in."""
HOW = "Ed25519 (RFC 8032) over the canonical JSON (RFC 8785) of signed"
SAME = 500.0, 0.05
"""How far a signed pressure [Pa] and a signed time [s] may lie from what the entries show: rounding."""


class NotCertified(InputError):
    """No certificate can be made; carries what stands against it."""

    def __init__(self, findings: Sequence[Finding]) -> None:
        self.findings = tuple(findings)
        codes = ", ".join(dict.fromkeys(f"{one.code} {tell(one).title}" for one in findings))
        super().__init__("certificate", f"is refused: {codes}.", "Put right what is named, then sign again.")


@dataclass(frozen=True, slots=True)
class Made:
    """A certificate: its record, the stored bytes of it, the signed file, and the signature by itself."""

    record: Certificate
    stored: bytes
    pdf: bytes
    signature: bytes
    finger: str


def record_of(
    run: JudgedRun,
    *,
    loaded: Loaded | None = None,
    source: bytes = b"",
    sheet: DesignSheet | None = None,
    release: Release | None = None,
    old: Mapping[str, Any] | None = None,
    old_sha256: str = "",
    units: UnitSet = METRIC,
    chain: ChainHead | None = None,
) -> Certificate:
    """Return the record of a signed run.

    Parameters
    ----------
    run
        Plan and entries, judged.
    loaded, source, sheet, release
        The station file, its bytes, its design sheet and its release, where at hand.
    old, old_sha256
        Record of the certificate this one replaces, and its hash.
    units
        In which words are written.
    chain
        Last link of the register's audit chain; None: made without a register.

    Raises
    ------
    NotCertified
        It is not signed, what is signed does not stand, or files do not belong together.
    """
    seen = _seen(run, units)
    problems = [*_other_files(run, loaded, release), *_unsigned(seen)]
    standing: Standing = "final" if not problems and _asks(seen) == "final" else "provisional"
    if not problems and standing == "final" and not run.is_final:
        blocks = [finding for finding, by in against_final(run, units) if not by]
        problems = [
            _finding(
                "RUN-71", "sign", count=len(blocks), many=_many(len(blocks), "thing stands", "things stand")
            ),
            *blocks,
        ]
    if problems:
        raise NotCertified(problems)
    made = certificate(
        seen,
        standing,
        run.plan.sha256,
        station=loaded.station if loaded else None,
        design=design_of(loaded.station, sheet, release, units) if loaded and sheet else None,
        identity=identity_of(loaded.station, sheet, units) if loaded and sheet else (),
        per_turn=_per_turn(run, source),
        against=[_against(finding, by, units) for finding, by in against_final(run, units)],
        told=[tell(finding, units).statement for finding in worth_knowing(run, units)],
        words_in=units.name,
        replaces=_first(old, old_sha256),
    )
    wrong = _signed_otherwise(run, made)
    if wrong:
        raise NotCertified(wrong)
    made = replace(made, chain=chain)
    return made if old is None else _revised(made, old)


def _per_turn(run: JudgedRun, source: bytes) -> list[PerTurn]:
    """Return the change per turn of each pilot's screw that the readings of the run determine.

    A run whose readings cannot be fitted has none: what it proved is certified all the same.
    """
    if not source:
        return []
    try:
        fitted = fit_run(run, source).baseline.fitted
    except (InputError, NotConverged):
        return []
    return [
        PerTurn(one.part, kept(one.value), kept(one.within), one.steps)
        for one in fitted
        if one.name == "per_turn"
    ]


def _seen(run: JudgedRun, units: UnitSet) -> Seen:
    speaker = Speaker(run.procedure, run.ledger, units)
    return Seen(
        run.procedure,
        run.ledger,
        run.judgement,
        units,
        lambda remark: tell(speaker.finding(remark, Severity.HEED), units).statement,
    )


def _many(count: int, one: str, more: str) -> str:
    return f"{count} {one if count == 1 else more}"


def _finding(code: str, subject: str, severity: Severity = Severity.STOP, **params: Any) -> Finding:
    return Finding(code, subject, severity, params)


def _unsigned(seen: Seen) -> list[Finding]:
    signs = seen.judgement.signs
    if not signs:
        return [_finding("RUN-70", "sign")]
    if not _standing_signs(seen):
        entry = seen.entry[signs[-1].entry]
        late = after(seen, entry)
        first = late[0].id if late else entry.id
        many = _many(len(late), "entry was", "entries were")
        return [_finding("RUN-72", "sign", count=len(late), many=many, first=first, what=_kinds(late))]
    return []


def _kinds(late: Sequence[Entry]) -> str:
    """Return what was entered, each kind once, with how often."""
    kinds = [entry.kind for entry in late]
    return ", ".join(f"{kind} {kinds.count(kind)}" for kind in dict.fromkeys(kinds)) or "nothing known"


def _standing_signs(seen: Seen) -> list[str]:
    """Return what those signatures ask for after which nothing was entered."""
    known = ("final", "provisional")
    signs = seen.judgement.signs
    return [one.asks for one in signs if one.asks in known and not after(seen, seen.entry[one.entry])]


def _asks(seen: Seen) -> str:
    return "provisional" if "provisional" in _standing_signs(seen) else "final"


def _other_files(run: JudgedRun, loaded: Loaded | None, release: Release | None) -> list[Finding]:
    found = []
    if loaded is not None and loaded.sha256 != run.procedure.station_hash:
        found.append(
            _finding("RUN-74", "station file", got=loaded.sha256[:12], asked=run.procedure.station_hash[:12])
        )
    return found


def _against(finding: Finding, by: str, units: UnitSet) -> Against:
    told = tell(finding, units)
    return Against(finding.code, finding.subject, told.statement, told.why, told.cure, by)


def _signed_otherwise(run: JudgedRun, made: Certificate) -> list[Finding]:
    """Return where a signature states as left what the entries do not show."""
    found = []
    for entry in run.ledger.standing:
        stated = entry.payload.get("as_left") if entry.kind == "sign" else None
        for key, value in stated.items() if isinstance(stated, Mapping) else ():
            setting = made.setting(str(key))
            if setting is None or isinstance(value, bool) or not isinstance(value, int | float):
                continue
            shown = setting.as_left.value if setting.as_left else None
            within = SAME[0] if setting.quantity == "pressure" else SAME[1]
            runs = [*setting.runs, *([shown] if isinstance(shown, float) else [])]
            if shown is None or all(abs(one - value) > within for one in runs):
                why = (
                    setting.because or "its proof does not stand"
                    if shown is None
                    else "the entries show another"
                )
                found.append(_finding("RUN-73", str(key), how=why))
    return found


def not_replaceable(how: str) -> NotCertified:
    """Return the refusal of a certificate that is to be replaced and cannot be."""
    return NotCertified([_finding("RUN-75", "certificate", how=how)])


def _first(old: Mapping[str, Any] | None, old_sha256: str) -> Replaces | None:
    if old is None:
        return None
    return Replaces(str(old["number"]), int(old["revision"]), old_sha256, ())


def _revised(made: Certificate, old: Mapping[str, Any]) -> Certificate:
    if (old.get("station_id"), old.get("plan_sha256")) != (made.station_id, made.plan_sha256):
        raise NotCertified([_finding("RUN-75", "certificate", how="it belongs to another station or plan.")])
    found = changes(old, plain_record(made))
    if not found:
        raise NotCertified([_finding("RUN-75", "certificate", how="nothing has changed since.")])
    assert made.replaces is not None
    return replace(made, replaces=replace(made.replaces, changes=tuple(found)))


def plain_record(record: Certificate) -> dict[str, Any]:
    """Return a record as plain data.

    The register's chain is left out where there is no register, and who typed a signature in where nobody
    did: so a record stays what it was before that was told.
    """
    data: dict[str, Any] = asdict(record)
    for one in data["signatures"]:
        for key in ("typed_by", "typed_at"):
            if not one[key]:
                del one[key]
    if record.chain is None:
        del data["chain"]
    return data


def stored_record(record: Certificate) -> bytes:
    """Return the bytes that are stored and signed."""
    return canonical(plain_record(record))


def sealed(record: Certificate, page: bytes, files: Sequence[Attachment], key: Key) -> tuple[bytes, bytes]:
    """Return the paper with record, files and signature laid in behind it, and the signature by itself.

    Parameters
    ----------
    record
        What is certified.
    page
        The paper, without attachments.
    files
        Record, plan, entries.
    key
        What it is signed with.
    """
    signed = {
        "format": SIGNED,
        "certificate": record.number,
        "revision": record.revision,
        "standing": record.standing,
        "page_bytes": len(page),
        "page_sha256": sha256(page),
        "files": {file.name: sha256(file.content) for file in files},
    }
    signature = canonical(
        {
            "format": SIGNED,
            "how": HOW,
            "signed": signed,
            "key": as_text(key.public),
            "fingerprint": fingerprint(key.public),
            "signature": as_text(key.sign(canonical(signed))),
        }
    )
    own = Attachment(SIGNATURE, signature, *LAID[SIGNATURE])
    return attach(page, (*files, own), stamp(record)), signature


def stamp(record: Certificate) -> str:
    """Return the time of signing as files bear it, in UTC."""
    return datetime.fromisoformat(record.signed_at).astimezone(UTC).strftime(STAMP)


def files_of(run: JudgedRun, stored: bytes, plan: bytes) -> tuple[Attachment, ...]:
    """Return what a certificate carries: record, plan file, and entries in the order of judging."""
    entries = dump(run.ledger.of_run(run.judgement.run).entries)
    return (
        Attachment(RECORD, stored, *LAID[RECORD]),
        Attachment(PLAN, plan, *LAID[PLAN]),
        Attachment(ENTRIES, entries, *LAID[ENTRIES]),
    )


def make(
    run: JudgedRun,
    plan: bytes,
    key: Key,
    *,
    loaded: Loaded | None = None,
    source: bytes = b"",
    sheet: DesignSheet | None = None,
    release: Release | None = None,
    old: Mapping[str, Any] | None = None,
    old_sha256: str = "",
    units: UnitSet = METRIC,
    chain: ChainHead | None = None,
) -> Made:
    """Return a signed certificate; the same input and key give the same bytes.

    Parameters
    ----------
    run, plan
        The judged run, and the stored bytes of its plan file.
    key
        What it is signed with.
    loaded, source, sheet, release, old, old_sha256, units, chain
        As for `record_of`.

    Raises
    ------
    NotCertified
        As for `record_of`.
    """
    from steadyhead.reports import certificate as paper
    from steadyhead.services.certificates.pictures import pictures

    record = record_of(
        run,
        loaded=loaded,
        source=source,
        sheet=sheet,
        release=release,
        old=old,
        old_sha256=old_sha256,
        units=units,
        chain=chain,
    )
    stored = stored_record(record)
    files = files_of(run, stored, plan)
    page = paper.pdf(
        record,
        units=units,
        pictures=pictures(record, loaded, sheet, units),
        record_sha256=sha256(stored),
        finger=fingerprint(key.public),
        day=date.fromisoformat(record.day),
    )
    pdf, signature = sealed(record, page, files, key)
    return Made(record, stored, pdf, signature, fingerprint(key.public))


def certificate_file_name(record: Certificate) -> str:
    """Return a file name for a certificate: its number with plain letters, and its revision."""
    return f"{re.sub(r'[^A-Za-z0-9_.-]', '-', record.number)}.r{record.revision}.pdf"


def read_record(stored: bytes) -> dict[str, Any]:
    """Return the record of stored bytes; empty where they are none."""
    try:
        found = json.loads(stored)
    except (ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}
