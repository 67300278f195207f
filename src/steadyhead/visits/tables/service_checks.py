"""Checks with the consumers connected: heated water that expands, a field valve that moves fast."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.findings import Amount
from steadyhead.records.plan_numbers import Warmed
from steadyhead.records.procedure import Expression, Input, Node
from steadyhead.visits.reliefs import pump_stop
from steadyhead.visits.tables import defaults as d
from steadyhead.visits.tables.desk import Desk, Needs, is_no, is_yes, measured, rises, yes_no
from steadyhead.visits.tables.names import of
from steadyhead.visits.tables.wording import as_read, pressure


def nodes(desk: Desk, needs: list[Needs]) -> Iterator[Node]:
    """Yield J3T where water is heated behind the station, J3F where field valves are fed."""
    if desk.facts.is_heated:
        yield _heated(desk, needs)
    if desk.facts.is_seasonal:
        yield _field_valve(desk, needs)


def ids(desk: Desk) -> list[str]:
    """Return the ids of these steps."""
    facts = desk.facts
    return [*(["J3T"] if facts.is_heated else []), *(["J3F"] if facts.is_seasonal else [])]


def _heated(desk: Desk, needs: list[Needs]) -> Node:
    facts = desk.facts
    reliefs = facts.layout.reliefs
    vessels = (*(vessel.id for vessel in facts.vessels), *facts.served)
    limit = _most(desk)
    hot = desk.numbers.warmed
    words: dict[str, Amount | str | int] = {
        **_rise(hot),
        "vessels": ", ".join(vessels),
        "reliefs": ", ".join(relief.id for relief in reliefs),
        **({"most": pressure(limit)} if limit is not None else {}),
    }
    checks: list[tuple[str, Expression]] = [("draws", is_yes("draws"))]
    checks.append(("passes", rises("T3.off", "T3.still", d.STILL_BAND.si)))
    if hot is not None and hot.taken_up:
        checks.append(("more", rises("T3.still", "T3.on", hot.ends - hot.starts + d.STILL_BAND.si)))
    if limit is not None:
        high = "high" if vessels else "high_none"
        checks.append((high, {"gt": [{"value": "T3.on"}, limit]}))
    if reliefs:
        checks.append(("weeps", is_yes("weeps")))
    return desk.node(
        "J3T",
        needs=needs,
        do=(
            "quiet",
            "off",
            "on",
            "vessel" if vessels else "no_vessel",
            *(("expected" if hot.taken_up else "expected_none",) if hot is not None else ()),
            *(("relief",) if reliefs else ()),
        ),
        inputs=(
            *(desk.read("T3", name, still=False) for name in ("T3.off", "T3.still", "T3.on")),
            *desk.reads("T4", suffix="last"),
            *_flow(desk),
            *yes_no("draws", *(("weeps",) if reliefs else ())),
        ),
        otherwise=checks,
        out=("in_service",),
        hazards=(("pressure", "heated"),),
        over=words,
        proves=("station.expansion",),
        depends_on=tuple(name for vessel in vessels for name in of(vessel, "gas", "cock")),
    )


def _rise(hot: Warmed | None) -> dict[str, Amount | str | int]:
    """Return the words of what heating brings."""
    if hot is None:
        return {}
    return {
        "heat_starts": pressure(hot.starts),
        "heat_ends": pressure(hot.ends),
        "heat_rise": pressure(hot.ends - hot.starts),
        "per_kelvin": pressure(hot.per_kelvin),
    }


def _flow(desk: Desk) -> tuple[Input, ...]:
    return (measured("flow", "flow", "meter"),) if desk.facts.has_meter else ()


def _most(desk: Desk) -> float | None:
    """Return the reading that heating must not bring: where a relief valve may lift, else the alarm. [Pa]"""
    facts = desk.facts
    relief, alarm = pump_stop(facts.layout), facts.station.alarm
    if relief is not None:
        return as_read(facts, "T3", relief)
    return as_read(facts, "T3", alarm.pressure.si) if alarm is not None else None


def _field_valve(desk: Desk, needs: list[Needs]) -> Node:
    facts = desk.facts
    trips = facts.shut_off is not None
    checks: list[tuple[str, Expression]] = [("swings", is_no("stable"))]
    if trips:
        checks.insert(0, ("H5.trips", is_yes("trips")))
    return desk.node(
        "J3F",
        needs=needs,
        do=("choose", "move", "read"),
        inputs=(
            desk.read("T3", "high", still=False),
            desk.read("T3", "low", still=False),
            measured("moves", "time", "stopwatch"),
            measured("settles", "time", "stopwatch"),
            *yes_no("stable", *(("trips",) if trips else ())),
        ),
        otherwise=checks,
        out=("in_service",),
        hazards=(("surge", "surge_step"), ("consumers", "consumers_low")),
        proves=("station.field_step",),
        depends_on=("station.response",),
    )
