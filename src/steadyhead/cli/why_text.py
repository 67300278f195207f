"""An explained finding as text for a terminal: what is so, why it matters, and everything it rests on."""

from __future__ import annotations

from collections.abc import Iterable

from steadyhead.cli.showing import paragraph
from steadyhead.findings import Amount, Input, Severity
from steadyhead.findings.telling import answer_line
from steadyhead.services.judging import Explained
from steadyhead.units import UnitSet, say

NO_SOURCE = "source not noted"


def why_text(explained: Explained, units: UnitSet) -> str:
    """Return one explained finding as text.

    Parameters
    ----------
    explained
        The finding with its inputs, relation and sources.
    units
        Display units.
    """
    told = explained.told
    lines = [
        f"{told.code} ({told.severity.value}): {told.title}",
        paragraph(f"At {told.subject}{', ' + told.case if told.case else ''}"),
        "",
        paragraph(told.statement),
    ]
    for head, text in (("Why it matters", told.why), ("What would cure it", told.cure)):
        if text:
            lines += ["", head, paragraph(text, indent=2)]
    lines += _given("Rests on", explained.finding.inputs, units)
    lines += _given("How the limit comes about", explained.grounds, units)
    if explained.equation:
        lines += ["", "Relation", paragraph(explained.equation, indent=2)]
    if explained.sources:
        lines += ["", "Sources", *(paragraph(source, indent=2) for source in explained.sources)]
    if told.severity is Severity.ASK:
        lines += [
            "",
            "To answer, add to the file under answers, filled in",
            f"  {answer_line(explained.finding)}",
        ]
    return "\n".join(lines)


def _given(head: str, inputs: Iterable[Input], units: UnitSet) -> list[str]:
    rows = []
    for given in inputs:
        amount = given.amount
        value = say(amount.si, amount.kind, units) if isinstance(amount, Amount) else amount
        where = given.provenance or ("" if given.label == "answer" else NO_SOURCE)
        rows.append(paragraph(f"{given.label}: {value}" + (f"  ({where})" if where else ""), indent=2))
    return ["", head, *rows] if rows else []
