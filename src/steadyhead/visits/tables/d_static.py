"""Table D: leaks, outlet valve tight forwards, reducers tight, shut-off stroked by hand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from steadyhead.findings import Amount
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.procedure import Expression, Node
from steadyhead.visits.tables import defaults as d
from steadyhead.visits.tables.desk import SETTING_GAUGE, Desk, falls, is_no, measured, one_of, rises, yes_no
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
        for reducer in facts.reducers:
            yield _tightness(desk, reducer)
    if facts.shut_off is not None:
        yield _stroke(desk, facts.shut_off)


def done(desk: Desk) -> list[str]:
    """Return the static checks that every setting needs."""
    facts = desk.facts
    found = ["D1"]
    if facts.can_isolate:
        found += ["D2", *(f"D3.{reducer.id}" for reducer in facts.reducers)]
    if facts.shut_off is not None:
        found.append(f"D4.{facts.shut_off.id}")
    return found


def leak_words(desk: Desk) -> Params:
    """Return the leak past the outlet valve that the zone swallows. [m³/s]"""
    demand = desk.facts.station.demand
    swallowed = 0.0 if demand.zero_possible else d.NIGHT_SHARE.si * demand.night.si
    return {"leak_limit": Amount("leak", swallowed)}


def allowed_leak(desk: Desk) -> float:
    """Return the same as a number. [m³/s]"""
    limit = leak_words(desk)["leak_limit"]
    return limit.si if isinstance(limit, Amount) else 0.0


def how_far(desk: Desk) -> tuple[str, ...]:
    """Return how far the outlet goes up: to the test limit, or below a trip that is in service."""
    facts = desk.facts
    if facts.shut_off is None:
        return ("pump",)
    return ("out_of_way", "in_service") if facts.is_live else ("in_service",)


def leaks(desk: Desk) -> Expression:
    """Return the predicate: the leak worked out from pumped water, rise and fall passes what is allowed."""
    fall = {"sub": [{"value": "T3.first"}, {"value": "T3.last"}]}
    rise = {"sub": [{"value": "T3.first"}, {"value": "T3.before"}]}
    lost = {"mul": [{"value": "pumped"}, {"div": [fall, rise]}]}
    allowed = allowed_leak(desk)
    if allowed == 0.0:
        return falls("T3.first", "T3.last", d.STILL_BAND.si)
    return {"gt": [{"div": [lost, d.PUMP_HOLD.si]}, allowed]}


def by_pump(desk: Desk, *, needs: list[str], base: str = "D2") -> Node:
    """Return the tightness of the outlet valve, tried with a hand pump."""
    facts = desk.facts
    pumped = desk.numbers.pump_volume
    amounts: Params = {f"pump_{name}": Amount("volume", volume) for name, volume in pumped.items()}
    followed: list[tuple[str, Expression]] = [("leaks", leaks(desk))]
    if facts.has_tap("T4"):
        followed.append(("follows", rises("T4.first", "T4.last", d.STILL_BAND.si)))
    return desk.node(
        base,
        needs=needs,
        do=(
            "close",
            "read",
            *how_far(desk),
            *(("amount",) if {"full", "air"} <= set(pumped) else ()),
            "watch",
            "leak" if allowed_leak(desk) > 0.0 else "no_leak",
            "release",
        ),
        inputs=(
            desk.read("T3", "T3.before", instrument=SETTING_GAUGE),
            desk.read("T3", "T3.first", instrument=SETTING_GAUGE, still=False),
            desk.read("T3", "T3.last", instrument=SETTING_GAUGE, still=False),
            *desk.reads("T4", suffix="first"),
            *desk.reads("T4", suffix="last"),
            measured("wall.first", "temperature", "wall thermometer"),
            measured("wall.last", "temperature", "wall thermometer"),
            measured("pumped", "volume", "pump strokes"),
        ),
        otherwise=(*followed, ("rises", rises("T3.first", "T3.last", d.STILL_BAND.si))),
        out=("pumped",),
        hazards=(("consumers", "consumers_high"), ("pressure", "pumped")),
        text="D2",
        over={**leak_words(desk), **amounts},
        proves=of(facts.outlet_valve.id, "tight"),
        depends_on=(*of(facts.outlet_valve.id, "gate"), *of(facts.drain.id, "gate")),
        raises=("outlet",),
    )


def by_reducer(desk: Desk, *, needs: list[str], base: str = "D2") -> Node:
    """Return the tightness of the outlet valve, tried by raising the reducer in small steps."""
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
    return desk.node(
        base,
        needs=needs,
        do=("note", "shut", *how_far(desk), meter if facts.has_meter else "listen", "lower"),
        inputs=(
            desk.read("T3", instrument=SETTING_GAUGE),
            *desk.reads("T4", suffix="first"),
            *desk.reads("T4", suffix="last"),
            *((measured("flow", "flow", "meter"),) if facts.has_meter else yes_no("silent")),
            measured("turns", "turns", "count"),
        ),
        otherwise=checks,
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


def _tightness(desk: Desk, reducer: Reducer) -> Node:
    facts = desk.facts
    role = facts.tap_below(reducer)
    return desk.node(
        "D3",
        reducer.id,
        needs=["D2", one_of(f"C1F.{reducer.id}", f"C1S.{reducer.id}")],
        do=("open", "lowest", "standing", "watch", "again"),
        inputs=(
            desk.read(role, "first", still=False),
            desk.read(role, "last", still=False),
            measured("wall.first", "temperature", "wall thermometer"),
            measured("wall.last", "temperature", "wall thermometer"),
        ),
        otherwise=(("climbs", rises("first", "last", d.STILL_BAND.si)),),
        out=("trickle",),
        hazards=(("pressure", "trapped"),),
        over=desk.pilot(reducer),
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
