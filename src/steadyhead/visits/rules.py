"""What holds all through a plan: invariants, stop rules, notes, and the words that defer."""

from __future__ import annotations

from steadyhead.findings import Finding
from steadyhead.findings.model import Amount
from steadyhead.records.procedure import Message
from steadyhead.visits.tables.desk import Desk

_INVARIANTS = ("V3", "V4", "V5", "V6", "V7", "V8", "V9", "V10", "V11", "V12")
_DEFER = ("defer.support", "defer.codes", "defer.release", "defer.outside", "defer.proof", "limits.steady")


def invariants(desk: Desk) -> tuple[Message, ...]:
    """Return V1 to V12 in our own words."""
    first = "V1" if desk.facts.can_isolate else "V1.passing"
    second = {0: "V2", 1: "V2.between"}.get(len(desk.facts.sections) - 1, "V2.stages")
    more = ("V2.second",) if desk.facts.inlet_passes else ()
    listed = (first, second, *more, *_INVARIANTS)
    if desk.facts.shut_off is None:
        listed = tuple(name for name in listed if name != "V8")
    elif not desk.facts.can_isolate:
        listed = tuple("V8.passing" if name == "V8" else name for name in listed)
    return tuple(desk.say(name) for name in listed)


def stop_rules(desk: Desk) -> tuple[Message, ...]:
    """Return when to stop and back out, whatever the step."""
    facts = desk.facts
    return tuple(
        desk.say(name)
        for name in (
            "stop.gas",
            "stop.pressure",
            *(("stop.no_action",) if facts.shut_off is not None else ()),
            "stop.t4" if facts.has_tap("T4") else "stop.t4_none",
            "stop.gauge",
            "stop.water",
            "stop.permit",
            "stop.differs",
            "stop.unsure",
        )
    )


def notes(desk: Desk, found: tuple[Finding, ...]) -> tuple[Message, ...]:
    """Return the deferring words, what the plan does not cover, and the statement of every finding."""
    listed = [desk.say(name) for name in (*_DEFER, "note.gates")]
    facts = desk.facts
    alone = not facts.is_pair and facts.monitor is None and not facts.relief_instead
    if facts.shut_off is None and alone:
        listed.append(desk.say("note.unprotected"))
    if desk.facts.is_injected:
        listed.append(desk.say("note.coverage"))
    if desk.numbers.good_gauges:
        listed.append(desk.say("note.gauges"))
    if desk.numbers.poor_gauges:
        listed.append(desk.say("note.gauges_poor"))
    return (*listed, *(told(finding) for finding in found))


def told(finding: Finding) -> Message:
    """Return a finding as a note of the plan."""
    params: dict[str, Amount | str | int] = {"subject": finding.subject, "case": finding.case}
    for name, value in finding.params.items():
        params[name] = f"{value:.3g}" if isinstance(value, float) else value
    for name, amount in (("value", finding.value), ("limit", finding.limit), ("margin", finding.margin)):
        if amount is not None:
            params.setdefault(name, amount)
    return Message(finding.code, params)
