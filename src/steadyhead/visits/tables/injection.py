"""Table IN: where the line cannot be raised, the shut-off is proved by a pump at its sensing line."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.records.parts import ShutOff
from steadyhead.records.procedure import Expression, Node
from steadyhead.visits.tables import counting, e_settings, f_trip, refusing
from steadyhead.visits.tables.a_preconditions import has_alarm
from steadyhead.visits.tables.defaults import RUNS
from steadyhead.visits.tables.desk import (
    SET,
    SETTING_GAUGE,
    Band,
    Desk,
    Needs,
    is_no,
    measured,
    noted,
    one_of,
    yes_no,
)
from steadyhead.visits.tables.names import of, shut_off_things


def nodes(desk: Desk) -> Iterator[Node]:
    """Yield IN1 to IN5 where the trip is proved by injection."""
    facts = desk.facts
    shut_off = facts.proved
    if shut_off is None or facts.is_live:
        return
    yield connected(desk, shut_off, needs=_start(desk, shut_off))
    yield _set(desk, shut_off)
    as_it_stands = f"EF2.{shut_off.id}" if facts.can_isolate else f"C1F.{shut_off.id}"
    yield runs(
        desk,
        shut_off,
        needs=[f"IN1.{shut_off.id}", one_of(as_it_stands, f"IN2.{shut_off.id}")],
    )
    yield disconnected(desk, shut_off, needs=[f"IN3.{shut_off.id}"])
    yield tapping(desk, shut_off, needs=[f"IN4.{shut_off.id}"])


def _start(desk: Desk, shut_off: ShutOff) -> list[Needs]:
    """Return what the pump needs; while consumers stay connected it comes before any screw is raised."""
    facts = desk.facts
    told = "A8" if has_alarm(desk) else "A3"
    if facts.can_isolate:
        ready = e_settings.reducer_ready(facts.last_reducer)
        return [told, "C5", ready, one_of(f"EF2.{shut_off.id}", f"C1S.{shut_off.id}")]
    at_rest = [one_of(f"C1F.{valve.id}", f"C1S.{valve.id}") for valve in facts.pilots]
    return [told, "C5", f"D4.{shut_off.id}", *at_rest]


def opened(desk: Desk) -> dict[tuple[str, str], list[str]]:
    """Return the steps that each option of E0 opens in this table."""
    shut_off = desk.facts.proved
    if shut_off is None or desk.facts.is_live:
        return {}
    return {(shut_off.id, SET): [f"IN2.{shut_off.id}"]}


def connected(desk: Desk, shut_off: ShutOff, *, needs: list[Needs], base: str = "IN1") -> Node:
    """Return the pump connected in place of the sensing line."""
    return desk.node(
        base,
        shut_off.id,
        needs=needs,
        do=("told", *(("shared",) if desk.facts.shares_sensing else ()), "root", "connect", "coverage"),
        inputs=(*yes_no("tagged"), *noted("coverage")),
        out=("injected",),
        hazards=(("consumers", "consumers_cut"), ("pressure", "pumped")),
        text="IN1",
        over=desk.pilot(shut_off),
        opens=of(shut_off, "root_shut"),
    )


def _set(desk: Desk, shut_off: ShutOff) -> Node:
    connected_on = not desk.facts.can_isolate
    return desk.node(
        "IN2",
        shut_off.id,
        needs=[f"IN1.{shut_off.id}", f"C1S.{shut_off.id}"],
        do=(*(("raise",) if connected_on else ()), "pump", "lower", released(desk), "nut"),
        inputs=(
            desk.read("T3", "act", instrument=SETTING_GAUGE, still=False),
            measured("turns", "turns", "count"),
            measured("height", "length", "rule"),
            *yes_no("acted"),
        ),
        bands={"act": "trip_held.T3"},
        otherwise=(("nothing", is_no("acted")),),
        refuses=(counting.lowered_to_trip(desk, shut_off),),
        out=("injected",),
        hazards=(("pressure", "pumped"), ("consumers", "consumers_cut"), ("surge", "shut_off_stroke")),
        over=desk.pilot(shut_off),
        touches=of(shut_off, "setting", "nut"),
        opens=of(shut_off, "out_of_way") if connected_on else (),
        raises=("sensing",),
    )


def pump_edge(desk: Desk) -> float:
    """Return how far the pump goes without action: the trip's upper edge; it raises no pipe. [Pa]"""
    return desk.numbers.target_reading.get("trip_high", f_trip.upper_edge(desk))


