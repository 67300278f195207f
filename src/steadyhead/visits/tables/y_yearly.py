"""Table Y: the yearly proof of a station in service, as found first."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.findings import Amount
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.procedure import Choice, Expression, Node, Refusal
from steadyhead.records.values import Value
from steadyhead.visits import outage
from steadyhead.visits.tables import (
    counting,
    d_static,
    g_alarm,
    guarding,
    h_performance,
    heating,
    injection,
    monitoring,
    refusing,
    relieving,
    two_reducers,
    vessels,
    y_back,
    y_due,
    y_runs,
    y_start,
)
from steadyhead.visits.tables import defaults as d
from steadyhead.visits.tables.a_preconditions import fire_answer, has_alarm, low_spans, stock, stock_checks
from steadyhead.visits.tables.desk import (
    SETTING_GAUGE,
    Desk,
    Needs,
    Tag,
    is_no,
    measured,
    noted,
    one_of,
    outside,
    yes_no,
    zone_falls,
    zone_held,
)
from steadyhead.visits.tables.j_service import reliefs_open
from steadyhead.visits.tables.names import of, shut_off_things
from steadyhead.visits.tables.wording import as_read


def nodes(desk: Desk, *, alarm: bool = True) -> Iterator[Node]:
    """Yield Y1 to Y8 as far as this station has something to prove; alarm: the high alarm is tried here."""
    yield _arrive(desk)
    yield from y_start.nodes(desk)
    cold = heating.off(desk, needs=y_start.ready(desk), base="Y1H")
    yield from cold
    cut_off = _vessels(desk, cold)
    yield from cut_off
    cut_off = cut_off or list(cold)
    yield _cut_off(desk, cut_off) if desk.facts.can_isolate else _in_service(desk, cut_off)
    yield _as_found(desk)
    tested, last = _tests(desk, alarm=alarm)
    more, last = y_back.monitor_again(desk, last)
    tested += more
    yield from tested
    raised = {item.rsplit(".", 1)[0] for node in tested for item in node.opens if item.endswith(".raised")}
    for reducer in desk.facts.judged:
        if reducer.id in raised:
            yield h_performance.duty(desk, reducer, needs=last, base="Y7", time="Y7")
            last = [f"Y7.{reducer.id}"]
    for part in y_due.things(desk):
        if isinstance(part, Reducer) and part in desk.facts.judged:
            yield h_performance.again(desk, part, [*last, f"Y5O.{part.id}"], base="Y7L")
            last = [*last, y_due.over_again(desk, part)]
    back = list(vessels.returned(desk, last, base="Y7V", cut="Y1V"))
    yield from back
    yield _leave(desk, [node.id for node in back] or last)


def choices(desk: Desk) -> tuple[Choice, ...]:
    """Return what is decided on the way: each part that may be due."""
    return (*y_start.choices(desk), *y_due.choices(desk))


def _is_confined(desk: Desk) -> bool:
    identity = desk.facts.station.station
    return identity.kind == "utility chamber" or "confined space" in identity.hazards


def _arrive(desk: Desk) -> Node:
    facts = desk.facts
    confined, fire, alarm = _is_confined(desk), facts.carries_fire_water, has_alarm(desk)
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
            "gauges_due" if facts.station.gauges else "gauges",
            *(("A6.past_due",) if desk.past_due else ()),
            *low_spans(desk),
            "desk" if alarm else "desk_plain",
            *(("fire",) if fire else ()),
            *(fire_answer(desk) if fire else ()),
            *(("fire_flow",) if _fire_flow(desk) else ()),
            *(outage.lines(facts) if facts.can_isolate else ()),
            "read",
            "holes",
            "photo",
        ),
        inputs=(
            *(yes_no("air") if confined else ()),
            *desk.reads("T0", "T1", "T2", "T3", "T4"),
            *((measured("flow", "flow", "meter"),) if facts.has_meter else ()),
            *(stock(desk) if facts.can_isolate else ()),
            *(noted("fire_tested") if _fire_flow(desk) else ()),
            *noted("height"),
            measured("photo", "photo", "camera"),
            *yes_no("as_left"),
        ),
        otherwise=(
            *((("alarm", is_no("air")),) if confined else ()),
            ("differs", is_no("as_left")),
            *(stock_checks(desk) if facts.can_isolate else ()),
        ),
        out=("outside",),
        hazards=cautions,
        opens=("gauges_on", *(("alarm_test",) if alarm else ()), *(("fire_cover",) if fire else ())),
        over={"fire_flow": Amount("flow", flow.si)} if (flow := _fire_flow(desk)) is not None else {},
    )


def _fire_flow(desk: Desk) -> Value | None:
    """Return the fire flow of a station that carries it; a yearly proof does not draw it."""
    return desk.facts.station.demand.fire if desk.facts.carries_fire_water else None


def _cut_off(desk: Desk, before: list[Node]) -> Node:
    facts = desk.facts
    states = ("in_service",) if facts.shut_off is not None else ("pump",)
    if facts.has_pump:
        tried: tuple[str, ...] = ("D2.close", *d_static.pump_steps(desk, states), "release")
        checks = d_static.pump_checks(desk, states)
    else:
        tried = ("no_pump" if facts.has_tap("T4") else "no_pump_blind",)
        checks = ()
    valve, fed = facts.outlet_valve.id, bool(facts.station.zone.other_feed)
    return desk.node(
        "Y2",
        needs=[node.id for node in before] or y_start.ready(desk),
        do=(
            "other_feed" if fed else "outage",
            "outlet",
            *tried,
            *(("second",) if facts.inlet_passes else ()),
            "inlet",
        ),
        inputs=(
            *zone_held(fed=fed),
            *(d_static.pump_inputs(desk) if facts.has_pump else ()),
            measured("turns", "turns", "count"),
        ),
        otherwise=(("falls" if fed else "outage_falls", zone_falls(fed=fed)), *checks),
        out=("closing", "trickle"),
        hazards=(("surge", "surge_close"), ("consumers", "consumers_low"), ("pressure", "pumped")),
        over=d_static.pump_words(desk, states),
        proves=of(valve, "tight") if facts.has_pump else (),
        depends_on=(*of(valve, "gate"), *of(facts.drain.id, "gate")) if facts.has_pump else (),
        opens=("outlet_shut", "inlet_down", *(("other_feed",) if facts.is_fed_otherwise else ())),
        raises=("outlet",) if facts.has_pump else (),
        refuses=(
            *(refusing.pumped(desk, states) if facts.has_pump else ()),
            counting.moved(desk, facts.inlet_valve, facts.outlet_valve),
        ),
    )


def _in_service(desk: Desk, before: list[Node]) -> Node:
    facts = desk.facts
    tested = facts.shut_off is not None
    do = ("feed_plain",)
    if tested:
        bound = ("surge",) if "stop_surge" in desk.words else ()
        do = ("feed", "hour", *bound, *(("second",) if facts.inlet_passes else ()))
    return desk.node(
        "Y2",
        needs=[node.id for node in before] or y_start.ready(desk),
        do=do,
        inputs=(*yes_no("agreed"), *((desk.read("T3", "T3.near"),) if tested else ())),
        otherwise=(
            *((("off_duty", {"gt": [{"value": "T3.near"}, _near_duty(desk)]}),) if tested else ()),
            ("not", is_no("agreed")),
        ),
        out=("in_service",),
        hazards=(("consumers", "consumers_cut"),) if tested else (),
        text="Y2p",
        time="Y2P",
    )


def _near_duty(desk: Desk) -> float:
    """Return the reading above which the outlet does not stand near duty. [Pa]"""
    reducer = desk.facts.last_reducer
    stated = as_read(desk.facts, "T3", reducer.duty.pressure.si)
    lockup = desk.numbers.target_reading.get("lockup.T3", stated)
    return max(stated, lockup) + d.FOLLOWS.si


def _as_found(desk: Desk) -> Node:
    facts = desk.facts
    shut = facts.can_isolate
    first = _first_of_pair(desk) if shut else None
    stage = ("stage.trickle", "stage.lockup") if first is not None else ()
    drift: list[Expression] = [outside(name) for name in ("trickle", "lockup", *stage)]
    return desk.node(
        "Y3",
        title="title" if shut else "title_service",
        needs=["Y2"],
        do=("read", "lockup", *(("stages",) if stage else ())) if shut else ("service",),
        inputs=(
            *(desk.read(facts.stage, name, instrument=SETTING_GAUGE) for name in stage),
            desk.read("T3", "trickle", instrument=SETTING_GAUGE),
            desk.read("T3", "lockup", instrument=SETTING_GAUGE),
            *yes_no("dry"),
        )
        if shut
        else (desk.read("T3", "service"),),
        bands={
            "trickle": "trickle.T3",
            "lockup": "lockup.T3",
            **{name: f"{name.partition('.')[2]}.{facts.stage}" for name in stage},
        },
        otherwise=(
            ("drift", {"any": drift}),
            ("flows", is_no("dry")),
        )
        if shut
        else (),
        out=("trickle",) if shut else ("in_service",),
        hazards=(("pressure", "inlet"),) if shut else (),
        over={"stage_tap": facts.taps[facts.stage], "stage_valve": first.id} if first is not None else {},
        proves=(*of(facts.last_reducer, "as_found"), *(of(first, "as_found") if first is not None else ())),
        refuses=(
            *((refusing.flowed(desk, "lockup"),) if shut else ()),
            *guarding.as_found(desk, facts.last_reducer, *(("trickle", "lockup") if shut else ("service",))),
        ),
    )


def _first_of_pair(desk: Desk) -> Reducer | None:
    """Return the first of two reducers in series, where its own lock-up can be read and judged here."""
    facts = desk.facts
    if not facts.is_pair or not facts.stage or not facts.is_own(facts.reducers[0]):
        return None
    asked = {f"{name}.{facts.stage}" for name in ("trickle", "lockup")}
    return facts.reducers[0] if asked <= set(desk.numbers.bands) else None


def _tests(desk: Desk, *, alarm: bool) -> tuple[list[Node], list[Needs]]:
    """Return the runs with what is due between them, and what comes before the end."""
    facts = desk.facts
    if facts.proved is None:
        return _without_shut_off(desk, alarm=alarm)
    shut_off = facts.proved
    ahead, needs = _as_found_first(desk)
    run = y_runs.first if facts.is_live else y_runs.first_by_pump
    one = run(desk, shut_off, needs)
    if not facts.can_isolate:
        found = [one, y_runs.inlet_shut(desk, shut_off), y_runs.pilot_only(desk, shut_off)]
        heard = y_back.heard(desk, [found[-1].id]) if alarm else []
        return [*found, *heard], [[*found, *heard][-1].id]
    found = [*ahead, one, _recovered(desk, shut_off)]
    found += y_due.nodes(desk, ["Y5"])
    decided: list[Needs] = [y_due.over(part) for part in y_due.things(desk)]
    build = y_runs.more if facts.is_live else y_runs.more_by_pump
    found.append(build(desk, shut_off, decided, opened=False))
    found.append(build(desk, shut_off, [*decided, f"Y5O.{shut_off.id}"], opened=True))
    last = one_of(f"Y6.{shut_off.id}", f"Y6T.{shut_off.id}")
    return y_back.ended(desk, found, [last], alarm=alarm)


def _as_found_first(desk: Desk) -> tuple[list[Node], list[Needs]]:
    """Return what is read before the first trip: relief valves and monitor as found, then out of the way."""
    facts = desk.facts
    last: list[Needs] = ["Y3"]
    found: list[Node] = []
    if not facts.can_isolate:
        return found, last
    monitor = facts.monitor if facts.monitor is not None and facts.is_own(facts.monitor) else None
    if monitor is not None:
        band = monitoring.as_found(desk)
        found.append(monitoring.holds(desk, monitor, needs=last, band=band, base="Y3M", turned=False))
        last = [found[-1].id]
        if monitor in facts.raised:
            found.append(monitoring.away(desk, monitor, needs=last, base="Y3A"))
            last = [found[-1].id]
    for relief in facts.reliefs_proved:
        found.append(relieving.cracks(desk, relief, needs=last, base="Y3R", found=True))
        lift = found[-1].id
        found.append(relieving.reseats(desk, relief, needs=[lift], base="Y3S", lift=lift))
        last = [found[-1].id]
    for relief in facts.reliefs_shut:
        found.append(relieving.shut(desk, relief, needs=last, base="Y3I"))
        last = [found[-1].id]
    return [y_runs.watched(desk, node) if node.raises else node for node in found], last


def _vessels(desk: Desk, cold: tuple[Node, ...]) -> list[Node]:
    """Return each vessel cut off before the outlet is tested, its gas charge read."""
    if not desk.facts.is_whole:
        return []
    needs: list[Needs] = [node.id for node in cold] or y_start.ready(desk)
    return [vessels.charge(desk, one, needs=needs, base="Y1V", state="outside") for one in desk.facts.vessels]


def _without_shut_off(desk: Desk, *, alarm: bool) -> tuple[list[Node], list[Needs]]:
    """Return the second reducer alone and the alarm; what is due comes after the first of them."""
    facts = desk.facts
    found, last = _as_found_first(desk)
    both = facts.is_pair and facts.can_isolate and all(facts.is_own(one) for one in facts.reducers)
    if both:
        found.append(y_runs.watched(desk, two_reducers.alone(desk, needs=last, base="Y4", time="Y4")))
        found += _due(desk, [found[-1].id])
        last = _decided(desk)
    heard = y_back.heard(desk, last, "Y6" if both else "Y4") if alarm else []
    if heard:
        found += heard
        last = [heard[-1].id]
    if "Y5" not in {node.id for node in found}:
        found += _due(desk, last)
        last = _decided(desk)
    back = y_back.put_back(desk, last)
    return [*found, *back], [back[-1].id] if back else last


def _decided(desk: Desk) -> list[Needs]:
    return [y_due.over(part) for part in y_due.things(desk)] or ["Y5"]


def _due(desk: Desk, needs: list[Needs]) -> list[Node]:
    """Return Y5 of a station without a shut-off, and the decisions behind it."""
    shut = desk.facts.can_isolate
    head = desk.node(
        "Y5",
        title="title_plain",
        needs=needs,
        do=("due",) if shut else ("due_in_service",),
        inputs=noted("touched"),
        out=("trickle",) if shut else ("in_service",),
        hazards=(("pressure", "trapped"),),
    )
    return [head, *y_due.nodes(desk, ["Y5"])]


def _recovered(desk: Desk, shut_off: ShutOff) -> Node:
    """Return the shut-off open again after its first run; what is due is decided next."""
    facts = desk.facts
    back = y_runs.recovery(desk) if facts.is_live else [injection.released(desk)]
    return desk.node(
        "Y5",
        needs=[f"Y4.{shut_off.id}"],
        do=(*back, "due"),
        inputs=(*desk.reads("T2", "T3"), *yes_no("open"), *noted("touched")),
        otherwise=(("stays", is_no("open")),),
        out=("tripped_between" if facts.is_downstream else "tripped", "trickle"),
        hazards=(("pressure", "trapped"), ("surge", "rush")),
        over={**desk.pilot(facts.last_reducer), **desk.pilot(shut_off)},
        touches=of(facts.last_reducer, "setting") if facts.is_live else (),
    )


def _leave(desk: Desk, last: list[Needs]) -> Node:
    facts = desk.facts
    shut, fire, alarm = facts.can_isolate, facts.carries_fire_water, has_alarm(desk)
    refilled = not shut and facts.shut_off is not None
    return desk.node(
        "Y8",
        needs=last,
        do=(
            *(_opening(desk) if shut else ()),
            *(("J2.other_feed",) if shut and facts.is_fed_otherwise else ()),
            *heating.on(desk),
            *(("refill", "stages", "IN4.follow", "IN5.crack") if refilled else ()),
            "cocks",
            *reliefs_open(desk),
            *_closed(desk),
            *g_alarm.looked_at(desk),
            *(("shared",) if facts.shares_sensing else ()),
            *(("J4.medium",) if facts.medium_bypasses else ()),
            "desk" if alarm else "desk_plain",
            *(("fire",) if fire else ()),
            "night",
        ),
        inputs=(
            *desk.reads("T1", "T3", "T4"),
            measured("turns", "turns", "count"),
            *(yes_no("follows", "brisk") if refilled else ()),
            *yes_no("twice"),
            measured("photo", "photo", "camera"),
        ),
        otherwise=(*(_refill_checks(desk) if refilled else ()), ("not", is_no("twice"))),
        refuses=_counted(desk, shut=shut, refilled=refilled),
        out=("opening",) if shut else ("in_service",),
        hazards=(
            *((("surge", "rush"),) if refilled else ()),
            ("surge", "surge_close"),
            ("consumers", "consumers_open"),
        ),
        time="Y8R" if refilled else "Y8",
        over={
            **heating.over(desk),
            **desk.pilot(facts.last_reducer),
            **(desk.pilot(facts.shut_off) if facts.shut_off else {}),
        },
        proves=of(facts.shut_off, "sees") if refilled and facts.shut_off is not None else (),
        depends_on=shut_off_things(facts, facts.shut_off) if refilled and facts.shut_off is not None else (),
        restores=(
            "gauges_on",
            *(("outlet_shut", "inlet_down") if shut else ()),
            *(("other_feed",) if shut and facts.is_fed_otherwise else ()),
            *((heating.HEATERS,) if facts.heaters_wait else ()),
            *(("inlet_down",) if refilled else ()),
            *(("alarm_test", "alarm.transmitter_off") if alarm else ()),
            *(("fire_cover",) if fire else ()),
            *y_due.line_open(desk),
            *(f"{part.id}.loss_due" for part in y_due.strainers(desk)),
            *(name for reducer in facts.reducers for name in of(reducer, "seal")),
        ),
    )


def _counted(desk: Desk, *, shut: bool, refilled: bool) -> tuple[Refusal, ...]:
    """Return why the turns counted at the end do not show the valves that were shut fully open."""
    if shut:
        return (counting.either_opened(desk, "turns"),)
    return (counting.one_opened(desk, "turns", desk.facts.inlet_valve),) if refilled else ()


def _closed(desk: Desk) -> Iterator[tuple[str, dict[str, str]]]:
    """Yield the second look at what was opened in Y5O, and what a cleaned strainer loses."""
    listed = y_due.things(desk)
    if listed:
        yield "closed", {"closed": ", ".join(part.id for part in listed)}
    for part in y_due.strainers(desk):
        yield "loss", {"strainer": part.id}


def _opening(desk: Desk) -> tuple[str, ...]:
    """Return the texts that open to the consumers: pressures brought together before the outlet valve."""
    facts = desk.facts
    return (
        "inlet",
        "J2.equal" if facts.has_tap("T4") else "J2.equal_none",
        "outlet",
        "drains" if facts.inner_drains else "drain",
    )


def _refill_checks(desk: Desk) -> tuple[tuple[str, Expression], ...]:
    return (
        ("over", {"gt": [{"value": "T3"}, _near_duty(desk)]}),
        ("IN4.blind", is_no("follows")),
        ("IN5.weak", is_no("brisk")),
    )
