"""An audited record as text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.cli.showing import finding_lines, paragraph
from steadyhead.findings import Finding, Severity
from steadyhead.services.auditing import Audited
from steadyhead.units import UnitSet

_HEADS = (
    (Severity.STOP, "Against final"),
    (Severity.HEED, "To be heeded"),
    (Severity.NOTE, "Doubtful, or of little weight"),
)


def audited_text(audited: Audited, units: UnitSet) -> str:
    """Return an audit: what stands against *final* first; each with the entry that shows it."""
    return "\n".join(line.rstrip() for line in _lines(audited, units)) + "\n"


def _lines(audited: Audited, units: UnitSet) -> Iterator[str]:
    yield f"{audited.job.name or 'Job without a name'}, {audited.job.kind}, {audited.job.layout}"
    yield "Nothing found against final." if audited.allows_final else "Not final."
    for fault in audited.ledger.faults:
        yield paragraph(f"line {fault.line} of {fault.where}: {fault.problem} {fault.remedy}", 4, "  ")
    for severity, head in _HEADS:
        found = [f for f in audited.findings if f.severity is severity]
        if found:
            yield ""
            yield f"{head}: {len(found)}"
        for finding in found:
            yield finding_lines(finding, units)
            yield " " * 18 + _place(finding)
    yield ""
    yield paragraph(
        "The audit reads what was entered. It has not seen the station; what nobody wrote it does not know."
    )


def _place(finding: Finding) -> str:
    params = finding.params
    return f"Entry {finding.subject}, {params['when']}, rule {params['rule']}."
