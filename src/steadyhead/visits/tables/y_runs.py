"""Runs of a yearly proof: the first as found, then two more, three where the shut-off was opened."""

from __future__ import annotations

from collections.abc import Mapping

from steadyhead.records.parts import ShutOff
from steadyhead.records.procedure import Expression, Node, Refusal
from steadyhead.visits.tables import counting, d_static, f_trip, guarding, injection, refusing, relieving
from steadyhead.visits.tables import defaults as d
from steadyhead.visits.tables.desk import (
    Band,
    Desk,
    Needs,
    Tag,
    is_no,
    measured,
    noted,
    outside,
    rises,
    told_there,
    yes_no,
)
from steadyhead.visits.tables.names import of, shut_off_things


def watched(desk: Desk, node: Node) -> Node:
    """Return a raising step that watches the consumer side where no pump has tried the outlet valve."""
    facts = desk.facts
    if not facts.can_isolate:
        return node
    if facts.has_pump:
        return relieving.beyond(desk, node)
    return d_static.watching(desk, node)


def judged_as_found(desk: Desk) -> list[tuple[str, Expression]]:
    """Return how the first run is judged: no proof outside the trip's own edges, drifted inside them."""
    reading = desk.numbers.target_reading
    checks: list[tuple[str, Expression]] = [("Y4.out_of_band", outside("mid"))]
    if {"trip_low", "trip_high"} <= set(reading):
        held: Expression = {
            "all": [
                {"ge": [{"value": "mid"}, reading["trip_low"]]},
                {"le": [{"value": "mid"}, reading["trip_high"]]},
            ]
        }
        checks = [("Y4.out_of_band", {"all": [held, outside("mid")]})]
        lost: Expression = {
            "any": [
                {"lt": [{"value": "mid"}, reading["trip_low"]]},
                {"gt": [{"value": "mid"}, reading["trip_high"]]},
            ]
        }
        checks.insert(0, ("Y4.not_valid", lost))
    return checks


def _wide(shut_off: ShutOff) -> tuple[str, Expression]:
    """Return what is told of a first run raised in large steps: nobody runs it again."""
    return "Y4.wide", refusing.wide(shut_off, {"value": "hold"}, {"value": "act"})


def first(desk: Desk, shut_off: ShutOff, needs: list[Needs]) -> Node:
    """Return the first rising run of the day."""
    facts = desk.facts
    reducer = facts.last_reducer
    roles = [role for role in ("T1", *facts.inner, "T3") if facts.has_tap(role)]
    told = shut_off.limit_switch is not None
    checks: list[tuple[str, Expression]] = [
        ("F1.no_action", {"gt": [{"value": "hold"}, f_trip.upper_edge(desk)]}),
        *judged_as_found(desk),
        _wide(shut_off),
        ("F2.climbs", rises("T3", "T3.watch", d.STILL_BAND.si)),
        ("F2.time", outside("closing")),
        *([("G1.wrong", is_no("right"))] if told else []),
    ]
    node = desk.node(
        "Y4",
        shut_off.id,
        needs=needs,
        do=(
            "first",
            "F1.raise",
            "F1.hold",
            "F1.note",
            "F2.clock_t2" if facts.beside else "F2.clock",
            "F2.watch",
            *(("told",) if told else ()),
        ),
        inputs=(
            *f_trip.run_inputs(desk),
            measured("closing", "time", "stopwatch"),
            *f_trip.stroke_inputs(desk, roles),
            *(desk.read(role, still=False) for role in roles),
            desk.read("T3", "T3.watch", still=False),
            measured("turns", "turns", "count"),
            *(told_there() if told else ()),
        ),
        bands={
            "mid": "trip_mid.T3",
            "closing": "closing.time",
            **f_trip.stroke_bands(desk, roles),
        },
        otherwise=checks,
        out=("raised", "tripped_between" if facts.is_downstream else "tripped"),
        hazards=(("pressure", "raised"), ("surge", "shut_off_stroke"), ("consumers", "consumers_high")),
        over={**desk.pilot(reducer), **desk.pilot(shut_off)},
        touches=of(reducer, "setting"),
        proves=(*of(shut_off, "as_found"), *(of(shut_off, "told") if told else ())),
        depends_on=of(shut_off, "switch", "cable", "alarm_text") if told else (),
        opens=of(reducer, "raised", "seal"),
        raises=("outlet",),
        refuses=(
            *refusing.first_of_day(desk, shut_off),
            *refusing.runs(desk, shut_off, (1,), edge=f_trip.upper_edge(desk), found=True),
            *refusing.driven(desk, shut_off, inlet="T1.start"),
            *refusing.closing(desk, shut_off),
            *counting.raised_to_act(desk, reducer, _begun(desk)),
            *(refusing.true_motion(desk, shut_off, "") if told else ()),
            *(refusing.as_on_screen(desk, shut_off) if told else ()),
            *(refusing.in_time(desk, shut_off, "told_at", {"time": "act"}) if told else ()),
        ),
    )
    return watched(desk, node)


