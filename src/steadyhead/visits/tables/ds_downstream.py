"""Table DS: the shut-off stands after the reducer; both pilots are set on the line, two drains."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.procedure import Expression, Input, Node
from steadyhead.visits.defaults import LIVE_HEADROOM
from steadyhead.visits.tables import counting, d_static, e_settings
from steadyhead.visits.tables.d_static import Params
from steadyhead.visits.tables.defaults import NUT_SHIFT, OPEN_APART, STILL_BAND
from steadyhead.visits.tables.desk import (
    FITS,
    SET,
    SETTING_GAUGE,
    Desk,
    Needs,
    above,
    falls,
    follows,
    is_no,
    is_yes,
    measured,
    stops_below,
    yes_no,
)
from steadyhead.visits.tables.names import of
from steadyhead.visits.tables.wording import as_read, pressure


def nodes(desk: Desk, shut_off: ShutOff) -> Iterator[Node]:
    """Yield EF1 to EF3 and DS0 to DS5; DS6 and DS7 stand with the proof and the seal."""
    facts = desk.facts
    reducer = facts.last_reducer
    words = {**desk.pilot(reducer), **desk.pilot(shut_off), "headroom": pressure(LIVE_HEADROOM.si)}
    words |= e_settings.stage_words(desk)
    live = facts.is_live and facts.proved is not None
    if live:
        yield _list(desk, words)
    yield _drains(desk, words)
    if facts.is_pair and facts.is_own(facts.reducers[0]):
        yield from e_settings.one_reducer(desk, facts.reducers[0])
    if not facts.is_own(reducer):
        return
    yield e_settings.as_it_stands(desk, reducer, turned=e_settings.turned_before(desk, reducer))
    if reducer in facts.raised:
        yield e_settings.freed(desk, reducer)
    yield _set_reducer(desk, reducer, words)
    yield e_settings.settles(desk, reducer, after="DS2")
    if facts.proved is not None:
        yield e_settings.stays_open(desk, shut_off)
    if live:
        yield from _set_shut_off(desk, reducer, shut_off, words)


def opened(desk: Desk, shut_off: ShutOff) -> dict[tuple[str, str], list[str]]:
    """Return the steps that each option of E0 opens in this table."""
    facts = desk.facts
    reducer = facts.last_reducer
    found: dict[tuple[str, str], list[str]] = {}
    for one in facts.judged:
        freed = [f"EF3.{one.id}"] if one in facts.raised else []
        found[one.id, FITS] = [f"EF1.{one.id}", *freed]
        found[one.id, SET] = ["DS2" if one == reducer else f"ES1.{one.id}", f"ES2.{one.id}"]
    if facts.proved is not None:
        found[shut_off.id, FITS] = [f"EF2.{shut_off.id}"]
        found[shut_off.id, SET] = ["DS3", "DS4", "DS4x", "DS5"] if facts.is_live else []
    return found


def _list(desk: Desk, words: Params) -> Node:
    bypass = ("bypass",) if desk.facts.layout.bypasses else ()
    least = _least_inlet(desk)
    low: list[tuple[str, Expression]] = []
    if least is not None:
        low, words = [("low", {"lt": [{"value": "T1"}, least]})], {**words, "least_inlet": pressure(least)}
    return desk.node(
        "DS0",
        needs=d_static.done(desk),
        do=(
            "positions",
            *bypass,
            "headroom_stage" if desk.facts.is_pair else "headroom",
            "rating",
        ),
        inputs=(*desk.reads("T1"), *yes_no("ready")),
        otherwise=(("missing", is_no("ready")), *low),
        out=("trickle",),
        hazards=(("pressure", "raised_between"),),
        over=words,
    )


def _least_inlet(desk: Desk) -> float | None:
    """Return the lowest inlet, as T1 reads it, from which the line is raised to the trip. [Pa]"""
    shut_off = desk.facts.shut_off
    if not desk.facts.has_tap("T1") or shut_off is None or shut_off.trip is None:
        return None
    return as_read(desk.facts, "T1", shut_off.trip.si + LIVE_HEADROOM.si)


def _drains(desk: Desk, words: Params) -> Node:
    has_t1 = desk.facts.has_tap("T1")
    return desk.node(
        "DS1",
        needs=["DS0"] if desk.facts.is_live and desk.facts.proved is not None else d_static.done(desk),
        do=("open", "shut"),
        inputs=(*desk.reads("T1", "T2", "T3"), *yes_no("water")),
        otherwise=(
            ("blocked", is_no("water")),
            *e_settings.past_test(desk, "T3"),
            *((("fails", follows(desk.facts.beside, desk.facts.last_reducer)),) if has_t1 else ()),
        ),
        out=("trickle",),
        hazards=(("pressure", "raised_between"), ("confined space", "flooding")),
        over=words,
    )


def _set_reducer(desk: Desk, reducer: Reducer, words: Params) -> Node:
    has_t1 = desk.facts.has_tap("T1")
    near = desk.facts.beside
    first = desk.facts.reducers[0] if desk.facts.is_pair else reducer
    ready = [e_settings.reducer_ready(first)] if first != reducer and desk.facts.is_own(first) else []
    return desk.node(
        "DS2",
        needs=["DS1", *ready, f"C1S.{reducer.id}", *e_settings.protected(desk)],
        do=(*e_settings.first_turn(desk, reducer), "raise"),
        inputs=(
            *desk.reads("T1"),
            desk.read(near, "first", instrument=SETTING_GAUGE),
            desk.read(near, instrument=SETTING_GAUGE),
            desk.read("T3"),
            measured("turns", "turns", "count"),
        ),
        bands={near: f"trickle_set.{near}", "T3": "trickle_set.T3"},
        otherwise=(
            ("apart", falls(near, "T3", STILL_BAND.si)),
            *e_settings.past_test(desk, near, "first"),
            *((("jumps", follows(near, reducer)),) if has_t1 else ()),
        ),
        refuses=(counting.raised_from_lowest(desk, reducer, near),),
        out=("raised_between",),
        hazards=(("pressure", "raised_between"), ("pressure", "raised")),
        over=words,
        touches=of(reducer, "setting", "nut"),
        raises=("between", "outlet"),
    )


def _set_shut_off(desk: Desk, reducer: Reducer, shut_off: ShutOff, words: Params) -> Iterator[Node]:
    facts = desk.facts
    yield desk.node(
        "DS3",
        needs=[
            "DS1",
            "D2",
            "C5",
            e_settings.reducer_free(reducer),
            f"C1S.{shut_off.id}",
            *e_settings.cleared(desk),
        ],
        do=("raise", "hold"),
        inputs=(
            *desk.reads("T1", "T2"),
            desk.read("T3", instrument=SETTING_GAUGE),
            measured("turns", "turns", "count"),
            *yes_no("shut_off_open"),
        ),
        bands={"T3": "at_trip.T3", "T2": "at_trip.T2", "T1": "at_trip.T1", "turns": f"turns.{reducer.id}"},
        otherwise=(
            ("short", stops_below("T3", ended_by="shut_off_open")),
            ("closes", is_no("shut_off_open")),
        ),
        out=("raised_between",),
        hazards=(("pressure", "raised"), ("pressure", "no_protection"), ("consumers", "consumers_high")),
        over=words,
        touches=of(reducer, "setting"),
        opens=of(reducer, "raised"),
        raises=("between", "outlet"),
    )
    told = bool(facts.tell_tale)
    yield desk.node(
        "DS4",
        needs=["DS3"],
        do=("lower", "tell_tale" if told else "full", "note"),
        inputs=(
            desk.read("T3", "act", instrument=SETTING_GAUGE),
            *desk.reads("T2"),
            measured("turns", "turns", "count"),
            measured("height", "length", "rule"),
            *yes_no("seen"),
        ),
        bands={"act": "trip_held.T3"},
        otherwise=(("nothing", is_no("seen")),),
        refuses=(counting.lowered_to_trip(desk, shut_off),),
        out=("raised_between", "tripped_between"),
        hazards=(("pressure", "raised"), ("surge", "shut_off_stroke")),
        over=words,
        touches=of(shut_off, "setting", "nut"),
    )
    yield _brought_back(desk, shut_off, words, told=told)
    yield _fixed(desk, reducer, shut_off, words)


def _brought_back(desk: Desk, shut_off: ShutOff, words: Params, *, told: bool) -> Node:
    """Return DS4x; where a sign comes first, whether it has shut at all is asked; if not, no more."""
    reset = "by_itself" if desk.facts.resets_itself else "by_hand"
    read = desk.reads("T2", "T3")
    asked = (*read, *yes_no("open"))
    return desk.node(
        "DS4x",
        title="title" if told else "title_full",
        needs=["DS4"],
        do=("sink", "raise", reset, "wait", "again" if told else "back"),
        inputs=(*yes_no("shut"), *(replace(one, unless=is_no("shut")) for one in asked)) if told else asked,
        otherwise=(("stays", _stays(told=told)), *_apart(read, told=told)),
        out=("tripped_between",),
        hazards=(("surge", "rush"), ("pressure", "raised_between")),
        over={**words, "open_apart": pressure(OPEN_APART.si)},
        touches=of(shut_off, "setting"),
    )


def _stays(*, told: bool) -> Expression:
    """Return that it did not open again; where it is asked whether it has shut, only then."""
    return {"all": [{"not": is_no("shut")}, is_no("open")]} if told else is_no("open")


def _apart(read: Sequence[Input], *, told: bool) -> Iterator[tuple[str, Expression]]:
    """Yield that the two readings beside a shut-off differ though it is called open, where both are read."""
    if len(read) == 2:
        off: Expression = {"abs": {"sub": [{"value": one.name} for one in read]}}
        shut: list[Expression] = [{"not": is_no("shut")}] if told else []
        yield "apart", {"all": [*shut, is_yes("open"), {"gt": [off, OPEN_APART.si]}]}


def _fixed(desk: Desk, reducer: Reducer, shut_off: ShutOff, words: Params) -> Node:
    near = desk.facts.beside
    after: Expression = {"abs": {"sub": [{"value": f"{near}.after"}, {"value": near}]}}
    shifts: Expression = {"gt": [after, NUT_SHIFT.si]}
    checks: list[tuple[str, Expression]] = [("shifts", shifts)]
    dry = shut_off.exhaust != "outlet"
    if dry:
        checks.insert(0, ("drips", is_no("dry")))
    return desk.node(
        "DS5",
        needs=["DS4x"],
        do=("nut", "lower", "raise", *(("dry",) if dry else ())),
        inputs=(
            measured("height", "length", "rule"),
            desk.read(near, instrument=SETTING_GAUGE),
            desk.read(near, f"{near}.after", instrument=SETTING_GAUGE),
            *(yes_no("dry") if dry else ()),
        ),
        bands={near: f"trickle_set.{near}"},
        otherwise=checks,
        out=("trickle",),
        hazards=(("pressure", "raised_between"),),
        over=words,
        touches=(*of(shut_off, "nut"), *of(reducer, "setting", "nut")),
    )


def recovery(desk: Desk, shut_off: ShutOff, *, needs: list[Needs], base: str = "DS6") -> Node:
    """Return how a shut-off after the reducer is brought back: reducer down, both drains, reset, refill."""
    reducer = desk.facts.last_reducer
    near = desk.facts.beside
    reset = "by_itself" if desk.facts.resets_itself else "by_hand"
    return desk.node(
        base,
        needs=needs,
        do=("lower", "drains", reset, "refill"),
        inputs=(desk.read(near, f"{near}.first"), *desk.reads("T1", "T2", "T3"), *yes_no("open")),
        bands={f"{near}.first": f"after_trip.{near}"},
        otherwise=(("climbs", above(f"{near}.first")), ("stays", is_no("open"))),
        out=("tripped_between", "trickle"),
        hazards=(("surge", "rush"), ("pressure", "raised_between")),
        text="DS6",
        over={**desk.pilot(reducer), **desk.pilot(shut_off)},
        touches=of(reducer, "setting"),
    )


def sealed(desk: Desk, needs: list[Needs]) -> Iterator[Node]:
    """Yield DS7: protection stands again; nothing else closes the item that it was out of the way."""
    shut_off = desk.facts.proved
    if shut_off is None or not desk.facts.is_downstream:
        return
    dry = ("dry",) if shut_off.exhaust != "outlet" else ()
    yield desk.node(
        "DS7",
        needs=needs,
        do=("valid", *dry, "screw"),
        inputs=(measured("height", "length", "rule"), *yes_no("valid")),
        otherwise=(("not", is_no("valid")),),
        out=("trickle",),
        over=desk.pilot(shut_off),
        restores=of(shut_off, "out_of_way"),
    )
