"""Counted turns of an isolating valve that a step opens fully: far off its own they do not show it open."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.findings import Amount
from steadyhead.records.parts import IsolatingValve
from steadyhead.records.procedure import Expression, Refusal
from steadyhead.visits.tables import defaults as d
from steadyhead.visits.tables.desk import Desk


def one_opened(desk: Desk, name: str, valve: IsolatingValve) -> Refusal:
    """Return why the count of one valve does not show it fully open; name: of the input."""
    return _refusal(desk, _off(desk, name, valve), valve)


def either_opened(desk: Desk, name: str) -> Refusal:
    """Return why a count shows neither the inlet nor the outlet valve fully open; name: of the input."""
    inlet, outlet = desk.facts.inlet_valve, desk.facts.outlet_valve
    off: list[Expression] = [_off(desk, name, valve) for valve in (inlet, outlet)]
    return _refusal(desk, {"all": off}, inlet)


def both_opened(desk: Desk) -> Iterator[Refusal]:
    """Yield why the counts of J2 do not show the inlet and the outlet valve fully open."""
    yield one_opened(desk, "turns.inlet", desk.facts.inlet_valve)
    yield one_opened(desk, "turns.outlet", desk.facts.outlet_valve)


def _off(desk: Desk, name: str, valve: IsolatingValve) -> Expression:
    """Return the predicate: a count is not that of the valve from shut, or from its opening of the test.

    Where the turns of the valve are not stated, less than one is none.
    """
    count: Expression = {"value": name}
    if valve.turns is None:
        return {"lt": [count, d.COUNT_LEAST.si]}
    turns = valve.turns.si
    slack = max(d.COUNT_LEAST.si, d.COUNT_SLACK.si * turns)
    shares = [one.share for one in desk.numbers.inlet_opening.values()]
    begun = max(shares, default=0.0) if valve is desk.facts.inlet_valve else 0.0
    least = max(d.COUNT_LEAST.si, turns * (1.0 - begun) - slack)
    return {"any": [{"lt": [count, least]}, {"gt": [count, turns + slack]}]}


def _refusal(desk: Desk, when: Expression, valve: IsolatingValve) -> Refusal:
    if valve.turns is None:
        return Refusal(when, desk.say("rf.turns_none", valve=valve.id))
    full = Amount("turns", valve.turns.si)
    return Refusal(when, desk.say("rf.turns_off", valve=valve.id, full_turns=full))