def _begun(desk: Desk) -> Expression:
    """Return the reading the first raise begins at: trickle as found, or where a relief valve reseated."""
    ends: list[Expression] = [{"value": [f"Y3S.{one.id}", "reseat"]} for one in desk.facts.reliefs_proved]
    return {"max": [{"value": ["Y3", "trickle"]}, *ends]}


def first_by_pump(desk: Desk, shut_off: ShutOff, needs: list[Needs]) -> Node:
    """Return the first run of the day by pump; consumers feel it where they stay connected."""
    facts = desk.facts
    told = shut_off.limit_switch is not None
    checks: list[tuple[str, Expression]] = [
        ("IN3.no_action", {"gt": [{"value": "hold"}, injection.pump_edge(desk)]}),
        *judged_as_found(desk),
        _wide(shut_off),
        ("IN3.pilot_only", is_no("acted")),
        *([("G1.wrong", is_no("right"))] if told else []),
    ]
    in_service = not facts.can_isolate
    band: Mapping[str, Band] = injection.closing_band(desk)
    if in_service and not facts.shares_sensing:
        band = {"closing": "closing_service.time"}
    stroke: tuple[Tag, str] = ("surge", stroke_caution(desk) if in_service else "shut_off_stroke")
    return desk.node(
        "Y4",
        shut_off.id,
        needs=needs,
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
            *f_trip.run_inputs(desk),
            measured("closing", "time", "stopwatch"),
            *desk.reads("T1", "T3"),
            measured("flow", "flow", facts.flow_instrument),
            *yes_no("acted"),
            *(told_there() if told else ()),
        ),
        bands={"mid": "trip_mid.T3", **band},
        otherwise=checks,
        out=("injected",),
        hazards=(("pressure", "pumped"), ("consumers", "consumers_cut"), stroke),
        text="Y4i",
        over=desk.pilot(shut_off),
        proves=(*of(shut_off, "as_found"), *(of(shut_off, "told") if told else ())),
        depends_on=of(shut_off, "switch", "cable", "alarm_text") if told else (),
        opens=of(shut_off, "root_shut"),
        raises=("sensing",),
        refuses=(
            *refusing.first_of_day(desk, shut_off, own_step=f"Y4.{shut_off.id}"),
            *refusing.runs(desk, shut_off, (1,), found=True),
            *(refusing.true_motion(desk, shut_off, "") if told else ()),
            *(refusing.as_on_screen(desk, shut_off) if told else ()),
            *(refusing.in_time(desk, shut_off, "told_at", {"time": "act"}) if told else ()),
        ),
    )


def stroke_caution(desk: Desk) -> str:
    """Return the caution of a stroke at the flow of the hour; with its bound where the main is described."""
    return "stroke_service" if "stop_surge" in desk.words else "stroke_service_plain"


