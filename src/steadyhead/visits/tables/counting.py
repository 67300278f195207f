"""Counted turns that cannot be: of a valve a step opens fully, of valves it moves, of a screw it turns."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, floor, log10

from steadyhead.design.defaults import SMALLEST_TURN
from steadyhead.findings import Amount
from steadyhead.records.parts import IsolatingValve, Reducer, ShutOff
from steadyhead.records.procedure import Expression, Refusal
from steadyhead.station.mechanics import pressure_per_turn
from steadyhead.visits.defaults import LOWEST_MORE
from steadyhead.visits.tables import defaults as d
from steadyhead.visits.tables.desk import Desk
from steadyhead.visits.tables.wording import as_read

Screw = Reducer | ShutOff
"""What has a screw that is turned."""
DN_25 = 0.025
"""[m]"""


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

    Where the turns of the valve are not stated it may open by a quarter turn: less than that is none. Of one
    that takes few turns a share may be off, no whole turn.
    """
    count: Expression = {"value": name}
    if valve.turns is None:
        return {"lt": [count, d.COUNT_UNSTATED.si]}
    turns = valve.turns.si
    few = min(d.COUNT_LEAST.si, d.COUNT_FEW.si * turns)
    slack = max(few, d.COUNT_SLACK.si * turns)
    shares = [one.share for one in desk.numbers.inlet_opening.values()]
    begun = max(shares, default=0.0) if valve is desk.facts.inlet_valve else 0.0
    least = max(few, turns * (1.0 - begun) - slack)
    return {"any": [{"lt": [count, least]}, {"gt": [count, turns + slack]}]}


def _refusal(desk: Desk, when: Expression, valve: IsolatingValve) -> Refusal:
    if valve.turns is None:
        return Refusal(when, desk.say("rf.turns_none", valve=valve.id))
    full = Amount("turns", valve.turns.si)
    return Refusal(when, desk.say("rf.turns_off", valve=valve.id, full_turns=full))


def moved(desk: Desk, *valves: IsolatingValve, found_shut: bool = False, name: str = "turns") -> Refusal:
    """Return why a count of turns is none of the valves a step moves: far below all of them, or above.

    Counted may be one of them or both, between shut and open, or between open and the V2 opening.
    found_shut: they may have stood shut, so that few turns, or none, are right; name: of the input.
    """
    shares = [one.share for one in desk.numbers.inlet_opening.values() if 0.0 < one.share < 1.0]
    begun = min((min(share, 1.0 - share) for share in shares), default=1.0)
    ways = [_turns(one) * (begun if one is desk.facts.inlet_valve else 1.0) for one in valves]
    least, most = min(ways) / d.COUNT_FACTOR.si, d.COUNT_FACTOR.si * sum(map(_most, valves))
    words: dict[str, Amount | str] = {"valve": " and ".join(one.id for one in valves)}
    return _beyond(desk, name, None if found_shut else least, most, "count", words)


def screw(desk: Desk, valve: Screw, least: float | None = None, *, name: str = "turns") -> Refusal:
    """Return why a count is none of the screw of a valve: more than it has, or too little for what is asked.

    least: turns it takes at the least by its figures; a later count of the same step may be smaller, where
    it only goes on. name: of the input.
    """
    rate = pressure_per_turn(valve.pilot).si
    low = least / d.COUNT_FACTOR.si if least is not None else 0.0
    most = d.COUNT_FACTOR.si * valve.pilot.spring_high.si / rate
    return _beyond(desk, name, low if low >= SMALLEST_TURN.si else None, most, "screw", _screw_words(valve))


def raised_from_lowest(desk: Desk, reducer: Reducer, role: str) -> Refusal:
    """Return why a count does not raise a reducer from its lowest setting to its trickle reading."""
    band = desk.numbers.bands.get(f"trickle_set.{role}")
    asked = band.low if band is not None else as_read(desk.facts, role, reducer.duty.pressure.si)
    begins = (1.0 + LOWEST_MORE.si) * reducer.pilot.spring_low.si
    return screw(desk, reducer, (asked - begins) / pressure_per_turn(reducer.pilot).si)


