"""Table D: leaks, outlet valve tight forwards, reducers tight, shut-off stroked by hand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from math import floor

from steadyhead.findings import Amount
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.plan_numbers import Pumped
from steadyhead.records.procedure import Expression, Input, Node
from steadyhead.visits.defaults import AIR_LITRE
from steadyhead.visits.reliefs import pump_stop
from steadyhead.visits.tables import counting, guarding, refusing
from steadyhead.visits.tables import defaults as d
from steadyhead.visits.tables.desk import (
    SETTING_GAUGE,
    Desk,
    by_choice,
    falls,
    is_no,
    measured,
    one_of,
    rises,
    yes_no,
)
from steadyhead.visits.tables.names import of

Params = Mapping[str, Amount | str | int]


def nodes(desk: Desk) -> Iterator[Node]:
    """Yield D1 to D4; D2 and D3 only where the outlet can be shut off tight."""
    facts = desk.facts
    yield desk.node(
        "D1",
        needs=["C5"],
        do=("look",),
        inputs=yes_no("dry"),
        otherwise=(("leaks", is_no("dry")),),
        out=("trickle",),
        hazards=(("pressure", "trapped"),),
    )
    if facts.can_isolate:
        yield by_pump(desk, needs=["C5", "A6"]) if facts.has_pump else by_reducer(desk, needs=["C5", "A6"])
        for reducer in facts.judged:
            yield _tightness(desk, reducer)
    if facts.proved is not None:
        yield _stroke(desk, facts.proved)


def done(desk: Desk) -> list[str]:
    """Return the static checks that every setting needs."""
    facts = desk.facts
    found = ["D1"]
    if facts.can_isolate:
        found += ["D2", *(f"D3.{reducer.id}" for reducer in facts.judged)]
    if facts.proved is not None:
        found.append(f"D4.{facts.proved.id}")
    return found


def reliefs_lift(desk: Desk) -> bool:
    """Return whether a relief valve on the outlet stops the pump before the test limit does."""
    stop, limit = pump_stop(desk.facts.layout), desk.numbers.test_limit.get("outlet")
    return stop is not None and limit is not None and stop < limit


def leak_words(desk: Desk) -> Params:
    """Return the leak past the outlet valve that the zone swallows. [m³/s]"""
    fall = d.STILL_BAND.si * desk.numbers.outlet_storage
    return {
        "leak_limit": Amount("leak", allowed_leak(desk)),
        "fall_leak": Amount("leak", fall / d.PUMP_HOLD.si),
        "drip_leak": Amount("leak", d.DRIP.si),
    }


def allowed_leak(desk: Desk) -> float:
    """Return the same as a number; nothing where the demand can be zero. [m³/s]"""
    demand = desk.facts.station.demand
    return 0.0 if demand.zero_possible else d.NIGHT_SHARE.si * demand.night.si


def how_far(desk: Desk) -> tuple[str, ...]:
    """Return how far the outlet goes up: to the test limit, or below a trip that is in service."""
    facts = desk.facts
    if facts.shut_off is None:
        return ("pump",)
    return ("out_of_way", "in_service") if facts.is_live and facts.proved is not None else ("in_service",)


def pumped(desk: Desk, states: tuple[str, ...]) -> Iterator[Pumped]:
    """Yield the figures of the pump for the states of the shut-off in which it may be used."""
    for state in states:
        found = desk.numbers.pumped.get("in_service" if state == "in_service" else "out_of_way")
        if found is not None:
            yield found


def pump_steps(desk: Desk, states: tuple[str, ...]) -> tuple[str, ...]:
    """Return the texts of pumping, watching and judging; states: as `how_far`."""
    figures = tuple(pumped(desk, states))
    amount = ("D2.amount",) if {"full", "air"} <= set(desk.numbers.pump_volume) else ()
    if allowed_leak(desk) == 0.0 or not figures:
        judge: tuple[str, ...] = (
            "D2.no_leak",
            *(("D2.stiff", "D2.drip") if desk.numbers.outlet_storage > 0.0 else ()),
        )
    else:
        judge = ("D2.strokes",) if all(one.by_pump for one in figures) else ("D2.strokes", "D2.strokes_most")
    reliefs = ("D2.reliefs",) if reliefs_lift(desk) else ()
    return (*(f"D2.{state}" for state in states), *reliefs, *amount, "D2.watch", *judge)


def pump_words(desk: Desk, states: tuple[str, ...]) -> Params:
    """Return the amounts of `pump_steps`."""
    volumes = {f"pump_{name}": Amount("volume", volume) for name, volume in desk.numbers.pump_volume.items()}
    volumes["air_inside"] = Amount("volume", AIR_LITRE)
    return {**leak_words(desk), **volumes, "strokes": f"{_strokes(desk, states):.0f}"}


def _strokes(desk: Desk, states: tuple[str, ...]) -> float:
    """Return the strokes in a minute that are accepted, rounded down; the least of the states."""
    return floor(min((one.strokes for one in pumped(desk, states)), default=0.0))


def pump_inputs(desk: Desk) -> tuple[Input, ...]:
    """Return what is read while the outlet is pumped up."""
    return (
        desk.read("T3", "T3.first", instrument=SETTING_GAUGE, still=False),
        desk.read("T3", "T3.last", instrument=SETTING_GAUGE, still=False),
        *desk.reads("T4", suffix="first"),
        *desk.reads("T4", suffix="last"),
        measured("wall.first", "temperature", "wall thermometer"),
        measured("wall.last", "temperature", "wall thermometer"),
        *yes_no("reached"),
        *((measured("strokes", "count", "pump strokes"),) if allowed_leak(desk) > 0.0 else ()),
    )


def pump_checks(desk: Desk, states: tuple[str, ...]) -> tuple[tuple[str, Expression], ...]:
    """Return what a pumped outlet may show instead: a leak, no pressure, the consumer side, a rise."""
    if allowed_leak(desk) > 0.0:
        more: Expression = {"gt": [{"value": "strokes"}, _strokes(desk, states)]}
        leaks: tuple[tuple[str, Expression], ...] = (("D2.leaks", more),)
    else:
        leaks = _falling()
    found: list[tuple[str, Expression]] = [("D2.cannot", is_no("reached")), *leaks]
    if desk.facts.has_tap("T4"):
        found.append(("D2.follows", rises("T4.first", "T4.last", d.STILL_BAND.si)))
    return (*found, ("D2.rises", rises("T3.first", "T3.last", d.STILL_BAND.si)))


def _falling() -> tuple[tuple[str, Expression], ...]:
    """Return what a fall of a stiff section means: a wall that has cooled first, then a leak."""
    down = falls("T3.first", "T3.last", d.STILL_BAND.si)
    cooled: Expression = {"sub": [{"value": "wall.first"}, {"value": "wall.last"}]}
    cools: Expression = {"all": [down, {"ge": [cooled, d.WALL_STILL.si]}]}
    leaks: Expression = {"all": [down, {"lt": [cooled, d.WALL_STILL.si]}]}
    return (("D2.cools", cools), ("D2.falls", leaks))


def by_pump(desk: Desk, *, needs: list[str], base: str = "D2") -> Node:
    """Return the tightness of the outlet valve, tried with a hand pump."""
    facts = desk.facts
    states = how_far(desk)
    return desk.node(
        base,
        needs=needs,
        do=("close", *pump_steps(desk, states), "release"),
        inputs=pump_inputs(desk),
        otherwise=pump_checks(desk, states),
        out=("pumped",),
        hazards=(("consumers", "consumers_high"), ("pressure", "pumped")),
        text="D2",
        over=pump_words(desk, states),
        proves=of(facts.outlet_valve.id, "tight"),
        depends_on=(*of(facts.outlet_valve.id, "gate"), *of(facts.drain.id, "gate")),
        raises=("outlet",),
        refuses=refusing.pumped(desk, states),
    )


def watching(desk: Desk, node: Node, why: str = "Y4", **words: str) -> Node:
    """Return a raising step that watches the consumer side: no pump has tried the outlet valve so far up.

    why: base of the texts ``watch`` and ``listen``, which name the reason.
    """
    facts = desk.facts
    if facts.has_tap("T4"):
        inputs: tuple[Input, ...] = (*desk.reads("T4", suffix="first"), *desk.reads("T4", suffix="last"))
        word, when = "follows", rises("T4.first", "T4.last", d.STILL_BAND.si)
    else:
        inputs, word, when = yes_no("silent"), "sounds", is_no("silent")
    have = {one.name for one in node.inputs}
    inputs = tuple(one for one in inputs if one.name not in have)
    for one in inputs:
        desk.labels[f"{node.id}/{one.name}"] = desk.say(f"in.{one.name}")
    pilot = desk.pilot(facts.last_reducer if not facts.is_pair else facts.reducers[0])
    return replace(
        node,
        do=(*node.do, desk.say(f"{why}.{'watch' if word == 'follows' else 'listen'}", **words)),
        inputs=(*node.inputs, *inputs),
        otherwise=(desk.other(f"Y4.{word}", when, pilot), *node.otherwise),
    )


def by_reducer(desk: Desk, *, needs: list[str], base: str = "D2") -> Node:
    """Return the tightness of the outlet valve, tried by raising the reducer in small steps.

    The reducer's trickle reading as found is taken here: turned once, it no longer stands as found.
    """
    facts = desk.facts
    reducer = facts.last_reducer
    limit = allowed_leak(desk)
    checks: list[tuple[str, Expression]] = []
    if facts.has_meter:
        checks.append(("leaks", {"gt": [{"value": "flow"}, limit]}))
    else:
        checks.append(("leaks", is_no("silent")))
    if facts.has_tap("T4"):
        checks.append(("follows", rises("T4.first", "T4.last", d.STILL_BAND.si)))
    meter = "meter" if limit > 0.0 else "meter_none"
    role = facts.tap_below(reducer)
    return desk.node(
        base,
        needs=needs,
        do=(
            "note",
            "shut",
            *first_turns(desk, reducer),
            *how_far(desk),
            *(("reliefs",) if reliefs_lift(desk) else ()),
            meter if facts.has_meter else "listen",
            "lower",
        ),
        inputs=(
            desk.read(role, "found", instrument=SETTING_GAUGE),
            desk.read("T3", instrument=SETTING_GAUGE),
            *desk.reads("T4", suffix="first"),
            *desk.reads("T4", suffix="last"),
            *((measured("flow", "flow", "meter"),) if facts.has_meter else yes_no("silent")),
            measured("turns", "turns", "count"),
        ),
        bands={"found": by_choice(reducer.id, fits=f"trickle.{role}", must_be_set="")},
        otherwise=checks,
        refuses=(counting.screw(desk, reducer), *guarding.pressed(desk, "T3")),
        out=("raised",),
        hazards=(("consumers", "consumers_high"), ("pressure", "raised")),
        text="D2r",
        over={**desk.pilot(reducer), **leak_words(desk)},
        touches=of(reducer, "setting"),
        proves=of(facts.outlet_valve.id, "tight"),
        depends_on=(*of(facts.outlet_valve.id, "gate"), *of(facts.drain.id, "gate")),
        opens=of(reducer, "raised", "seal"),
        raises=("outlet",),
    )


def first_turns(desk: Desk, reducer: Reducer) -> tuple[str, ...]:
    """Return the texts that bound the first turn of a screw whose spring is not known, from either start."""
    numbers = desk.numbers
    from_low = "D2r.first" if reducer.id in numbers.first_turn_lowest else "D2r.first_none"
    as_it_stands = "D2r.first_fits" if reducer.id in numbers.first_turn else "D2r.first_down"
    quarter = ("ES1.quarter",) if reducer.id in numbers.per_quarter else ()
    return (from_low, as_it_stands, *quarter)


def _tightness(desk: Desk, reducer: Reducer) -> Node:
    facts = desk.facts
    role = facts.tap_judged(reducer)
    storage = desk.numbers.outlet_storage
    drip: Params = {"drip_rise": Amount("pressure", 60.0 * d.DRIP.si / storage if storage > 0.0 else 0.0)}
    return desk.node(
        "D3",
        reducer.id,
        needs=["D2", one_of(f"C1F.{reducer.id}", f"C1S.{reducer.id}")],
        do=("open", "lowest", "standing", "watch", *(("leak",) if storage > 0.0 else ()), "again"),
        inputs=(
            desk.read(role, "first"),
            desk.read(role, "last", still=False),
            measured("wall.first", "temperature", "wall thermometer"),
            measured("wall.last", "temperature", "wall thermometer"),
        ),
        bands={"first": by_choice(reducer.id, fits=f"lockup.{role}", must_be_set=f"lowest.{role}")},
        otherwise=(
            (
                "climbs_own" if reducer.kind == "direct-acting" else "climbs",
                rises("first", "last", d.STILL_BAND.si),
            ),
        ),
        out=("trickle",),
        hazards=(("pressure", "trapped"),),
        over={**desk.pilot(reducer), **drip, "tap": facts.taps.get(role, role)},
        proves=of(reducer, "tight"),
        depends_on=of(reducer, "diaphragm", "seat"),
    )


def _stroke(desk: Desk, shut_off: ShutOff) -> Node:
    own = shut_off.closes_by in ("spring", "weight")
    return desk.node(
        "D4",
        shut_off.id,
        needs=["C5", "D1"],
        do=(
            "by_hand",
            "by_own" if own else "by_line",
            "no_time",
            *(("switch",) if shut_off.limit_switch is not None else ()),
        ),
        inputs=yes_no("fitted", "full"),
        otherwise=(("stiff", is_no("full")),),
        out=("trickle",),
        hazards=(("surge", "shut_off_stroke"),),
        over=desk.pilot(shut_off),
    )