def recovery(desk: Desk) -> list[str]:
    """Return the texts that bring the shut-off back after a run on the raised line."""
    facts = desk.facts
    group = "DS6" if facts.is_downstream else "ES5"
    reset = "by_itself" if facts.resets_itself else "by_hand"
    return [
        f"{group}.{name}"
        for name in (
            "lower",
            *(("drains",) if facts.is_downstream else ()),
            reset,
            *(("stage",) if facts.is_pair and not facts.is_downstream else ()),
            "refill",
        )
    ]


def _runs(shut_off: ShutOff, *, opened: bool) -> tuple[tuple[int, ...], list[Expression]]:
    """Return the numbers of the runs of a step, and the middles that are held against each other.

    A first run within a wide interval has no middle to hold the others against: the trip lay inside, no more.
    """
    numbers = (2, 3, 4) if opened else (2, 3)
    read: list[Expression] = [{"value": f"mid.{number}"} for number in numbers]
    if not opened:
        y4 = f"Y4.{shut_off.id}"
        hold, act, second = {"value": [y4, "hold"]}, {"value": [y4, "act"]}, {"value": "mid.2"}
        inside: Expression = {"max": [hold, {"min": [act, second]}]}
        read.insert(0, {"if": [refusing.wide(shut_off, hold, act), inside, {"value": [y4, "mid"]}]})
    return numbers, read


def _apart(desk: Desk, shut_off: ShutOff, *, opened: bool) -> tuple[Refusal, ...]:
    """Return why further runs are none of one proof with the first: the shut-off was worked between them."""
    if opened:
        return ()
    steps = (f"Y4.{shut_off.id}", "Y5", f"Y6.{shut_off.id}")
    return (guarding.apart(desk, shut_off, [steps[0], "act"], "hold.2", steps),)


def _anew(*, told: bool, opened: bool) -> tuple[str, ...]:
    """Return what more the runs of a shut-off that was opened prove."""
    return (*(("accepted",) if opened else ()), *(("told",) if told else ()))


def more(desk: Desk, shut_off: ShutOff, needs: list[Needs], *, opened: bool) -> Node:
    """Return the further rising runs; opened: the shut-off was touched, the first run counts no more."""
    facts = desk.facts
    reducer = facts.last_reducer
    numbers, read = _runs(shut_off, opened=opened)
    middles = [f"mid.{number}" for number in numbers]
    told = opened and shut_off.limit_switch is not None
    node = desk.node(
        "Y6T" if opened else "Y6",
        shut_off.id,
        needs=needs,
        do=("F1.raise", "F1.hold", *(("Y4.told",) if told else ()), "spread", *recovery(desk)),
        inputs=(
            *(one for number in numbers for one in f_trip.run_inputs(desk, number)),
            *(measured(f"closing.{number}", "time", "stopwatch") for number in numbers),
            *f_trip.beside_runs(desk, numbers, inlet=False),
            *(told_there() if told else ()),
        ),
        bands=dict.fromkeys(middles, "trip_mid.T3")
        | {f"closing.{number}": "closing.time" for number in numbers},
        otherwise=(
            ("F3.scatter", f_trip.scattered(shut_off, read)),
            ("F5.adjust", {"any": [outside(name) for name in middles]}),
            ("F2.time", {"any": [outside(f"closing.{number}") for number in numbers]}),
            *((("G1.wrong", is_no("right")),) if told else ()),
        ),
        out=("raised", "tripped_between" if facts.is_downstream else "tripped"),
        hazards=(("pressure", "raised"), ("surge", "shut_off_stroke"), ("surge", "rush")),
        text="Y6",
        title="title_opened" if opened else "title",
        over={**desk.pilot(reducer), **desk.pilot(shut_off)},
        touches=of(reducer, "setting"),
        proves=of(shut_off, "acts", "closing", "trip", *_anew(told=told, opened=opened)),
        depends_on=(
            *f_trip.trip_rests_on(desk, shut_off),
            *(of(shut_off, "switch", "cable", "alarm_text") if told else ()),
        ),
        opens=of(reducer, "raised"),
        raises=("outlet",),
        refuses=(
            *_apart(desk, shut_off, opened=opened),
            *refusing.runs(desk, shut_off, numbers, edge=f_trip.upper_edge(desk), peaks=True),
            *(refusing.as_on_screen(desk, shut_off) if told else ()),
            *(refusing.in_time(desk, shut_off, "told_at", {"time": f"act.{numbers[-1]}"}) if told else ()),
        ),
    )
    return watched(desk, node)


