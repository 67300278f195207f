"""Table H: duty from below, lock-up at measured zero flow, flow test, steps."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import sqrt

from steadyhead.findings import Amount
from steadyhead.records.parts import Reducer
from steadyhead.records.procedure import Expression, Input, Node
from steadyhead.visits.defaults import HOLD_BAND
from steadyhead.visits.tables import defaults as d
from steadyhead.visits.tables import e_settings, refusing
from steadyhead.visits.tables.as_found_flows import as_found
from steadyhead.visits.tables.d_static import Params
from steadyhead.visits.tables.desk import (
    FITS,
    SET,
    SETTING_GAUGE,
    Band,
    Desk,
    Needs,
    above,
    below,
    by_choice,
    falls,
    is_no,
    is_yes,
    measured,
    noted,
    one_of,
    outside,
    rises,
    yes_no,
)
from steadyhead.visits.tables.names import of, reducer_things


def nodes(desk: Desk, before: list[str]) -> Iterator[Node]:
    """Yield H1 and H2 of each reducer, H4 to H6; before: what stands ahead of the first duty setting."""
    facts = desk.facts
    last: list[Needs] = list(before)
    last += [f"R4.{relief.id}" for relief in facts.reliefs_shut]
    if facts.monitor is not None and facts.is_own(facts.monitor) and facts.can_isolate:
        last.append(f"MN1.{facts.monitor.id}")
    for reducer in facts.judged:
        free = reducer in facts.raised
        needs = [*last, e_settings.reducer_free(reducer) if free else e_settings.reducer_ready(reducer)]
        yield duty(desk, reducer, needs=needs)
        if reducer not in facts.raised:
            yield _duty_as_it_stands(desk, reducer, needs)
        last = [duty_done(desk, reducer)]
    if facts.can_isolate:
        for reducer in facts.judged:
            yield _lockup(desk, reducer, [*last, "D2"])
            last = [f"H2.{reducer.id}"]
    yield _flow_test(desk, last)
    yield _steps(desk)
    yield desk.node(
        "H6",
        needs=["H4"],
        do=("change", "expected"),
        inputs=(
            *desk.reads("T1", "T3", suffix="first"),
            *desk.reads("T1", "T3", suffix="last"),
            *yes_no("done"),
        ),
        otherwise=(("left", is_no("done")), *_follows_inlet(desk)),
        out=("flowing",),
        over={
            "share_least": Amount("ratio", d.SUPPLY_LEAST.si),
            "share_most": Amount("ratio", d.SUPPLY_MOST.si),
        },
    )


def _follows_inlet(desk: Desk) -> list[tuple[str, Expression]]:
    """Return what tells that the outlet follows the inlet by more than its share, or moves against it.

    A reading may move within its band by itself, so that much hides a smaller share.
    """
    if not desk.facts.has_tap("T1"):
        return []
    first, last = ([{"value": f"{role}.{end}"} for role in ("T1", "T3")] for end in ("first", "last"))
    inlet, outlet = ({"sub": list(pair)} for pair in zip(last, first, strict=True))
    share: Expression = {"mul": [d.SUPPLY_MOST.si, {"abs": inlet}]}
    far: Expression = {"gt": [{"abs": outlet}, {"add": [share, HOLD_BAND.si]}]}
    against: Expression = {
        "all": [{"lt": [{"mul": [inlet, outlet]}, 0.0]}, {"gt": [{"abs": outlet}, HOLD_BAND.si]}]
    }
    return [("follows", {"any": [far, against]})]


def opened(desk: Desk) -> dict[tuple[str, str], list[str]]:
    """Return the steps that each option of E0 opens in this table."""
    found: dict[tuple[str, str], list[str]] = {}
    for reducer in desk.facts.judged:
        if reducer not in desk.facts.raised:
            found[reducer.id, FITS] = [f"H1F.{reducer.id}"]
            found[reducer.id, SET] = [f"H1.{reducer.id}"]
    return found


def duty_done(desk: Desk, reducer: Reducer) -> Needs:
    """Return the need: duty of this reducer has been set or read."""
    if reducer in desk.facts.raised:
        return f"H1.{reducer.id}"
    return one_of(f"H1.{reducer.id}", f"H1F.{reducer.id}")


def duty(desk: Desk, reducer: Reducer, *, needs: list[Needs], base: str = "H1", time: str = "H1") -> Node:
    """Return a reducer set to duty from below, nut tightened, read again."""
    facts = desk.facts
    role = facts.tap_judged(reducer)
    return desk.node(
        base,
        reducer.id,
        needs=needs,
        do=("flow", "lower", "raise", *_between(desk, role), "nut"),
        inputs=(
            measured("flow", "flow", facts.flow_instrument),
            desk.read(role, "before", instrument=SETTING_GAUGE),
            desk.read(role, "duty", instrument=SETTING_GAUGE),
            desk.read(role, "trickle", instrument=SETTING_GAUGE),
            measured("height", "length", "rule"),
        ),
        bands={"duty": f"duty.{role}", "trickle": f"trickle_set.{role}"},
        otherwise=(
            ("shifts", _nut_shifts(desk, reducer)),
            ("off", {"any": [outside("duty"), outside("trickle")]}),
        ),
        out=("trickle",),
        hazards=(("pressure", "raised_between" if role != "T3" else "raised"),),
        text="H1",
        time=time,
        over={**desk.pilot(reducer), **_at(desk, reducer), "drain": facts.drain.id},
        touches=of(reducer, "setting", "nut"),
        proves=of(reducer, "duty"),
        depends_on=reducer_things(facts, reducer),
        restores=of(reducer, "raised"),
        refuses=(refusing.stood(desk, "flow", "before", "duty", "trickle"),),
    )


def _nut_shifts(desk: Desk, reducer: Reducer) -> Expression:
    """Return the predicate: tightening the nut moved the reading, held against the one at like flow."""
    trickle = desk.numbers.trickle_flow
    most = min(d.FLOW_FACTOR.si * trickle, sqrt(trickle * reducer.duty.flow.si))
    at_trickle: Expression = {"le": [_flow_beside("before"), most]}
    at_duty: Expression = {"if": [{"given": "duty"}, {"value": "duty"}, {"value": "trickle"}]}

    def moved(after: Expression) -> Expression:
        return {"gt": [{"abs": {"sub": [after, {"value": "before"}]}}, d.NUT_SHIFT.si]}

    return {
        "any": [
            {"all": [at_trickle, moved({"value": "trickle"})]},
            {"all": [{"not": at_trickle}, moved(at_duty)]},
        ]
    }


def _flow_beside(name: str) -> Expression:
    """Return the flow a reading was taken at: said beside it, else what the step had read by then.

    Where the flow was written down only after it, that one.
    """
    newest: Expression = {"eq": [{"entry": "order"}, {"order": name}]}
    says: Expression = {"ge": [{"abs": {"entry": "flow"}}, 0.0]}
    by_then: Expression = {"lt": [{"entry": "order"}, {"order": name}]}
    read: Expression = {
        "if": [
            {"gt": [{"count": {"of": "flow", "where": by_then}}, 0]},
            {"last": {"of": "flow", "where": by_then}},
            {"first": {"of": "flow"}},
        ]
    }
    said: Expression = {"gt": [{"count": {"of": name, "where": {"all": [newest, says]}}}, 0]}
    return {"if": [said, {"carried": [name, "flow"]}, read]}


def _between(desk: Desk, role: str) -> list[tuple[str, Params]]:
    """Return a text where the twin has duty and trickle at one reading, and the lock-up above both."""
    reading = desk.numbers.target_reading
    names = [f"{name}.{role}" for name in ("duty", "trickle", "lockup")]
    if not set(names) <= set(reading):
        return []
    duty, trickle, lockup = (reading[name] for name in names)
    if trickle - duty > d.STILL_BAND.si or lockup - trickle <= d.STILL_BAND.si:
        return []
    return [("between", {"lockup_reading": Amount("pressure", lockup)})]


def _at(desk: Desk, reducer: Reducer) -> Params:
    role = desk.facts.tap_judged(reducer)
    return {"tap": desk.facts.taps.get(role, role)}


def _duty_as_it_stands(desk: Desk, reducer: Reducer, needs: list[Needs]) -> Node:
    role = desk.facts.tap_judged(reducer)
    return desk.node(
        "H1F",
        reducer.id,
        needs=needs,
        do=("read",),
        inputs=(
            measured("flow", "flow", desk.facts.flow_instrument),
            desk.read(role, "trickle", instrument=SETTING_GAUGE),
        ),
        bands={"trickle": f"trickle.{role}"},
        otherwise=(("off", outside("trickle")),),
        out=("trickle",),
        over={**desk.pilot(reducer), **_at(desk, reducer)},
        proves=of(reducer, "duty"),
        depends_on=reducer_things(desk.facts, reducer),
    )


def again(desk: Desk, reducer: Reducer, needs: list[Needs], *, base: str) -> Node:
    """Return what a reducer holds after its filter was opened: trickle, lock-up, a step of flow; curve due.

    The whole flow curve takes longer than a yearly visit: it is run today, or its day is agreed.
    """
    role = desk.facts.tap_judged(reducer)
    as_set = "_set" if reducer in desk.facts.raised else ""
    node = _lockup(desk, reducer, needs, base=base, band=f"lockup{as_set}.{role}")
    trickle = desk.read(role, "trickle", instrument=SETTING_GAUGE)
    more = (trickle, *yes_no("stable"), *noted("curve"), *yes_no("agreed"))
    words = {**desk.pilot(reducer), **_at(desk, reducer)}
    for one in more:
        desk.labels[f"{node.id}/{one.name}"] = desk.say(f"H2.in.{one.name}", **words)
    band = f"trickle{as_set}.{role}"
    checks = (("H2.trickle", outside("trickle")), ("H5.swings", is_no("stable")), ("H2.due", is_no("agreed")))
    return replace(
        node,
        title=desk.say("H2.title_opened", **words),
        do=(*node.do, *(desk.say(name, **words) for name in ("H2.trickle", "H2.step", "H2.curve"))),
        inputs=(*node.inputs, *more),
        expect=(*node.expect, *desk.expect("trickle", band)),
        otherwise=(*node.otherwise, *(desk.other(name, when, words) for name, when in checks)),
        hazards=(*node.hazards, *(one for one in desk.short_gauge(base, more) if one not in node.hazards)),
        proves=(*of(reducer, "duty"), *node.proves, "station.response"),
        restores=of(reducer, "due"),
    )


def _lockup(desk: Desk, reducer: Reducer, needs: list[Needs], *, base: str = "H2", band: str = "") -> Node:
    facts = desk.facts
    role = facts.tap_judged(reducer)
    first_of_pair = facts.is_pair and reducer is facts.reducers[0]
    direct = reducer.kind == "direct-acting"
    zero: list[Input] = [measured("flow", "flow", "meter")] if facts.has_meter else list(yes_no("dry"))
    flows: Expression = {"gt": [{"abs": {"value": "flow"}}, 0.0]} if facts.has_meter else is_no("dry")
    drains = {facts.drain.id, facts.drain_below(reducer).id}
    if facts.is_downstream:
        drains |= {drain.id for drain in facts.inner_drains} - ({drain_ahead(desk)} - drains)
    return desk.node(
        base,
        reducer.id,
        needs=needs,
        do=(
            "shut_first" if first_of_pair else "shut",
            "zero_meter" if facts.has_meter else "zero_dry",
            *(("heaters",) if facts.is_heated else ()),
            "watch",
            "again_first" if first_of_pair else "again",
        ),
        inputs=(
            *(
                desk.read(role, name, instrument=SETTING_GAUGE, still=False)
                for name in ("first", "half", "last")
            ),
            *zero,
            measured("wall.first", "temperature", "wall thermometer"),
            measured("wall.last", "temperature", "wall thermometer"),
            *yes_no("saw"),
        ),
        bands={"last": band or _as_set(desk, reducer, f"lockup_set.{role}", f"lockup.{role}")},
        otherwise=(
            ("flows", flows),
            *_rising(desk, direct=direct),
            ("sinks", falls("half", "last", d.STILL_BAND.si)),
            ("teeth", is_yes("saw")),
            ("first_low", rises("first", "last", d.FIRST_LOW.si)),
            ("off", outside("last")),
        ),
        out=("trickle",),
        hazards=(("pressure", "trapped"),),
        text="H2",
        over={**desk.pilot(reducer), **_at(desk, reducer)},
        proves=of(reducer, "lockup"),
        depends_on=(
            *reducer_things(facts, reducer),
            *of(facts.outlet_valve.id, "tight", "gate"),
            *(f"{drain}.gate" for drain in sorted(drains)),
            *(f"{branch.id}.gate" for _, branch in facts.layout.bypasses),
        ),
        refuses=(
            refusing.lasted(desk, "first", "last", d.LOCKUP_WATCH.si, "rf.lockup_short"),
            refusing.flowed(desk, "first", "half", "last"),
            *refusing.wall(desk, "wall.first", "wall.last"),
        ),
    )


def drain_ahead(desk: Desk) -> str:
    """Return the drain between two reducers, which the second one's lock-up does not rest on; or nothing."""
    return desk.facts.drain_of("between").id if desk.facts.is_pair else ""


