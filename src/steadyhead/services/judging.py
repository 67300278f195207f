"""Read a station file, judge it, and hand findings on as data."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import Any

from steadyhead.design.sheet import judge, to_json
from steadyhead.errors import InputError
from steadyhead.findings import Amount, Finding, Input, Severity, Told, tell
from steadyhead.findings.catalogue import CATALOGUE
from steadyhead.findings.model import in_order, pressure
from steadyhead.findings.telling import answer_line
from steadyhead.records.baseline import Baseline
from steadyhead.records.design import DesignSheet
from steadyhead.records.protection import ProofSheet
from steadyhead.services.library import completed
from steadyhead.services.measured import with_measured
from steadyhead.station.answers import without_expired
from steadyhead.station.load import Loaded, load
from steadyhead.units import METRIC, UnitSet

SAME_PRESSURE = 1.0
"""Two pressures nearer than this are the same figure. [Pa]"""
CARRIED = "P at datum = P + ρ g (z − z datum), derating included"


@dataclass(frozen=True, slots=True)
class Judged:
    """A station file with its design sheet."""

    loaded: Loaded
    source: bytes
    sheet: DesignSheet


def judge_file(
    source: bytes,
    where: str = "",
    day: date | None = None,
    proof: ProofSheet | None = None,
    baseline: Baseline | None = None,
) -> Judged:
    """Return a station file judged.

    Answers that had run out by `day` (today where left out) count for nothing; gauges then overdue are told.
    `proof`: of this very file, from `steadyhead.services.protection`; None: lumped figures stand.
    `baseline`: what a run measured goes first.

    Raises
    ------
    InputErrors
        Every bad field of the file.
    InputError
        A baseline of another station.
    """
    return judge_loaded(load(source, where), source, day, proof, baseline)


def judge_loaded(
    read: Loaded,
    source: bytes,
    day: date | None = None,
    proof: ProofSheet | None = None,
    baseline: Baseline | None = None,
) -> Judged:
    """Return a station file judged that was read already; see `judge_file`."""
    loaded = with_measured(completed(read), baseline)
    day = day or datetime.now(UTC).date()
    station, expired = without_expired(loaded.station, day)
    sheet = judge(station, day, proof)
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
        "findings": [finding_data(f) for f in judged.sheet.findings],
    }


def finding_data(finding: Finding) -> dict[str, Any]:
    """Return one finding as plain data, with its words and, for a question, the line that answers it."""
    told = tell(finding)
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "title": told.title,
        "words": told.statement,
        "why": told.why,
        "cure": told.cure,
        "answer_line": answer_line(finding) if finding.severity is Severity.ASK else None,
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
    """A finding with everything it rests on; `grounds` says how a limit of it came about."""

    finding: Finding
    told: Told
    grounds: tuple[Input, ...]
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
        Explained(f, tell(f, units), _grounds(judged, f), entry.equation, entry.sources)
        for f in judged.sheet.findings
        if f.code == wanted
    )


def explained_data(one: Explained) -> dict[str, Any]:
    """Return an explained finding as plain data."""
    return finding_data(one.finding) | {
        "grounds": [_input(given) for given in one.grounds],
        "equation": one.equation,
        "sources": list(one.sources),
    }


def _grounds(judged: Judged, finding: Finding) -> tuple[Input, ...]:
    """Return how the limit of a finding came about: rating at its own place, levels, limit at datum."""
    ladder = judged.sheet.ladder
    component = finding.params.get("component")
    figures = [a.si for a in (finding.limit, finding.value) if a is not None and a.kind == "pressure"]
    for one in ladder.components if ladder else ():
        ratings = (
            ("fault limit", one.fault_local, one.fault_at_datum),
            ("normal limit", one.normal_local, one.normal_at_datum),
        )
        for word, local, at_datum in ratings:
            if one.component != component or local is None or at_datum is None:
                continue
            if not any(abs(figure - at_datum) < SAME_PRESSURE for figure in figures):
                continue
            datum = judged.loaded.station.station.datum
            return (
                Input(f"{word} of {component}, at its own place", pressure(local), one.source),
                Input("level of that place", Amount("length", one.level), "stated"),
                Input("level of the datum", Amount("length", datum.si), datum.provenance),
                Input(f"{word}, carried to the datum", pressure(at_datum), CARRIED),
            )
    return ()