def lowered_to_trip(desk: Desk, shut_off: ShutOff) -> Refusal:
    """Return why a count does not lower a shut-off from the top of its range to its trip."""
    if shut_off.trip is None:
        return screw(desk, shut_off)
    top = (1.0 - LOWEST_MORE.si) * shut_off.pilot.spring_high.si
    return screw(desk, shut_off, (top - shut_off.trip.si) / pressure_per_turn(shut_off.pilot).si)


def raised_to_act(desk: Desk, reducer: Reducer, start: Expression | None = None) -> Iterator[Refusal]:
    """Yield why a count does not raise the outlet from trickle to the action of the shut-off.

    Few turns are held against the rise that was read: an early action takes few. start: reading that the
    raise began at; None: the one the plan expects.
    """
    yield screw(desk, reducer)
    shut_off = desk.facts.proved
    if shut_off is None or shut_off.trip is None:
        return
    bands, rate = desk.numbers.bands, pressure_per_turn(reducer.pilot).si
    known = [bands[key].nominal for key in ("trickle_set.T3", "trickle.T3") if key in bands]
    begins = max(known, default=as_read(desk.facts, "T3", reducer.duty.pressure.si))
    rise = as_read(desk.facts, "T3", shut_off.trip.si) - begins
    least = _rounded(rise / rate / d.COUNT_FACTOR.si)
    if least <= 0.0:
        return
    turned: Expression = {"mul": [{"value": "turns"}, d.COUNT_FACTOR.si * rate]}
    read: Expression = {"sub": [{"value": "act"}, {"max": [begins, start]} if start is not None else begins]}
    few: list[Expression] = [
        {"lt": [{"value": "turns"}, least]},
        {"lt": [turned, {"sub": [read, d.STILL_BAND.si]}]},
    ]
    words = {**_screw_words(reducer), "turns_least": Amount("turns", least)}
    yield Refusal({"all": few}, desk.say("rf.screw_few", **words))


def none_counted(name: str = "turns") -> Expression:
    """Return the predicate: no turn is counted."""
    return {"le": [{"value": name}, 0.0]}


def none_explained(name: str = "turns") -> Expression:
    """Return the predicate: no turn is counted, and no note of that day at the step says why."""
    same_day: Expression = {"eq": [{"entry": "day"}, {"carried": [name, "day"]}]}
    notes: Expression = {"count": {"of": "@note", "where": same_day}}
    return {"all": [none_counted(name), {"eq": [notes, 0]}]}


def _beyond(
    desk: Desk, name: str, least: float | None, most: float, text: str, words: dict[str, Amount | str]
) -> Refusal:
    """Return the refusal of a count that lies beyond; of a low one no other of the step may be enough."""
    top = float(ceil(most))
    words = {**words, "turns_most": Amount("turns", top)}
    many: Expression = {"gt": [{"value": name}, top]}
    if least is None:
        return Refusal(many, desk.say(f"rf.{text}_many", **words))
    low = _rounded(least)
    few: list[Expression] = [{"lt": [{"value": name}, low]}, {"lt": [{"most": {"of": name}}, low]}]
    words["turns_least"] = Amount("turns", low)
    return Refusal({"any": [{"all": few}, many]}, desk.say(f"rf.{text}_far", **words))


def _screw_words(valve: Screw) -> dict[str, Amount | str]:
    rate = pressure_per_turn(valve.pilot).si
    return {"valve": valve.id, "per_turn": Amount("pressure_per_turn", rate)}


def _turns(valve: IsolatingValve) -> float:
    """Return the least turns a valve may take from shut to open."""
    return d.COUNT_UNSTATED.si if valve.turns is None else valve.turns.si


def _most(valve: IsolatingValve) -> float:
    """Return the turns of a valve from shut to open; where they are not stated, of a gate of its size."""
    if valve.turns is not None:
        return valve.turns.si
    return d.COUNT_BY_SIZE.si * (valve.size.si / DN_25 + 1.0)


def _rounded(turns: float) -> float:
    """Return turns rounded down to two figures.

    Examples
    --------
    >>> _rounded(1.689), _rounded(0.0)
    (1.6, 0.0)
    """
    if turns <= 0.0:
        return 0.0
    unit = 10.0 ** (floor(log10(turns)) - 1)
    return round(floor(turns / unit + 1e-9) * unit, 9)