def _rising(desk: Desk, *, direct: bool) -> Iterator[tuple[str, Expression]]:
    """Yield what a rise of a shut section means; where water is heated, a warm wall first: it is no leak."""
    up = rises("half", "last", d.STILL_BAND.si)
    leak = "rises_own" if direct else "rises"
    if not desk.facts.is_heated:
        yield leak, up
        return
    warm = rises("wall.first", "wall.last", d.WALL_WARMS.si)
    yield "warms", {"all": [up, warm]}
    yield leak, {"all": [up, {"le": [_warmed(), d.WALL_WARMS.si]}]}


def _warmed() -> Expression:
    return {"sub": [{"value": "wall.last"}, {"value": "wall.first"}]}


def _as_set(desk: Desk, reducer: Reducer, as_set: str, as_found: str) -> Band:
    """Return the question of a reducer set in this plan, or the two of one that may be left as it stands."""
    if reducer in desk.facts.raised:
        return as_set
    return by_choice(reducer.id, fits=as_found, must_be_set=as_set)


def _flow_test(desk: Desk, needs: list[Needs]) -> Node:
    facts = desk.facts
    flows = desk.numbers.flow_points
    points = len(flows) or d.FLOW_POINTS
    told: list[tuple[str, Params]] = [
        ("point", {"number": number, "point_flow": Amount("flow", flow)})
        for number, flow in enumerate(flows, 1)
    ]
    roles = [role for role in ("T0", "T1", *facts.inner, "T3") if facts.has_tap(role)]
    meter = facts.flow_instrument
    inputs: list[Input] = []
    bands: dict[str, Band] = {}
    for number in range(1, points + 1):
        inputs.append(measured(f"flow.{number}", "flow", meter))
        for role in roles:
            inputs.append(desk.read(role, f"{role}.{number}"))
            bands[f"{role}.{number}"] = _as_set(desk, facts.last_reducer, f"flow.{number}.{role}", "")
    for number in range(points + 1, 2 * points + 1):
        inputs += [measured(f"flow.{number}", "flow", meter), desk.read("T3", f"T3.{number}")]
        bands[f"T3.{number}"] = bands[f"T3.{2 * points + 1 - number}"]
    checks: list[tuple[str, Expression]] = [
        ("sags", below(f"T3.{points}")),
        ("hysteresis", _friction(points)),
    ]
    if {"T0", "T1"} <= set(roles) and facts.layout.strainer is not None:
        inputs.append(measured("strainer", "pressure", "one gauge, moved"))
        bands["strainer"] = "strainer.loss"
        checks.insert(1, ("strainer", above("strainer")))
    if facts.shut_off is not None and {"T1", facts.beside, "T3"} <= set(roles):
        inputs.append(measured("shut_off", "pressure", "one gauge, moved"))
        bands["shut_off"] = "shut_off.loss"
        checks.insert(-1, ("shut_off", above("shut_off")))
    things = [name for reducer in facts.reducers for name in reducer_things(facts, reducer)]
    element = of(facts.layout.strainer.id, "element") if facts.layout.strainer is not None else ()
    node = desk.node(
        "H4",
        needs=needs,
        do=(
            "open",
            "up",
            *(told or [("free", {"number": points})]),
            ("down", {"first_down": points + 1, "last_down": 2 * points}),
            *_fire(desk),
            "read",
            "noise",
        ),
        inputs=(*inputs, *noted("swing")),
        bands=bands,
        otherwise=checks,
        out=("flowing",),
        hazards=(("pressure", "inlet"), ("water quality", "discharge"), ("surge", "surge_step")),
        proves=("station.droop",),
        depends_on=dict.fromkeys((*things, *element)),
        refuses=(
            *refusing.up_and_down(desk, points),
            *refusing.as_planned(desk, flows),
            *(
                refusing.no_loss(desk, name, f"rf.{name}_none")
                for name in ("strainer", "shut_off")
                if any(one.name == name for one in inputs)
            ),
        ),
    )
    return replace(node, expect=(*node.expect, *as_found(desk, points)))


