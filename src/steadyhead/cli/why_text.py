"""An explained finding as text for a terminal: what is so, why it matters, and everything it rests on."""

from __future__ import annotations

from collections.abc import Iterable

from steadyhead.cli.showing import paragraph
from steadyhead.findings import CATALOGUE, Amount, Input, Severity
from steadyhead.findings.telling import answer_line
from steadyhead.records.station import Station
from steadyhead.services.judging import Explained
from steadyhead.units import UnitSet, say

NO_SOURCE = "source not noted"
TOLD_BY = {
    **dict.fromkeys(("SUR-39", "SUR-51", "SUR-52"), "stability"),
    "SUR-38": "chances",
    "SUR-50": "plan",
}
"""Findings another command tells, with that command; others of surge are told by it or by check."""
OF_RUNS = tuple(f"SUR-{number:02}" for number in (*range(1, 22), 35, 36, 37, 40, 41, 59))
"""Findings of runs in time."""


def elsewhere(code: str, station: Station) -> str:
    """Return what is said of a finding that check does not raise here: that, or which command tells it."""
    command = TOLD_BY.get(code) or ("surge" if code in (*OF_RUNS, "SUR-43", "SUR-53") else "")
    if not command:
        return f"{code} does not stand at this station."
    entry = CATALOGUE[code]
    said = [
        f"{code}: {entry.title}",
        paragraph(
            f"check does not raise it; it is a finding of steadyhead {command}, which tells it with its "
            f"values where it stands at {station.station.id}."
        ),
    ]
    said += [paragraph(text, indent=2) for text in (entry.why, entry.cure) if text and "{" not in text]
    if entry.equation:
        said.append(paragraph(f"Relation: {entry.equation}", indent=2))
    return "\n".join(said)


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
