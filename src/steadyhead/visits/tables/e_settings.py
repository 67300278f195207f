"""Table E: both ways to the start of the proof; the shut-off downstream stands in `ds_downstream`."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.findings import Amount
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.procedure import Expression, Node
from steadyhead.visits.defaults import HOLD_BAND, LIVE_HEADROOM
from steadyhead.visits.tables import counting, d_static
from steadyhead.visits.tables.a_preconditions import is_direct
from steadyhead.visits.tables.desk import (
    FITS,
    SET,
    SETTING_GAUGE,
    Desk,
    Needs,
    follows,
    is_no,
    measured,
    one_of,
    outside,
    stops_below,
    yes_no,
)
from steadyhead.visits.tables.names import of
from steadyhead.visits.tables.wording import as_read, pressure


def nodes(desk: Desk) -> Iterator[Node]:
    """Yield EF1 to EF3 and ES1 to ES6 for the pilots this station has."""
    facts = desk.facts
    for reducer in facts.judged:
        yield from one_reducer(desk, reducer)
    if facts.proved is None:
        return
    yield stays_open(desk, facts.proved)
    if facts.is_live:
        yield from _set_shut_off(desk, facts.proved)


def one_reducer(desk: Desk, reducer: Reducer) -> Iterator[Node]:
    """Yield EF1 to EF3 and ES1, ES2 of one reducer."""
    yield as_it_stands(desk, reducer, turned=turned_before(desk, reducer))
    if reducer in desk.facts.raised:
        yield freed(desk, reducer)
    yield set_reducer(desk, reducer)
    yield settles(desk, reducer, after=f"ES1.{reducer.id}")


def opened(desk: Desk) -> dict[tuple[str, str], list[str]]:
    """Return the steps that each option of E0 opens in this table."""
    facts = desk.facts
    found: dict[tuple[str, str], list[str]] = {}
    for reducer in facts.judged:
        freed_too = [f"EF3.{reducer.id}"] if reducer in facts.raised else []
        found[reducer.id, FITS] = [f"EF1.{reducer.id}", *freed_too]
        found[reducer.id, SET] = [f"ES1.{reducer.id}", f"ES2.{reducer.id}"]
    if facts.proved is not None:
        found[facts.proved.id, FITS] = [f"EF2.{facts.proved.id}"]
        steps = ("ES3", "ES4", "ES5", "ES6") if facts.is_live else ()
        found[facts.proved.id, SET] = [f"{step}.{facts.proved.id}" for step in steps]
    return found


def reducer_ready(reducer: Reducer) -> Needs:
    """Return the need: this reducer stands at its trickle reading, whichever way it came there."""
    return one_of(f"EF1.{reducer.id}", f"ES2.{reducer.id}")


def reducer_free(reducer: Reducer) -> Needs:
    """Return the need: this reducer stands at its trickle reading and its screw may be turned."""
    return one_of(f"EF3.{reducer.id}", f"ES2.{reducer.id}")


def before(desk: Desk, reducer: Reducer) -> list[Needs]:
    """Return what a reducer needs: static checks, both drains tried, an earlier reducer set first."""
    needs: list[Needs] = list(d_static.done(desk))
    if desk.facts.is_downstream:
        needs.append("DS1")
    if desk.facts.is_pair and reducer is desk.facts.reducers[1] and desk.facts.is_own(desk.facts.reducers[0]):
        needs.append(reducer_ready(desk.facts.reducers[0]))
    return needs


def cleared(desk: Desk) -> list[Needs]:
    """Return what is out of the way before the outlet is raised to the trip: relief valves, a monitor."""
    facts = desk.facts
    found: list[Needs] = [f"R3.{relief.id}" for relief in facts.reliefs_shut]
    if facts.monitor is not None and facts.monitor in facts.raised:
        found.append(f"MN0.{facts.monitor.id}")
    return found


def stage_words(desk: Desk) -> dict[str, Amount | str | int]:
    """Return what a shut-off sees where the second of two reducers fails open: the pressure between them."""
    facts = desk.facts
    if not facts.is_pair:
        return {}
    first, role = facts.reducers[0], facts.stage
    stated = as_read(facts, role, first.duty.pressure.si)
    at = desk.numbers.target_reading.get(f"lockup.{role}", stated)
    return {"stage_tap": facts.taps.get(role, role), "stage_lockup": Amount("pressure", at)}


def protected(desk: Desk) -> list[Needs]:
    """Return what stands before a screw is raised while consumers stay connected: the shut-off proved."""
    facts = desk.facts
    if facts.proved is None or facts.can_isolate:
        return []
    return [f"IN4.{facts.proved.id}"]


def first_turn(desk: Desk, reducer: Reducer) -> tuple[str, ...]:
    """Return the texts of the first turn from the lowest setting, and what a quarter turn then shows."""
    numbers = desk.numbers
    first = "ES1.first" if reducer.id in numbers.first_turn_lowest else "ES1.first_none"
    return (first, *(("ES1.quarter",) if reducer.id in numbers.per_quarter else ()))


def _trickle(desk: Desk, reducer: Reducer) -> str:
    """Return the text that sets the trickle through this reducer alone."""
    if not desk.facts.is_pair:
        return "trickle"
    return "trickle_first" if reducer is desk.facts.reducers[0] else "trickle_second"


def turned_before(desk: Desk, reducer: Reducer) -> bool:
    """Return whether D2 turns this reducer's screw before EF1 reads it."""
    facts = desk.facts
    return reducer is facts.last_reducer and not facts.has_pump and facts.can_isolate