def more_by_pump(desk: Desk, shut_off: ShutOff, needs: list[Needs], *, opened: bool) -> Node:
    """Return the further runs by pump, consumers cut off, and the root cock open again."""
    numbers, read = _runs(shut_off, opened=opened)
    return desk.node(
        "Y6T" if opened else "Y6",
        shut_off.id,
        needs=needs,
        do=(
            "IN3.raise",
            injection.released(desk),
            "Y6.spread_pump",
            "IN4.off",
            "IN4.open",
            *(("IN4.inlet",) if desk.facts.shares_sensing else ()),
            "IN4.follow",
            "IN5.crack",
        ),
        inputs=(
            *(one for number in numbers for one in f_trip.run_inputs(desk, number)),
            *yes_no("follows", "brisk"),
        ),
        bands=dict.fromkeys((f"mid.{number}" for number in numbers), "trip_mid.T3"),
        otherwise=(
            ("IN3.scatter", f_trip.scattered(shut_off, read)),
            ("IN4.blind", is_no("follows")),
            ("IN5.weak", is_no("brisk")),
        ),
        out=("injected",),
        hazards=(("pressure", "pumped"), ("consumers", "consumers_cut"), ("surge", "rush")),
        text="Y6i",
        title="title_opened" if opened else "title",
        over=desk.pilot(shut_off),
        proves=of(shut_off, "acts", "trip", "sees", *_anew(told=False, opened=opened)),
        depends_on=(*shut_off_things(desk.facts, shut_off), *refusing.gauges(desk)),
        restores=of(shut_off, "root_shut"),
        raises=("sensing",),
        refuses=(*_apart(desk, shut_off, opened=opened), *refusing.runs(desk, shut_off, numbers)),
    )


def inlet_shut(desk: Desk, shut_off: ShutOff) -> Node:
    """Return the inlet shut after the one full stroke, consumers connected: no rush at the reset."""
    return desk.node(
        "Y5",
        needs=[f"Y4.{shut_off.id}"],
        do=("inlet", *(("B1.second",) if desk.facts.inlet_passes else ()), "reset", "due"),
        inputs=(*desk.reads("T1", "T3"), measured("turns", "turns", "count"), *noted("touched")),
        refuses=(counting.moved(desk, desk.facts.inlet_valve),),
        out=("injected",),
        hazards=(("surge", "surge_close"), ("consumers", "consumers_cut")),
        text="Y5s",
        over=desk.pilot(shut_off),
        opens=("inlet_down",),
    )


def pilot_only(desk: Desk, shut_off: ShutOff) -> Node:
    """Return two more runs that move the pilot alone, inlet shut, and the root cock open again."""
    numbers, read = _runs(shut_off, opened=False)
    return desk.node(
        "Y6",
        shut_off.id,
        needs=["Y5"],
        do=(
            "only",
            *(("F1.tell_tale",) if desk.facts.tell_tale else ()),
            "IN3.raise",
            "again",
            "IN4.off",
            "IN4.open",
        ),
        inputs=(*(one for number in numbers for one in f_trip.run_inputs(desk, number)), *yes_no("moved")),
        bands=dict.fromkeys((f"mid.{number}" for number in numbers), "trip_mid.T3"),
        otherwise=(("IN3.scatter", f_trip.scattered(shut_off, read)), ("unseen", is_no("moved"))),
        out=("injected",),
        hazards=(("pressure", "pumped"),),
        text="Y6s",
        over=desk.pilot(shut_off),
        proves=of(shut_off, "switches"),
        depends_on=of(shut_off, "setting", "nut", "pilot", "spring"),
        restores=of(shut_off, "root_shut"),
        raises=("sensing",),
        refuses=(*_apart(desk, shut_off, opened=False), *refusing.runs(desk, shut_off, numbers)),
    )