def _friction(points: int) -> Expression:
    """Return the predicate: at some flow the outlet reads otherwise on the way up than on the way down."""
    pairs = [(f"T3.{n}", f"T3.{2 * points + 1 - n}") for n in range(1, points + 1)]
    apart = [{"abs": {"sub": [{"value": up}, {"value": down}]}} for up, down in pairs]
    return {"any": [{"gt": [one, d.HYSTERESIS.si]} for one in apart]}


def _fire(desk: Desk) -> list[tuple[str, Params]]:
    """Return what the flow test says of the fire flow: seen at the last point, or not proved today."""
    fire = desk.facts.station.demand.fire
    if fire is None:
        return []
    flows = desk.numbers.flow_points
    words: Params = {"fire_flow": Amount("flow", fire.si)}
    return [("fire" if flows and max(flows) >= fire.si else "fire_short", words)]


def _steps(desk: Desk) -> Node:
    facts = desk.facts
    shut_off = facts.shut_off
    checks: list[tuple[str, Expression]] = [("swings", is_no("stable"))]
    asked = ["stable"]
    if shut_off is not None:
        checks.insert(0, ("trips", is_yes("trips")))
        asked.append("trips")
    things = [
        name
        for reducer in facts.reducers
        for name in reducer_things(facts, reducer)
        if name.rpartition(".")[2] not in ("diaphragm", "seat")
    ]
    return desk.node(
        "H5",
        needs=["H4"],
        do=("step", "read"),
        inputs=(
            desk.read("T3", "high", still=False),
            desk.read("T3", "low", still=False),
            measured("settles", "time", "stopwatch"),
            *yes_no(*asked),
        ),
        otherwise=checks,
        out=(
            "flowing",
            *(("tripped_between" if facts.is_downstream else "tripped",) if shut_off is not None else ()),
        ),
        hazards=(("surge", "surge_step"),),
        proves=("station.response",),
        depends_on=dict.fromkeys(things),
    )
