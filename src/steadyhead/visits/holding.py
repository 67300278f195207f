"""Which plans rest on a drain that holds the outlet at a part-open inlet valve (invariant V2)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from steadyhead.findings import Amount, Finding, Severity
from steadyhead.findings.model import Parameter
from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.procedure import Node
from steadyhead.visits.facts import Facts

NO_OPENING = ("NUM-01", "PLAN-29")
"""No opening of the inlet valve lets the drain hold its section."""
_RAISED = (".raised", ".out_of_way", ".root_shut")
"""Restore items of a setting that stands above duty, and of a protection that is out of action."""


def rests_on_drain(node: Node) -> bool:
    """Return whether a step relies on the drain alone: a setting is raised, or a protection out of action.

    Pressing by pump with the inlet valve shut does not; filling behind a shut-off in service does not.
    """
    opened = any(name.endswith(_RAISED) for name in node.opens)
    return opened or any("v2" in hazard.caution.params for hazard in node.hazards)


def protected(facts: Facts) -> bool:
    """Return whether something else holds the outlet while nothing is raised: a shut-off, relief, monitor.

    A shut-off that senses the consumer side does not: with the outlet valve shut it feels nothing.
    """
    shut_off = facts.shut_off
    if shut_off is None:
        return bool(facts.relief_instead) or facts.monitor is not None
    section = facts.layout.section_of(shut_off.senses)
    return section is not None and section.name != "consumer"


def needed(nodes: Iterable[Node], facts: Facts) -> bool:
    """Return whether these steps of a line need the opening at which the drain holds it."""
    listed = tuple(nodes)
    opens = any("v2" in message.params for node in listed for message in node.do)
    return any(rests_on_drain(node) for node in listed) or (opens and not protected(facts))


def without_opening(facts: Facts, numbers: PlanNumbers) -> tuple[Finding, ...]:
    """Return a finding for each section of a line without an opening, or without a test limit."""
    told = {finding.params.get("section") for finding in numbers.findings if finding.code in NO_OPENING}
    found = []
    for section in facts.sections:
        opening, limit = numbers.inlet_opening.get(section), numbers.test_limit.get(section)
        valve = facts.inlet_valve.id
        params: dict[str, Parameter] = {
            "valve": valve, "drain": facts.drain_of(section).id, "section": section,
        }  # fmt: skip
        if limit is None:
            found.append(Finding("PLAN-30", valve, Severity.STOP, params=params))
        elif (opening is None or opening.share <= 0.0) and section not in told:
            shown = Amount("pressure", limit)
            found.append(Finding("PLAN-29", valve, Severity.STOP, params=params, limit=shown))
    return tuple(found)


def told_only(found: Iterable[Finding], needed: Iterable[Finding] = ()) -> tuple[Finding, ...]:
    """Return findings with a missing opening told, not stopping, save where a step needs it."""
    stays = tuple(needed)
    return tuple(
        replace(one, severity=Severity.HEED)
        if one.code in NO_OPENING and one.severity is Severity.STOP and one not in stays
        else one
        for one in found
    )


def stopped(found: Iterable[Finding], *, opening: bool = True) -> bool:
    """Return whether any finding stops the plan; opening: one about a missing opening counts too."""
    return any(f.severity is Severity.STOP and (opening or f.code not in NO_OPENING) for f in found)
