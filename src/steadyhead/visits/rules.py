"""What holds all through a plan: invariants, stop rules, notes, and the words that defer."""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil

from steadyhead.findings import Finding
from steadyhead.findings.model import Amount
from steadyhead.procedure.graph import covering, on_way
from steadyhead.records.parts import IsolatingValve
from steadyhead.records.procedure import Message, Procedure
from steadyhead.records.station import Station
from steadyhead.station.streams import views
from steadyhead.visits import spans
from steadyhead.visits.defaults import WORKING_DAY
from steadyhead.visits.reliefs import stands_in
from steadyhead.visits.tables.defaults import AFTER, BEFORE
from steadyhead.visits.tables.desk import Desk

_INVARIANTS = ("V3", "V4", "V5", "V6", "V7", "V8", "V9", "V10", "V11", "V12")
_DEFER = ("defer.support", "defer.codes", "defer.release", "defer.outside", "defer.proof", "limits.steady")


def invariants(desk: Desk) -> tuple[Message, ...]:
    """Return V1 to V12 in our own words."""
    first = "V1" if desk.facts.can_isolate else "V1.passing"
    second = {0: "V2", 1: "V2.between"}.get(len(desk.facts.sections) - 1, "V2.stages")
    if any(section not in desk.numbers.inlet_opening for section in desk.facts.sections):
        second = "V2.open"
    more = ("V2.second",) if desk.facts.inlet_passes else ()
    listed = (first, second, *more, *_INVARIANTS)
    if desk.facts.shut_off is None:
        listed = tuple("V9.plain" if name == "V9" else name for name in listed if name != "V8")
    elif not desk.facts.can_isolate:
        listed = tuple("V8.passing" if name == "V8" else name for name in listed)
    return tuple(desk.say(name) for name in listed)


def rule_number(rule: Message) -> str:
    """Return the number of a rule, as steps quote it; empty where it has none.

    Examples
    --------
    >>> rule_number(Message("V1.passing")), rule_number(Message("rule.on_stream", {"what": "@V2"}))
    ('V1', 'V2')
    """
    said = str(rule.params.get("what", "")).removeprefix("@") if rule.id == "rule.on_stream" else rule.id
    head = said.partition(".")[0]
    return head if head[:1] == "V" and head[1:].isdigit() else ""


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


def in_short(rule: Message) -> Message:
    """Return a stop rule in a few words, for the head of every sheet.

    Examples
    --------
    >>> in_short(Message("stop.gas", {})).id
    'stop.short.gas'
    """
    return Message(f"stop.short.{rule.id.removeprefix('stop.')}", rule.params)


def at_outlet(rule: Message, tap: str) -> Message:
    """Return a stop rule that watches the tap behind the station's outlet valve, where it watches one there.

    A plan that takes one stream out watches the tap behind that stream; tap: of the whole station, or empty.
    """
    if rule.id != "stop.t4":
        return rule
    return Message("stop.t4", {**rule.params, "t4": tap}) if tap else Message("stop.t4_none", rule.params)


def notes(
    desk: Desk, found: tuple[Finding, ...], *, gates: Iterable[IsolatingValve] = ()
) -> tuple[Message, ...]:
    """Return the deferring words, what the plan does not cover, and the statement of every finding.

    gates: isolating valves that are turned; left out: the two of the line.
    """
    facts = desk.facts
    turned = tuple(gates) or (facts.inlet_valve, facts.outlet_valve)
    listed = [desk.say(name) for name in _DEFER]
    listed.append(desk.say("note.gates", gates=", ".join(_turns(valve) for valve in turned)))
    alone = not facts.is_pair and facts.monitor is None and not facts.relief_instead
    if facts.shut_off is None and alone:
        listed.append(desk.say("note.unprotected"))
    if desk.facts.is_injected:
        listed.append(desk.say("note.coverage"))
    plain = "" if facts.shut_off is not None else "_plain"
    if desk.numbers.good_gauges:
        listed.append(desk.say(f"note.gauges{plain}"))
    if desk.numbers.poor_gauges:
        listed.append(desk.say(f"note.gauges_poor{plain}"))
    return (*listed, *(told(finding) for finding in found))


def _turns(valve: IsolatingValve) -> str:
    return f"{valve.id} {valve.turns.text if valve.turns is not None else 'turns not stated'}"


def days(procedure: Procedure, station: Station) -> tuple[Message, ...]:
    """Return the note of a plan that takes more than one day: how many, and how it is left overnight."""
    desk_work = (*BEFORE, *AFTER)
    longest = max(
        (
            sum(n.takes for n in on_way(procedure, way) if n.id not in desk_work)
            for way in covering(procedure)
        ),
        default=0.0,
    )
    day = WORKING_DAY.si / 60.0
    if longest <= day:
        return ()
    hours = {"days": ceil(longest / day), "hours": round(WORKING_DAY.si / 3600.0)}
    return (Message("note.days", {**hours, **_guard(station)}),)


def _guard(station: Station) -> dict[str, str]:
    """Return what must not be out of action overnight: shut-off, monitor, or relief in place of both."""
    lines = [view.layout for view in views(station)]
    if any(layout.shut_offs for layout in lines):
        return {"guard": "@guard.shut_off"}
    monitors = dict.fromkeys(one.id for layout in lines if (one := spans.monitor(layout)) is not None)
    if monitors:
        return {"guard": "@guard.monitor", "mon": " and ".join(monitors)}
    return {"guard": "@guard.relief" if any(stands_in(layout) for layout in lines) else "@guard.none"}


def told(finding: Finding) -> Message:
    """Return a finding as a note of the plan; one of a stream names its stream."""
    params: dict[str, Amount | str | int] = {"subject": finding.subject, "case": finding.case}
    for name, value in finding.params.items():
        params[name] = f"{value:.3g}" if isinstance(value, float) else value
    for name, amount in (("value", finding.value), ("limit", finding.limit), ("margin", finding.margin)):
        if amount is not None:
            params.setdefault(name, amount)
    stream, colon, _ = finding.subject.partition(": ")
    if colon and stream.startswith("stream ") and "stream" not in finding.params:
        return Message("rule.on_stream", {**params, "stream": stream, "what": f"@{finding.code}"})
    return Message(finding.code, params)
