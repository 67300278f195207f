"""Findings of many runs told once each: the worst of a kind, with the names of the events it was found in."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from steadyhead.findings import Finding
from steadyhead.findings.model import Parameter, in_order

MOST_NAMED = 6
"""Most events of one way a finding names; of more it names one fewer and counts the rest."""

LISTED = ("SUR-35",)
"""Findings told once for all subjects they say the same of."""

APART = ("SUR-14", "SUR-27", "SUR-62", "SUR-63")
"""Findings of which those of another weight are told apart: an event that forbids and one to be heeded."""


def named(name: str, way: str = "") -> str:
    """Return the name of a run with its way through the station, where there are several."""
    return f"{name} ({way})" if way else name


def in_event(name: str) -> dict[str, Parameter]:
    """Return the words a finding of one event is filled with."""
    return {"events": f"the event {name}", "worst": ""}


def grouped(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return each kind of finding once: same code, same subject; figures are those of the worst.

    Findings that belong to no event are told once each; those of `LISTED` once for all they say the same of.
    """
    groups: dict[tuple[str, str, str], list[Finding]] = {}
    for finding in _listed(findings):
        reason = str(finding.params.get("reason", "")) if finding.case else _all_of(finding)
        reason = finding.severity.value if finding.code in APART else reason
        groups.setdefault((finding.code, finding.subject, reason), []).append(finding)
    return in_order(_one(group) for group in groups.values())


def _listed(findings: Iterable[Finding]) -> Iterator[Finding]:
    """Yield findings, those of `LISTED` that say the same as one with all their subjects."""
    alike: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        if finding.code in LISTED:
            alike.setdefault((finding.code, repr(sorted(finding.params.items()))), []).append(finding)
        else:
            yield finding
    for group in alike.values():
        yield replace(group[0], subject=listed(list(dict.fromkeys(one.subject for one in group))))


def _all_of(finding: Finding) -> str:
    return finding.value_hash


def _one(group: Sequence[Finding]) -> Finding:
    ranked = in_order(group)
    weightiest = [one for one in ranked if one.severity is ranked[0].severity]
    worst = max(weightiest, key=_how_bad)
    names = list(dict.fromkeys(one.case for one in group if one.case))
    if len(names) < 2:
        return worst
    params = {**worst.params, "events": f"the events {by_way(names)}"}
    if worst.value is not None:
        params["worst"] = f"Worst in {worst.case}."
    if "failure" in params:
        params["failure"] = f"The events {by_way(names)}"
    if len({one.params.get("why") for one in group}) > 1:
        params["why"] = f"{worst.params['why']} So it is in {worst.case}; --event says it of each."
    return replace(worst, params=params, case=", ".join(names))


def _how_bad(finding: Finding) -> float:
    if finding.margin is not None:
        return -finding.margin.si
    return finding.value.si if finding.value is not None else 0.0


def by_way(names: Sequence[str]) -> str:
    """Return names of runs as one list in words, those of one way together.

    Examples
    --------
    >>> by_way(["opening", "restart"])
    'opening and restart'
    >>> by_way(["opening (stream A)", "restart (stream A)", "opening (stream B)"])
    'opening and restart (stream A), opening (stream B)'
    """
    ways: dict[str, list[str]] = {}
    for name in names:
        event, _, way = name.partition(" (")
        ways.setdefault(f" ({way}" if way else "", []).append(event)
    return ", ".join(f"{listed(events)}{way}" for way, events in ways.items())


def listed(names: Sequence[str]) -> str:
    """Return names as one list in words, cut short where there are many.

    Examples
    --------
    >>> listed(["a", "b", "c"]), listed(list("abcdefgh"))
    ('a, b and c', 'a, b, c, d, e and 3 more')
    """
    if len(names) < 2:
        return "".join(names)
    if len(names) > MOST_NAMED:
        return f"{', '.join(names[: MOST_NAMED - 1])} and {len(names) - MOST_NAMED + 1} more"
    return f"{', '.join(names[:-1])} and {names[-1]}"
