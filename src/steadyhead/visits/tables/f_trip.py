"""Table F: the trip proved by raising the line; recovery; what a self-resetting shut-off adds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from steadyhead.records.parts import ShutOff
from steadyhead.records.procedure import Expression, Input, Node
from steadyhead.visits.defaults import HOLD_BAND
from steadyhead.visits.facts import trip_repeatability
from steadyhead.visits.tables import counting, ds_downstream, e_settings, refusing
from steadyhead.visits.tables.defaults import CYCLING, NEAR_TRIP_HOLD, STILL_BAND
from steadyhead.visits.tables.desk import (
    SETTING_GAUGE,
    Band,
    Desk,
    Needs,
    above,
    below,
    by_choice,
    is_no,
    is_yes,
    measured,
    one_of,
    outside,
    rises,
    yes_no,
)
from steadyhead.visits.tables.names import BLED, of, paper_things, shut_off_things
from steadyhead.visits.tables.wording import as_read


def nodes(desk: Desk) -> Iterator[Node]:
    """Yield F1 to F5 for a trip that is proved live; F5 alone where it is proved by injection."""
    facts = desk.facts
    shut_off = facts.proved
    if shut_off is None:
        return
    if facts.is_live:
        yield first_run(desk, shut_off, needs=_start(desk, shut_off))
        yield closing(desk, shut_off, needs=[f"F1.{shut_off.id}"])
        yield recovered(desk, shut_off, needs=[f"F2.{shut_off.id}"])
        yield more_runs(desk, shut_off, needs=[recovery_id(desk, shut_off)])
        yield from _self_resetting(desk, shut_off)
        if facts.wants_fast_run:
            yield _fast(desk, shut_off)
    yield judged(desk, shut_off, needs=[last_run_id(desk, shut_off)])


def recovery_id(desk: Desk, shut_off: ShutOff) -> str:
    """Return the step that brings the shut-off back after a run."""
    return "DS6" if desk.facts.is_downstream else f"F2R.{shut_off.id}"


def last_run_id(desk: Desk, shut_off: ShutOff) -> str:
    """Return the last step whose runs are judged."""
    if not desk.facts.is_live:
        return f"IN4.{shut_off.id}"
    if desk.facts.wants_fast_run:
        return f"F4.{shut_off.id}"
    return f"F3C.{shut_off.id}" if desk.facts.resets_itself else f"F3.{shut_off.id}"


def trip_band(shut_off: ShutOff) -> Band:
    """Return where the middle of a run is expected: pilot as it stands, or set today with the same gauge."""
    return by_choice(shut_off.id, fits="trip_mid.T3", must_be_set="trip_set_mid.T3")


def run_inputs(desk: Desk, number: int = 1) -> tuple[Input, ...]:
    """Return what one run gives: last hold without action, reading at the action, the middle of both."""
    end = f".{number}" if number > 1 else ""
    hold = desk.read("T3", f"hold{end}", instrument=SETTING_GAUGE, still=False)
    return (
        replace(hold, stable_for=NEAR_TRIP_HOLD.si, stable_within=HOLD_BAND.si),
        desk.read("T3", f"act{end}", instrument=SETTING_GAUGE, still=False),
        measured(f"mid{end}", "pressure", "worked out"),
    )


def beside_runs(desk: Desk, numbers: Iterable[int], *, inlet: bool = True) -> Iterator[Input]:
    """Yield what stood beside a further run, for the certificate; inlet and peak may be left out."""
    for number in numbers:
        run: Expression = {"given": f"act.{number}"}
        if inlet and desk.facts.has_tap("T1"):
            yield replace(desk.read("T1", f"T1.start.{number}", still=False), unless=run)
        peak = desk.read("T3", f"peak.{number}", instrument=SETTING_GAUGE, still=False)
        yield replace(peak, unless=run)


def stroke_inputs(desk: Desk, roles: Iterable[str]) -> tuple[Input, ...]:
    """Return what stands at the taps, and runs, as a closing begins: a stopwatch time belongs to it."""
    return (
        *(desk.read(role, f"{role}.start", still=False) for role in roles),
        measured("flow", "flow", desk.facts.flow_instrument),
    )


def stroke_bands(desk: Desk, roles: Iterable[str]) -> dict[str, Band]:
    """Return the questions of the taps ahead of the shut-off as a closing begins, and of all once it is shut.

    What is read behind it as it begins follows the trip as found, which has a band of its own.
    """
    listed = list(roles)
    ahead = [role for role in listed if role == "T1" or (role != "T3" and not desk.facts.is_downstream)]
    return {
        **{f"{role}.start": f"at_trip.{role}" for role in ahead},
        **{role: f"after_trip.{role}" for role in listed},
    }


def scattered(shut_off: ShutOff, read: Iterable[Expression]) -> Expression:
    """Return the predicate: middles of runs lie further apart than twice the repeatability."""
    values = list(read)
    return {"gt": [{"sub": [{"max": values}, {"min": values}]}, 2.0 * trip_repeatability(shut_off)]}


def upper_edge(desk: Desk) -> float:
    """Return the test limit of the outlet as the gauge there reads it; a plan without one is refused. [Pa]"""
    return as_read(desk.facts, "T3", desk.numbers.test_limit["outlet"])


def trip_rests_on(desk: Desk, shut_off: ShutOff) -> tuple[str, ...]:
    """Return what the proof of a trip by raising the line rests on (design handbook 3.3)."""
    return (
        *shut_off_things(desk.facts, shut_off),
        *of(desk.facts.last_reducer, "reach"),
        *run_conditions(desk),
    )


def run_conditions(desk: Desk) -> tuple[str, ...]:
    """Return what stood when a run was made: outlet valve tight, air out, the gauge it was read with."""
    valve = desk.facts.outlet_valve.id
    return (*of(valve, "tight", "gate"), *BLED, *refusing.gauges(desk))


def _middles(desk: Desk, shut_off: ShutOff) -> list[tuple[str, str]]:
    """Return step and name of the middle of each run of a proof."""
    if not desk.facts.is_live:
        return [(f"IN3.{shut_off.id}", name) for name in ("mid", "mid.2", "mid.3")]
    return [(f"F1.{shut_off.id}", "mid"), *((f"F3.{shut_off.id}", f"mid.{n}") for n in (2, 3))]


def _start(desk: Desk, shut_off: ShutOff) -> list[Needs]:
    facts = desk.facts
    set_up = "DS5" if facts.is_downstream else f"ES6.{shut_off.id}"
    return [
        "A8" if desk.facts.station.alarm is not None or shut_off.limit_switch is not None else "A3",
        "D2",
        "C5",
        e_settings.reducer_free(facts.last_reducer),
        one_of(f"EF2.{shut_off.id}", set_up),
        *e_settings.cleared(desk),
    ]


def first_run(desk: Desk, shut_off: ShutOff, *, needs: list[Needs]) -> Node:
    """Return the first rising run."""
    facts = desk.facts
    reducer = facts.last_reducer
    checks: list[tuple[str, Expression]] = [
        ("no_action", {"gt": [{"value": "hold"}, upper_edge(desk)]}),
        ("early", below("mid")),
        ("late", above("mid")),
    ]
    if facts.shares_sensing:
        checks.append(("frozen", is_yes("frozen")))
    return desk.node(
        "F1",
        shut_off.id,
        needs=needs,
        do=("start", "raise", "hold", "tell_tale" if facts.tell_tale else "no_tell_tale", "note"),
        inputs=(
            *desk.reads("T1", "T2"),
            *run_inputs(desk),
            measured("step", "pressure", "setting gauge"),
            measured("turns", "turns", "count"),
            measured("flow", "flow", facts.flow_instrument),
            *(yes_no("frozen") if facts.shares_sensing else ()),
        ),
        bands={"mid": trip_band(shut_off)},
        otherwise=checks,
        out=("raised", "tripped_between" if facts.is_downstream else "tripped"),
        hazards=(("pressure", "raised"), ("surge", "shut_off_stroke"), ("consumers", "consumers_high")),
        over={**desk.pilot(reducer), **desk.pilot(shut_off)},
        touches=of(reducer, "setting"),
        proves=of(shut_off, "acts"),
        depends_on=trip_rests_on(desk, shut_off),
        opens=of(reducer, "raised"),
        raises=("outlet",),
        refuses=(
            *refusing.runs(desk, shut_off, (1,), step=True, edge=upper_edge(desk)),
            *refusing.driven(desk, shut_off),
            *counting.raised_to_act(desk, reducer),
        ),
    )


def closing(desk: Desk, shut_off: ShutOff, *, needs: list[Needs]) -> Node:
    """Return the closing of the first run: time with its pressures, peak, and the watch after it."""
    facts = desk.facts
    roles = [role for role in ("T1", *facts.inner, "T3") if facts.has_tap(role)]
    own = shut_off.closes_by in ("spring", "weight")
    checks: list[tuple[str, Expression]] = [
        ("climbs", rises("T3", "T3.watch", STILL_BAND.si)),
        ("flows", {"gt": [{"abs": {"value": "flow.after"}}, 0.0]}),
        ("time", outside("closing")),
    ]
    if facts.medium_bypasses:
        checks.insert(0, ("medium_climbs", rises("T3", "T3.watch", STILL_BAND.si)))
    if facts.is_downstream:
        checks.append(("t2_climbs", above(facts.beside)))
    return desk.node(
        "F2",
        shut_off.id,
        needs=needs,
        do=(
            "clock_t2" if facts.beside else "clock",
            "by_own" if own else "by_line",
            *(("stage",) if facts.is_pair else ()),
            "peak",
            "watch",
            *(("switch",) if shut_off.limit_switch is not None else ()),
        ),
        inputs=(
            measured("closing", "time", "stopwatch"),
            *stroke_inputs(desk, roles),
            desk.read("T3", "peak", instrument=SETTING_GAUGE, still=False),
            *(desk.read(role, still=False) for role in roles),
            desk.read("T3", "T3.watch", still=False),
            measured("flow.after", "flow", "meter" if facts.has_meter else "eye"),
        ),
        bands={"closing": "closing.time", **stroke_bands(desk, roles)},
        otherwise=checks,
        out=("tripped_between" if facts.is_downstream else "tripped",),
        hazards=(("surge", "shut_off_stroke"), ("pressure", "raised")),
        over={**desk.pilot(shut_off), **e_settings.stage_words(desk)},
        proves=of(shut_off, "closing"),
        depends_on=trip_rests_on(desk, shut_off),
        refuses=refusing.closing(desk, shut_off, first=f"F1.{shut_off.id}"),
    )


def recovered(desk: Desk, shut_off: ShutOff, *, needs: list[Needs]) -> Node:
    """Return the recovery after a run, by layout."""
    if desk.facts.is_downstream:
        return ds_downstream.recovery(desk, shut_off, needs=needs)
    return e_settings.recovery(desk, shut_off, base="F2R", needs=needs, too_soon=False)


def more_runs(desk: Desk, shut_off: ShutOff, *, needs: list[Needs]) -> Node:
    """Return the runs that make the first one a proof."""
    facts = desk.facts
    reducer = facts.last_reducer
    runs = ["mid.2", "mid.3"]
    first = f"F1.{shut_off.id}"
    scatter = scattered(shut_off, [{"value": [first, "mid"]}, *({"value": run} for run in runs)])
    later: Expression = {"max": [{"value": run} for run in runs]}
    first_high: Expression = {
        "all": [
            {"gt": [{"value": [first, "mid"]}, {"add": [later, STILL_BAND.si]}]},
            {"le": [{"abs": {"sub": [{"value": runs[0]}, {"value": runs[1]}]}}, STILL_BAND.si]},
        ]
    }
    band = trip_band(shut_off)
    return desk.node(
        "F3",
        shut_off.id,
        needs=needs,
        do=("repeat", "keep"),
        inputs=(
            *run_inputs(desk, 2),
            *run_inputs(desk, 3),
            measured("closing.2", "time", "stopwatch"),
            measured("closing.3", "time", "stopwatch"),
            *beside_runs(desk, (2, 3)),
        ),
        bands={**dict.fromkeys(runs, band), "closing.2": "closing.time", "closing.3": "closing.time"},
        otherwise=(
            ("scatter", scatter),
            ("F2.time", {"any": [outside("closing.2"), outside("closing.3")]}),
            ("first_high", first_high),
        ),
        out=("raised", "tripped_between" if facts.is_downstream else "tripped"),
        hazards=(("pressure", "raised"), ("surge", "shut_off_stroke"), ("surge", "rush")),
        over={**desk.pilot(reducer), **desk.pilot(shut_off)},
        touches=of(reducer, "setting"),
        proves=of(shut_off, "trip"),
        depends_on=trip_rests_on(desk, shut_off),
        opens=of(reducer, "raised"),
        raises=("outlet",),
        refuses=refusing.runs(desk, shut_off, (2, 3), edge=upper_edge(desk), peaks=True),
    )


def _self_resetting(desk: Desk, shut_off: ShutOff) -> Iterator[Node]:
    facts = desk.facts
    if not facts.resets_itself:
        return
    words = {**desk.pilot(facts.last_reducer), **desk.pilot(shut_off)}
    state = "tripped_between" if facts.is_downstream else "tripped"
    yield desk.node(
        "F3R",
        shut_off.id,
        needs=[f"F3.{shut_off.id}"],
        do=("raise", "fall"),
        inputs=(desk.read("T3", "reset", instrument=SETTING_GAUGE, still=False),),
        bands={"reset": "reset.T3"},
        otherwise=(("off", outside("reset")),),
        out=("raised", state),
        hazards=(("surge", "rush"), ("pressure", "raised")),
        over=words,
        touches=of(facts.last_reducer, "setting"),
        proves=of(shut_off, "reset"),
        depends_on=shut_off_things(facts, shut_off),
        opens=of(facts.last_reducer, "raised"),
        raises=("outlet",),
    )
    yield desk.node(
        "F3C",
        shut_off.id,
        needs=[f"F3R.{shut_off.id}"],
        do=("raise", "draw", "lower"),
        inputs=(measured("count", "count", "eye"), measured("period", "time", "stopwatch")),
        otherwise=(("cycles", {"ge": [{"value": "count"}, CYCLING]}),),
        out=(state, "raised"),
        hazards=(("surge", "shut_off_stroke"), ("pressure", "raised")),
        over=words,
        touches=of(facts.last_reducer, "setting"),
        proves=of(shut_off, "cycles"),
        depends_on=shut_off_things(facts, shut_off),
        opens=of(facts.last_reducer, "raised"),
        raises=("outlet",),
    )


def _fast(desk: Desk, shut_off: ShutOff) -> Node:
    facts = desk.facts
    too_high: Expression = {"gt": [{"value": "peak"}, upper_edge(desk)]}
    before = f"F3C.{shut_off.id}" if facts.resets_itself else f"F3.{shut_off.id}"
    return desk.node(
        "F4",
        shut_off.id,
        needs=[before],
        do=("from", "close"),
        inputs=(desk.read("T3", "peak", instrument=SETTING_GAUGE, still=False),),
        otherwise=(("above", too_high),),
        out=("raised", "tripped_between" if facts.is_downstream else "tripped"),
        hazards=(("pressure", "raised"), ("surge", "surge_step")),
        over={**desk.pilot(facts.last_reducer), **desk.pilot(shut_off)},
        proves=of(shut_off, "overshoot"),
        depends_on=trip_rests_on(desk, shut_off),
        raises=("outlet",),
    )


def judged(desk: Desk, shut_off: ShutOff, *, needs: list[Needs], paper: bool = False) -> Node:
    """Return F5: the runs held against the window; restores the shut-off that was out of the way."""
    facts = desk.facts
    restored = not paper and not facts.is_downstream
    return desk.node(
        "F5",
        shut_off.id,
        needs=needs,
        do=("paper",) if paper else ("inside", "outside"),
        inputs=yes_no("inside"),
        otherwise=(("paper_outside" if paper else "adjust", is_no("inside")),),
        out=("outside",) if paper else ("trickle",),
        proves=of(shut_off, "accepted"),
        depends_on=(*of(shut_off, "trip"), *paper_things()),
        restores=of(shut_off, "out_of_way") if restored else (),
        refuses=() if paper else refusing.judged(desk, shut_off, _middles(desk, shut_off)),
        over=desk.pilot(shut_off),
    )
