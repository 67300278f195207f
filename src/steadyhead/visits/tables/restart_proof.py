"""The trip proved in a restart: one run, and all of F and G where the alarm came without a trip."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from steadyhead.records.procedure import Node
from steadyhead.visits.tables import (
    counting,
    d_static,
    e_settings,
    f_trip,
    g_alarm,
    h_performance,
    injection,
    monitoring,
    relieving,
    vessels,
)
from steadyhead.visits.tables.a_preconditions import has_alarm
from steadyhead.visits.tables.desk import (
    Desk,
    Needs,
    is_no,
    measured,
    noted,
    one_of,
    yes_no,
    zone_falls,
    zone_held,
)
from steadyhead.visits.tables.restart import Trip


@dataclass(frozen=True)
class Beside:
    """What streams that share a shut-off add: others isolated before each test, and all of them back.

    alone: steps that leave one line alone, by its stream; back: makes the steps that bring the others back;
    items: restore items of both.
    """

    alone: Mapping[str, tuple[Node, ...]] = field(default_factory=dict)
    back: Callable[[Needs], tuple[Node, ...]] = lambda needs: ()
    items: tuple[str, ...] = ()


def proof(trip: Trip, beside: Beside) -> tuple[list[Node], tuple[str, ...]]:
    """Return the trip proved, and those of its steps that only an alarm without a trip asks for.

    The last step of them is R8P.
    """
    desk, facts, shut_off = trip.desk, trip.desk.facts, trip.shut_off
    found = [_cut_off_for_proof(trip, beside)]
    last: list[Needs] = ["R8C"]
    if has_alarm(desk):
        found.append(_on_test(desk))
        last.append("A8")
    for vessel in facts.vessels if facts.is_whole else ():
        found.append(vessels.charge(desk, vessel, needs=[last[0]], state="trickle"))
        last.append(found[-1].id)
    if facts.can_isolate:
        pumped = d_static.by_pump if facts.has_pump else d_static.by_reducer
        found.append(pumped(desk, needs=["R8C"]))
        last.append("D2")
    runs = _live(trip, last) if facts.is_live else _by_pump(trip, last)
    found += runs
    told = list(g_alarm.switch(desk, shut_off)) if shut_off.limit_switch is not None else []
    found += told
    back = f_trip.recovery_id(desk, shut_off) if facts.is_live else f"IN5.{shut_off.id}"
    ends: list[Needs] = [one_of(back, f"F5.{shut_off.id}")]
    ends += [one_of(*(node.id for node in told))] if told else []
    found += _put_back(desk, ends)
    ends = [found[-1].id] if found[-1].id.startswith(("R4.", "MN1.")) else ends
    items = {name for node in found for name in node.opens}
    for reducer in facts.judged:
        if f"{reducer.id}.raised" in items:
            found.append(h_performance.duty(desk, reducer, needs=ends))
            ends = [found[-1].id]
    back_on = list(vessels.returned(desk, ends))
    found += back_on
    found.append(_proof_done(trip, [node.id for node in back_on] or ends))
    more = ("F3", "F3R", "F3C", "F5", "G2", "G3")
    return found, tuple(node.id for node in found if node.id.split(".")[0] in more)


def _cut_off_for_proof(trip: Trip, beside: Beside) -> Node:
    desk, facts = trip.desk, trip.desk.facts
    others = [node for node in beside.alone.get(trip.stream, ()) if node.opens]
    fed = bool(facts.station.zone.other_feed or facts.others_serve)
    step = desk.node(
        "R8C",
        needs=["R8"],
        do=(
            "Y2.other_feed" if fed else "outage",
            "outlet" if facts.can_isolate else "Y2p.feed",
            "inlet",
            "drain",
        ),
        inputs=(measured("turns", "turns", "count"), *zone_held(fed=fed)),
        otherwise=(("Y2.falls" if fed else "Y2.outage_falls", zone_falls(fed=fed)),),
        refuses=(counting.moved(desk, facts.inlet_valve),),
        out=("trickle",),
        hazards=(("surge", "surge_close"), ("consumers", "consumers_low"), ("pressure", "raised")),
        text="RS8C",
        time="RS8C",
        over=trip.words(),
        opens=("outlet_shut", "inlet_down", *(("other_feed",) if facts.is_fed_otherwise else ())),
    )
    return replace(
        step,
        do=(*step.do, *(message for node in others for message in node.do)),
        opens=(*step.opens, *(name for node in others for name in node.opens)),
    )


def _on_test(desk: Desk) -> Node:
    return desk.node(
        "A8",
        needs=["R8"],
        do=("set",),
        inputs=(*yes_no("confirmed"), *noted("until")),
        otherwise=(("refused", is_no("confirmed")),),
        out=("trickle",),
        opens=("alarm_test",),
    )


def _live(trip: Trip, needs: list[Needs]) -> list[Node]:
    """Return the trip raised to, with what is out of the way for it."""
    desk, shut_off = trip.desk, trip.shut_off
    found = [replace(e_settings.freed(desk, trip.reducer), needs={"all": needs})]
    last: list[Needs] = [found[-1].id]
    for relief in desk.facts.reliefs_shut:
        found.append(relieving.shut(desk, relief, needs=last))
        last = [found[-1].id]
    monitor = desk.facts.monitor
    if monitor is not None and monitor in desk.facts.raised:
        found.append(monitoring.away(desk, monitor, needs=last))
        last = [found[-1].id]
    runs = [f_trip.first_run(desk, shut_off, needs=last)]
    runs.append(f_trip.closing(desk, shut_off, needs=[runs[-1].id]))
    runs.append(f_trip.recovered(desk, shut_off, needs=[runs[-1].id]))
    runs.append(f_trip.more_runs(desk, shut_off, needs=[runs[-1].id]))
    runs.append(f_trip.judged(desk, shut_off, needs=[runs[-1].id]))
    return [*found, *(relieving.beyond(desk, node) for node in runs)]


def _by_pump(trip: Trip, needs: list[Needs]) -> list[Node]:
    desk, shut_off = trip.desk, trip.shut_off
    found = [injection.connected(desk, shut_off, needs=needs)]
    found.append(injection.runs(desk, shut_off, needs=[found[-1].id]))
    found.append(injection.disconnected(desk, shut_off, needs=[found[-1].id]))
    found.append(injection.tapping(desk, shut_off, needs=[found[-1].id]))
    found.append(f_trip.judged(desk, shut_off, needs=[found[-1].id]))
    return found


def _put_back(desk: Desk, needs: list[Needs]) -> list[Node]:
    """Return relief valves and monitor back behind the runs."""
    found: list[Node] = []
    last = needs
    for relief in desk.facts.reliefs_shut:
        found.append(relieving.opened_again(desk, relief, needs=last))
        last = [found[-1].id]
    monitor = desk.facts.monitor
    if monitor is not None and monitor in desk.facts.raised:
        found.append(monitoring.holds(desk, monitor, needs=last, band=monitoring.as_set(desk)))
    return found


def _proof_done(trip: Trip, needs: list[Needs]) -> Node:
    return trip.desk.node(
        "R8P",
        needs=needs,
        do=("stands", "slowly"),
        inputs=yes_no("stands"),
        otherwise=(("not", is_no("stands")),),
        out=("trickle",),
        text="RS8P",
        time="RS8P",
        over=trip.words(),
    )