def as_it_stands(desk: Desk, reducer: Reducer, *, turned: bool) -> Node:
    """Return EF1: trickle reading of a reducer that is left as it stands.

    Where D2 has turned its screw, the reading is held against what D2 found.
    """
    role = desk.facts.tap_below(reducer)
    has_t1 = desk.facts.has_tap("T1")
    apart: Expression = {"abs": {"sub": [{"value": "reading"}, {"value": ["D2", "found"]}]}}
    off = ("back", {"gt": [apart, HOLD_BAND.si]}) if turned else ("off", outside("reading"))
    band = {} if turned else {"reading": f"trickle.{role}"}
    return desk.node(
        "EF1",
        reducer.id,
        needs=before(desk, reducer),
        do=(_trickle(desk, reducer), "read"),
        inputs=(*desk.reads("T1"), desk.read(role, "reading", instrument=SETTING_GAUGE)),
        bands={**band, "T1": "trickle.T1"},
        otherwise=(*((("follows", follows("reading", reducer)),) if has_t1 else ()), off),
        out=("trickle",),
        hazards=(("pressure", "inlet"),),
        over=desk.pilot(reducer),
    )


def freed(desk: Desk, reducer: Reducer) -> Node:
    """Return EF3: the seal of the reducer is broken because it must be raised."""
    return desk.node(
        "EF3",
        reducer.id,
        needs=[f"EF1.{reducer.id}", "C5", "D2"],
        do=("note",),
        inputs=(measured("height", "length", "rule"),),
        out=("trickle",),
        over=desk.pilot(reducer),
        opens=of(reducer, "seal"),
    )


def set_reducer(desk: Desk, reducer: Reducer, *, base: str = "ES1") -> Node:
    """Return ES1: the reducer is raised from below to its trickle reading."""
    facts = desk.facts
    role = facts.tap_below(reducer)
    inner = role != "T3"
    section = "between" if inner else "outlet"
    caution = "raised_between" if inner else "raised"
    return desk.node(
        base,
        reducer.id,
        needs=[*before(desk, reducer), *protected(desk)],
        do=(_trickle(desk, reducer), *first_turn(desk, reducer), "raise"),
        inputs=(
            *desk.reads("T1"),
            desk.read(role, "first", instrument=SETTING_GAUGE),
            desk.read(role, "reading", instrument=SETTING_GAUGE),
            measured("turns", "turns", "count"),
            *yes_no("answers"),
        ),
        bands={"reading": f"trickle_set.{role}"},
        otherwise=(
            ("no_answer_own" if is_direct(reducer) else "no_answer", is_no("answers")),
            *((("jumps", follows("reading", reducer)),) if facts.has_tap("T1") else ()),
        ),
        out=("raised_between" if inner else "raised",),
        hazards=(("pressure", caution),),
        refuses=(counting.raised_from_lowest(desk, reducer, role),),
        over=desk.pilot(reducer),
        touches=of(reducer, "setting", "nut"),
        raises=(section,),
    )


def settles(desk: Desk, reducer: Reducer, *, after: str) -> Node:
    """Return ES2: stability at trickle and at some flow; needles trimmed where it swings."""
    role = desk.facts.tap_below(reducer)
    direct = is_direct(reducer)
    return desk.node(
        "ES2",
        reducer.id,
        needs=[after],
        do=("trickle", "more", *(() if direct else ("trim",))),
        inputs=(
            desk.read(role, "reading"),
            *yes_no("stable"),
            *(() if direct else (measured("needles", "turns", "count"),)),
        ),
        otherwise=(
            ("swings_own" if direct else "swings", is_no("stable")),
            *(past_test(desk, role, "reading") if reducer is desk.facts.last_reducer else ()),
        ),
        out=("trickle",),
        hazards=(("pressure", "raised_between" if role != "T3" else "raised"),),
        over=desk.pilot(reducer),
        touches=() if direct else of(reducer, "needles"),
    )


