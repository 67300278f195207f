"""Turn a finding into sentences in the reader's units."""

from __future__ import annotations

from dataclasses import dataclass

from steadyhead.findings.catalogue import CATALOGUE
from steadyhead.findings.model import Amount, Finding, Parameter, Severity
from steadyhead.units import METRIC, UnitSet, say


@dataclass(frozen=True, slots=True)
class Told:
    """A finding in words: what is so, why it matters, what would cure it."""

    code: str
    severity: Severity
    subject: str
    title: str
    statement: str
    why: str
    cure: str
    case: str
    answer: str = ""


def tell(finding: Finding, units: UnitSet = METRIC) -> Told:
    """Return the words of a finding in the reader's units.

    Raises
    ------
    KeyError
        A code that is not in the catalogue, or a parameter its words need is missing.
    """
    entry = CATALOGUE[finding.code]
    words: dict[str, Parameter] = {"subject": finding.subject, "case": finding.case, **finding.params}
    for name, amount in (("value", finding.value), ("limit", finding.limit), ("margin", finding.margin)):
        if amount is not None:
            words.setdefault(name, amount)
    filled = {key: _say(value, units) for key, value in words.items()}
    return Told(
        code=finding.code,
        severity=finding.severity,
        subject=finding.subject,
        title=entry.title,
        statement=entry.statement.format_map(filled),
        why=entry.why.format_map(filled),
        cure=entry.cure.format_map(filled),
        case="" if "{case}" in entry.statement else finding.case,
        answer=" ".join(
            f"Answered by {i.provenance}: {i.amount}" for i in finding.inputs if i.label == "answer"
        ),
    )


def _say(value: Parameter, units: UnitSet) -> str:
    if isinstance(value, Amount):
        return say(value.si, value.kind, units)
    if isinstance(value, float):
        return f"{value:.3g}"
    return str(value)