def released(desk: Desk) -> str:
    """Return the text that brings the shut-off back between runs: drains open, so that nothing rushes."""
    return "IN3.release_between" if desk.facts.drain_between is not None else "IN3.release"


def closing_band(desk: Desk) -> dict[str, Band]:
    """Return the band of the closing time; none where the flow at which it closes is not known.

    Behind a shut inlet valve, or past an outlet valve that leaks, the stroke is not that of the trickle.
    """
    facts = desk.facts
    known = facts.can_isolate and not facts.shares_sensing
    return {"closing": "closing.time"} if known else {}


def runs(desk: Desk, shut_off: ShutOff, *, needs: list[Needs], base: str = "IN3") -> Node:
    """Return rising runs by pump on the real valve."""
    facts = desk.facts
    numbers = range(1, RUNS + 1)
    middles = ["mid", *(f"mid.{number}" for number in numbers[1:])]
    checks: list[tuple[str, Expression]] = [
        ("no_action", {"gt": [{"value": "hold"}, pump_edge(desk)]}),
        ("pilot_only", is_no("acted")),
        ("scatter", f_trip.scattered(shut_off, [{"value": name} for name in middles])),
    ]
    return desk.node(
        base,
        shut_off.id,
        needs=needs,
        do=("raise", "clock", released(desk), "repeat"),
        inputs=(
            *(one for number in numbers for one in f_trip.run_inputs(desk, number)),
            measured("closing", "time", "stopwatch"),
            *desk.reads("T1", "T3"),
            measured("flow", "flow", facts.flow_instrument),
            *yes_no("acted"),
        ),
        bands={**dict.fromkeys(middles, f_trip.trip_band(shut_off)), **closing_band(desk)},
        otherwise=checks,
        out=("injected",),
        hazards=(
            ("pressure", "pumped"),
            ("consumers", "consumers_cut"),
            ("surge", "shut_off_stroke"),
            ("surge", "rush"),
        ),
        over=desk.pilot(shut_off),
        proves=of(shut_off, "acts", "closing", "trip"),
        depends_on=(*shut_off_things(facts, shut_off), *refusing.gauges(desk)),
        raises=("sensing",),
        refuses=refusing.runs(desk, shut_off, numbers),
    )


def disconnected(desk: Desk, shut_off: ShutOff, *, needs: list[Needs], base: str = "IN4") -> Node:
    """Return the root cock open again, seen by the gauge that follows the outlet."""
    return desk.node(
        base,
        shut_off.id,
        needs=needs,
        do=("off", "open", *(("inlet",) if desk.facts.shares_sensing else ()), "follow"),
        inputs=yes_no("follows"),
        otherwise=(("blind", is_no("follows")),),
        out=("injected", "trickle"),
        hazards=(("pressure", "trapped"), ("surge", "rush")),
        text="IN4",
        over=desk.pilot(shut_off),
        restores=of(shut_off, "root_shut"),
    )


def tapping(desk: Desk, shut_off: ShutOff, *, needs: list[Needs], base: str = "IN5") -> Node:
    """Return the look at the hole in the pipe, which a pump does not test."""
    return desk.node(
        base,
        shut_off.id,
        needs=needs,
        do=("crack", "why"),
        inputs=yes_no("brisk"),
        otherwise=(("weak", is_no("brisk")),),
        out=("trickle",),
        hazards=(("pressure", "trapped"),),
        text="IN5",
        over=desk.pilot(shut_off),
        proves=of(shut_off, "sees"),
        depends_on=shut_off_things(desk.facts, shut_off),
    )
