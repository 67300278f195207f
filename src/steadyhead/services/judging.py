"""Read a station file, judge it, and hand findings on as data."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import Any

from steadyhead.design.sheet import judge, to_json
from steadyhead.errors import InputError
from steadyhead.findings import Amount, Finding, Input, Told, tell
from steadyhead.findings.catalogue import CATALOGUE
from steadyhead.findings.model import in_order
from steadyhead.records.design import DesignSheet
from steadyhead.station.answers import without_expired
from steadyhead.station.load import Loaded, load
from steadyhead.units import METRIC, UnitSet


@dataclass(frozen=True, slots=True)
class Judged:
    """A station file with its design sheet."""

    loaded: Loaded
    source: bytes
    sheet: DesignSheet


def judge_file(source: bytes, where: str = "", day: date | None = None) -> Judged:
    """Return a station file judged.

    Answers that had run out by `day` (today where left out) count for nothing.

    Raises
    ------
    InputErrors
        Every bad field of the file.
    """
    loaded = load(source, where)
    station, expired = without_expired(loaded.station, day or datetime.now(UTC).date())
    sheet = judge(station)
    if expired:
        sheet = replace(sheet, findings=in_order((*sheet.findings, *expired)))
    return Judged(loaded, source, sheet)


def sheet_data(judged: Judged) -> dict[str, Any]:
    """Return a judged station as plain data: names end in the unit, SI, nine significant digits."""
    return {
        "format": "steadyhead/check/1",
        "file_sha256": judged.loaded.sha256,
        "releasable": judged.sheet.releasable,
        "sheet": to_json(judged.sheet),
        "findings": [finding_data(f) | {"words": tell(f).statement} for f in judged.sheet.findings],
    }


def finding_data(finding: Finding) -> dict[str, Any]:
    """Return one finding as plain data."""
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "subject": finding.subject,
        "case": finding.case,
        "value": _amount(finding.value),
        "limit": _amount(finding.limit),
        "margin": _amount(finding.margin),
        "value_hash": finding.value_hash,
        "params": {k: _amount(v) if isinstance(v, Amount) else v for k, v in finding.params.items()},
        "inputs": [_input(i) for i in finding.inputs],
    }


def _amount(amount: Amount | None) -> dict[str, Any] | None:
    return None if amount is None else {"kind": amount.kind, "si": float(f"{amount.si:.9g}")}


def _input(given: Input) -> dict[str, Any]:
    value = _amount(given.amount) if isinstance(given.amount, Amount) else given.amount
    return {"label": given.label, "value": value, "provenance": given.provenance}


@dataclass(frozen=True, slots=True)
class Explained:
    """A finding with everything it rests on."""

    finding: Finding
    told: Told
    equation: str
    sources: tuple[str, ...]


def explain(judged: Judged, code: str, units: UnitSet = METRIC) -> tuple[Explained, ...]:
    """Return why a finding stands: inputs with provenance, relation, sources; one per subject.

    A code the catalogue knows but this station does not raise gives an empty tuple.

    Raises
    ------
    InputError
        A code that does not exist.
    """
    wanted = code.strip().upper()
    if wanted not in CATALOGUE:
        import difflib

        near = difflib.get_close_matches(wanted, CATALOGUE, 3)
        hint = f"Close to it: {', '.join(near)}." if near else "Run check to see the codes of this station."
        raise InputError("CODE", f"got {code!r}, which is no finding code.", hint)
    entry = CATALOGUE[wanted]
    return tuple(
        Explained(f, tell(f, units), entry.equation, entry.sources)
        for f in judged.sheet.findings
        if f.code == wanted
    )
