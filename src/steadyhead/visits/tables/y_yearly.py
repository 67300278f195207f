"""Table Y: the yearly proof of a station in service, as found first."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.procedure import Expression, Node
from steadyhead.visits.facts import trip_repeatability
from steadyhead.visits.tables import d_static, f_trip, g_alarm, h_performance, two_reducers
from steadyhead.visits.tables import defaults as d
from steadyhead.visits.tables.a_preconditions import has_alarm
from steadyhead.visits.tables.desk import (
    SETTING_GAUGE,
    Desk,
    Needs,
    Tag,
    falls,
    is_no,
    measured,
    noted,
    outside,
    rises,
    yes_no,
)
from steadyhead.visits.tables.names import of, shut_off_things


def nodes(desk: Desk) -> Iterator[Node]:
    """Yield Y1 to Y8 as far as this station has something to prove."""
    yield _arrive(desk)
    yield _cut_off(desk) if desk.facts.can_isolate else _in_service(desk)
    yield _as_found(desk)
    tested = list(_tests(desk))
    yield from tested
    last = tested[-1].id
    raised = {item.rsplit(".", 1)[0] for node in tested for item in node.opens if item.endswith(".raised")}
    for reducer in desk.facts.reducers:
        if reducer.id in raised:
            yield h_performance.duty(desk, reducer, needs=[last], base="Y7", time="Y7")
            last = f"Y7.{reducer.id}"
    yield _leave(desk, last)


def _is_confined(desk: Desk) -> bool:
    identity = desk.facts.station.station
    return identity.kind == "utility chamber" or "confined space" in identity.hazards


def _arrive(desk: Desk) -> Node:
    facts = desk.facts
    confined, fire, alarm = _is_confined(desk), facts.station.station.fire_water, has_alarm(desk)
    cautions: list[tuple[Tag, str]] = []
    if confined:
        cautions.append(("confined space", "confined"))
    if "traffic" in facts.station.station.hazards:
        cautions.append(("traffic", "traffic"))
    if fire:
        cautions.append(("fire", "fire"))
    return desk.node(
        "Y1",
        do=(
            "first",
            "air" if confined else "air_open",
            "name",
            "gauges",
            "desk" if alarm else "desk_plain",
            *(("fire",) if fire else ()),
            "read",
            "holes",
            "photo",
        ),
        inputs=(
            *(yes_no("air") if confined else ()),
            *desk.reads("T0", "T1", "T2", "T3", "T4"),
            *((measured("flow", "flow", "meter"),) if facts.has_meter else ()),
            *noted("height"),
            measured("photo", "photo", "camera"),
            *yes_no("as_left"),
        ),
        otherwise=(*((("alarm", is_no("air")),) if confined else ()), ("differs", is_no("as_left"))),
        out=("outside",),
        hazards=cautions,
        opens=("gauges_on", *(("alarm_test",) if alarm else ()), *(("fire_cover",) if fire else ())),
    )


def _cut_off(desk: Desk) -> Node:
    facts = desk.facts
    if facts.has_pump:
        proved = "pump" if facts.shut_off is not None else "pump_plain"
    else:
        proved = "no_pump" if facts.has_tap("T4") else "no_pump_blind"
    follows = rises("T4.first", "T4.last", d.STILL_BAND.si)
    leak: Expression = falls("T3.first", "T3.last", d.STILL_BAND.si)
    if facts.has_tap("T4"):
        leak = {"any": [leak, follows]}
    valve = facts.outlet_valve.id
    return desk.node(
        "Y2",
        needs=["Y1"],
        do=("other_feed" if facts.station.zone.other_feed else "outage", "outlet", proved, "inlet"),
        inputs=(
            *yes_no("zone"),
            *(
                (desk.read("T3", "T3.first", still=False), desk.read("T3", "T3.last", still=False))
                if facts.has_pump
                else ()
            ),
            *desk.reads("T4", suffix="first"),
            *desk.reads("T4", suffix="last"),
            measured("turns", "turns", "count"),
        ),
        otherwise=(("falls", is_no("zone")), *((("leaks", leak),) if facts.has_pump else ())),
        out=("closing", "trickle"),
        hazards=(("surge", "surge_close"), ("consumers", "consumers_low"), ("pressure", "pumped")),
        over=d_static.leak_words(desk),
        proves=of(valve, "tight") if facts.has_pump else (),
        depends_on=(*of(valve, "gate"), *of(facts.drain.id, "gate")) if facts.has_pump else (),
        opens=("outlet_shut", "inlet_down"),
        raises=("outlet",) if facts.has_pump else (),
    )


def _in_service(desk: Desk) -> Node:
    return desk.node(
        "Y2",
        needs=["Y1"],
        do=("feed",),
        inputs=yes_no("agreed"),
        otherwise=(("not", is_no("agreed")),),
        out=("in_service",),
        hazards=(("consumers", "consumers_cut"),),
        text="Y2p",
    )


def _as_found(desk: Desk) -> Node:
    facts = desk.facts
    shut = facts.can_isolate
    return desk.node(
        "Y3",
        needs=["Y2"],
        do=("read", "lockup") if shut else ("service",),
        inputs=(
            desk.read("T3", "trickle", instrument=SETTING_GAUGE),
            desk.read("T3", "lockup", instrument=SETTING_GAUGE),
            *yes_no("dry"),
        )
        if shut
        else (desk.read("T3", "service"),),
        bands={"trickle": "trickle.T3", "lockup": "lockup.T3"},
        otherwise=(
            ("drift", {"any": [outside("trickle"), outside("lockup")]}),
            ("flows", is_no("dry")),
        )
        if shut
        else (),
        out=("trickle",) if shut else ("in_service",),
        hazards=(("pressure", "inlet"),) if shut else (),
        proves=of(facts.last_reducer, "as_found"),
    )


def _tests(desk: Desk) -> Iterator[Node]:
    facts = desk.facts
    shut_off = facts.shut_off
    if shut_off is not None:
        yield _first(desk, shut_off) if facts.is_live else _first_by_pump(desk, shut_off)
        yield _due(desk, shut_off)
        yield _more(desk, shut_off) if facts.is_live else _more_by_pump(desk, shut_off)
        return
    last = "Y3"
    is_pair = facts.is_pair and facts.can_isolate
    if is_pair:
        yield two_reducers.alone(desk, needs=[last], base="Y4", time="Y4")
        last = f"Y4.{facts.reducers[1].id}"
        yield _due(desk, None, last)
        last = "Y5"
    if g_alarm.is_tried(desk):
        base = "Y6" if is_pair else "Y4"
        build = g_alarm.by_reducer if facts.can_isolate else g_alarm.by_pump
        yield build(desk, needs=[last], base=base, time=base)
        last = base
    if not is_pair:
        yield _due(desk, None, last)


def _contact(desk: Desk, shut_off: ShutOff) -> bool:
    return shut_off.limit_switch is not None


def _first(desk: Desk, shut_off: ShutOff) -> Node:
    facts = desk.facts
    reducer = facts.last_reducer
    roles = [role for role in ("T1", "T2", "T3") if facts.has_tap(role)]
    told = _contact(desk, shut_off)
    checks: list[tuple[str, Expression]] = [
        ("F1.no_action", {"gt": [{"value": "hold"}, f_trip.upper_edge(desk)]}),
        ("out_of_band", outside("act")),
        ("F2.climbs", rises("T3", "T3.watch", d.STILL_BAND.si)),
        ("F2.time", outside("closing")),
        *([("G1.wrong", is_no("right"))] if told else []),
    ]
    return desk.node(
        "Y4",
        shut_off.id,
        needs=["Y3"],
        do=(
            "first",
            "F1.raise",
            "F1.hold",
            "F1.note",
            "F2.clock_t2" if "T2" in roles else "F2.clock",
            "F2.watch",
            *(("told",) if told else ()),
        ),
        inputs=(
            desk.read("T3", "hold", instrument=SETTING_GAUGE),
            desk.read("T3", "act", instrument=SETTING_GAUGE, still=False),
            measured("closing", "time", "stopwatch"),
            *(desk.read(role, still=False) for role in roles),
            measured("flow", "flow", "meter" if facts.has_meter else "bucket and watch"),
            desk.read("T3", "T3.watch", still=False),
            measured("turns", "turns", "count"),
            *((*yes_no("right"), measured("told_at", "time_of_day", "telephone")) if told else ()),
        ),
        bands={"act": "trip.T3", "closing": "closing.time", **{role: f"after_trip.{role}" for role in roles}},
        otherwise=checks,
        out=("raised", "tripped_between" if facts.is_downstream else "tripped"),
        hazards=(("pressure", "raised"), ("surge", "shut_off_stroke"), ("consumers", "consumers_high")),
        over={**desk.pilot(reducer), **desk.pilot(shut_off)},
        touches=of(reducer, "setting"),
        proves=(*of(shut_off, "as_found"), *(of(shut_off, "told") if told else ())),
        depends_on=of(shut_off, "switch", "cable", "alarm_text") if told else (),
        opens=of(reducer, "raised", "seal"),
        raises=("outlet",),
    )


def _first_by_pump(desk: Desk, shut_off: ShutOff) -> Node:
    facts = desk.facts
    told = _contact(desk, shut_off)
    checks: list[tuple[str, Expression]] = [
        ("IN3.no_action", {"gt": [{"value": "act"}, f_trip.upper_edge(desk)]}),
        ("Y4.out_of_band", outside("act")),
        ("IN3.pilot_only", is_no("acted")),
        *([("G1.wrong", is_no("right"))] if told else []),
    ]
    return desk.node(
        "Y4",
        shut_off.id,
        needs=["Y3"],
        do=(
            "first",
            "IN1.told",
            *(("IN1.shared",) if facts.shares_sensing else ()),
            "IN1.root",
            "IN1.connect",
            "IN1.coverage",
            "IN3.raise",
            "IN3.clock",
            *(("Y4.told",) if told else ()),
        ),
        inputs=(
            *yes_no("tagged"),
            *noted("coverage"),
            desk.read("T3", "act", instrument=SETTING_GAUGE, still=False),
            measured("closing", "time", "stopwatch"),
            *desk.reads("T1", "T3"),
            *yes_no("acted"),
            *((*yes_no("right"), measured("told_at", "time_of_day", "telephone")) if told else ()),
        ),
        bands={"act": "trip.T3", "closing": "closing.time"},
        otherwise=checks,
        out=("injected",),
        hazards=(("pressure", "pumped"), ("consumers", "consumers_cut"), ("surge", "shut_off_stroke")),
        text="Y4i",
        over=desk.pilot(shut_off),
        proves=(*of(shut_off, "as_found"), *(of(shut_off, "told") if told else ())),
        depends_on=of(shut_off, "switch", "cable", "alarm_text") if told else (),
        opens=of(shut_off, "root_shut"),
        raises=("sensing",),
    )


def _recovery(desk: Desk) -> list[str]:
    facts = desk.facts
    group = "DS6" if facts.is_downstream else "ES5"
    reset = "by_itself" if facts.resets_itself else "by_hand"
    return [
        f"{group}.{name}"
        for name in ("lower", *(("drains",) if facts.is_downstream else ()), reset, "refill")
    ]


def _due(desk: Desk, shut_off: ShutOff | None, last: str = "") -> Node:
    facts = desk.facts
    reducer = facts.last_reducer
    back: list[str] = []
    if shut_off is not None and facts.is_live:
        back = _recovery(desk)
    elif shut_off is not None:
        back = ["IN3.release"]
    touched = [
        name
        for valve in facts.valves
        for name in of(valve, "filter" if isinstance(valve, Reducer) else "feed")
    ]
    if facts.layout.strainer is not None:
        touched += of(facts.layout.strainer.id, "element")
    return desk.node(
        "Y5",
        title="title" if shut_off is not None else "title_plain",
        needs=[f"Y4.{shut_off.id}" if shut_off is not None else last],
        do=(*back, *(("due", "vent") if facts.can_isolate else ("due_in_service",))),
        inputs=(
            *(desk.reads("T2", "T3") if shut_off is not None else ()),
            *(yes_no("open") if shut_off is not None else ()),
            *noted("touched"),
        ),
        otherwise=(("stays", is_no("open")),) if shut_off is not None else (),
        out=("isolated",) if facts.can_isolate else ("in_service",),
        hazards=(("pressure", "trapped"), *((("surge", "rush"),) if shut_off is not None else ())),
        over={**desk.pilot(reducer), **(desk.pilot(shut_off) if shut_off is not None else {})},
        touches=(
            *(touched if facts.can_isolate else ()),
            *(of(reducer, "setting") if back and facts.is_live else ()),
        ),
    )


def _more(desk: Desk, shut_off: ShutOff) -> Node:
    facts = desk.facts
    reducer = facts.last_reducer
    runs = ("act.2", "act.3")
    first: Expression = {"value": [f"Y4.{shut_off.id}", "act"]}
    read: list[Expression] = [first, *({"value": run} for run in runs)]
    scatter: Expression = {
        "gt": [{"sub": [{"max": read}, {"min": read}]}, 2.0 * trip_repeatability(shut_off)]
    }
    back = _recovery(desk)
    return desk.node(
        "Y6",
        shut_off.id,
        needs=["Y5"],
        do=("F1.raise", "F1.hold", "touched", "spread", *back),
        inputs=(
            *(desk.read("T3", run, instrument=SETTING_GAUGE, still=False) for run in runs),
            measured("closing.2", "time", "stopwatch"),
            measured("closing.3", "time", "stopwatch"),
        ),
        bands=dict.fromkeys(runs, "trip.T3") | {f"closing.{run}": "closing.time" for run in (2, 3)},
        otherwise=(("F3.scatter", scatter), ("F5.adjust", {"any": [outside(run) for run in runs]})),
        out=("raised", "tripped_between" if facts.is_downstream else "tripped"),
        hazards=(("pressure", "raised"), ("surge", "shut_off_stroke"), ("surge", "rush")),
        over={**desk.pilot(reducer), **desk.pilot(shut_off)},
        touches=of(reducer, "setting"),
        proves=of(shut_off, "acts", "closing", "trip"),
        depends_on=f_trip.trip_rests_on(desk, shut_off),
        opens=of(reducer, "raised"),
        raises=("outlet",),
    )


def _more_by_pump(desk: Desk, shut_off: ShutOff) -> Node:
    runs = ("act.2", "act.3")
    first: Expression = {"value": [f"Y4.{shut_off.id}", "act"]}
    read: list[Expression] = [first, *({"value": run} for run in runs)]
    scatter: Expression = {
        "gt": [{"sub": [{"max": read}, {"min": read}]}, 2.0 * trip_repeatability(shut_off)]
    }
    return desk.node(
        "Y6",
        shut_off.id,
        needs=["Y5"],
        do=(
            "more",
            "IN3.raise",
            "IN3.release",
            "IN4.off",
            "IN4.open",
            *(("IN4.inlet",) if desk.facts.shares_sensing else ()),
            "IN4.follow",
            "IN5.crack",
        ),
        inputs=(
            *(desk.read("T3", run, instrument=SETTING_GAUGE, still=False) for run in runs),
            *yes_no("follows", "brisk"),
        ),
        bands=dict.fromkeys(runs, "trip.T3"),
        otherwise=(
            ("IN3.scatter", scatter),
            ("IN4.blind", is_no("follows")),
            ("IN5.weak", is_no("brisk")),
        ),
        out=("injected",),
        hazards=(("pressure", "pumped"), ("consumers", "consumers_cut"), ("surge", "rush")),
        text="Y6i",
        over=desk.pilot(shut_off),
        proves=of(shut_off, "acts", "trip", "sees"),
        depends_on=shut_off_things(desk.facts, shut_off),
        restores=of(shut_off, "root_shut"),
        raises=("sensing",),
    )


def _leave(desk: Desk, last: Needs) -> Node:
    facts = desk.facts
    shut, fire, alarm = facts.can_isolate, facts.station.station.fire_water, has_alarm(desk)
    drains = "drains" if facts.drain_between is not None else "drain"
    return desk.node(
        "Y8",
        needs=[last],
        do=(
            *(("inlet", drains) if shut else ()),
            "cocks",
            *(("shared",) if facts.shares_sensing else ()),
            "desk" if alarm else "desk_plain",
            *(("fire",) if fire else ()),
            "night",
        ),
        inputs=(
            *desk.reads("T1", "T3", "T4"),
            measured("turns", "turns", "count"),
            *yes_no("twice"),
            measured("photo", "photo", "camera"),
        ),
        otherwise=(("not", is_no("twice")),),
        out=("opening",) if shut else ("in_service",),
        hazards=(("surge", "surge_close"), ("consumers", "consumers_open")),
        restores=(
            "gauges_on",
            *(("outlet_shut", "inlet_down") if shut else ()),
            *(("alarm_test",) if alarm else ()),
            *(("fire_cover",) if fire else ()),
            *(name for reducer in facts.reducers for name in of(reducer, "seal")),
        ),
    )