def past_test(desk: Desk, role: str, name: str = "") -> list[tuple[str, Expression]]:
    """Return an outlet read above the highest pressure of a test; at T2, an open shut-off behind it."""
    limit = desk.numbers.test_limit.get("outlet")
    if limit is None or desk.facts.shut_off is None or not desk.facts.has_tap(role):
        return []
    group = "C5.above" if role == "T3" else "DS2.above"
    if role != "T3" and not desk.facts.is_downstream:
        return []
    return [(group, {"gt": [{"value": name or role}, as_read(desk.facts, role, limit)]})]


def stays_open(desk: Desk, shut_off: ShutOff) -> Node:
    """Return EF2: a shut-off left as it stands does not act at duty."""
    return desk.node(
        "EF2",
        shut_off.id,
        needs=[reducer_ready(desk.facts.last_reducer)],
        do=("watch",),
        inputs=yes_no("open"),
        otherwise=(("trips", is_no("open")),),
        out=("trickle", "tripped_between" if desk.facts.is_downstream else "tripped"),
        hazards=(("surge", "surge_step"),),
        over=desk.pilot(shut_off),
    )


def _set_shut_off(desk: Desk, shut_off: ShutOff) -> Iterator[Node]:
    facts = desk.facts
    reducer = facts.last_reducer
    words = {**desk.pilot(reducer), **desk.pilot(shut_off), "headroom": pressure(LIVE_HEADROOM.si)}
    words |= stage_words(desk)
    yield desk.node(
        "ES3",
        shut_off.id,
        needs=["D2", "C5", reducer_free(reducer), f"C1S.{shut_off.id}", *cleared(desk)],
        do=("ready_stage" if facts.is_pair else "ready", "raise", "hold"),
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
        out=("raised",),
        hazards=(("pressure", "raised"), ("pressure", "no_protection"), ("consumers", "consumers_high")),
        over=words,
        touches=of(reducer, "setting"),
        opens=of(reducer, "raised"),
        raises=("outlet",),
    )
    told = ("tell_tale",) if facts.tell_tale else ()
    yield desk.node(
        "ES4",
        shut_off.id,
        needs=[f"ES3.{shut_off.id}"],
        do=("lower", *told, "signs_t2" if facts.beside else "signs"),
        inputs=(
            desk.read("T3", "act", instrument=SETTING_GAUGE, still=False),
            *desk.reads("T2"),
            measured("turns", "turns", "count"),
            *yes_no("acted"),
        ),
        bands={"act": "trip_held.T3"},
        otherwise=(("nothing", is_no("acted")),),
        refuses=(counting.lowered_to_trip(desk, shut_off),),
        out=("raised", "tripped"),
        hazards=(("pressure", "raised"), ("surge", "shut_off_stroke")),
        over=words,
        touches=of(shut_off, "setting", "nut"),
    )
    yield recovery(desk, shut_off, base="ES5", needs=[f"ES4.{shut_off.id}"])
    yield desk.node(
        "ES6",
        shut_off.id,
        needs=[f"ES5.{shut_off.id}"],
        do=("nut", "last"),
        inputs=(measured("height", "length", "rule"), measured("photo", "photo", "camera")),
        out=("trickle",),
        over=words,
        touches=of(shut_off, "nut"),
    )


def recovery(desk: Desk, shut_off: ShutOff, *, base: str, needs: list[Needs], too_soon: bool = True) -> Node:
    """Return how a shut-off in front of the reducer is brought back: pressure down, reset, gentle refill."""
    reducer = desk.facts.last_reducer
    reset = "by_itself" if desk.facts.resets_itself else "by_hand"
    return desk.node(
        base,
        shut_off.id,
        needs=needs,
        do=(
            "lower",
            reset,
            *(("stage",) if desk.facts.is_pair else ()),
            "refill",
            *(("too_soon",) if too_soon else ()),
        ),
        inputs=(*desk.reads("T2", "T3"), *yes_no("open")),
        otherwise=(("stays", is_no("open")),),
        out=("tripped", "trickle"),
        hazards=(("surge", "rush"), ("pressure", "raised")),
        text="ES5",
        over={**desk.pilot(reducer), **desk.pilot(shut_off)},
        touches=of(reducer, "setting"),
    )
