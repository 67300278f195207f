"""Table G: the alarm loop from true motion to the words at the control room."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from steadyhead.records.parts import ShutOff
from steadyhead.records.procedure import Expression, Node
from steadyhead.visits.tables import e_settings, f_trip, refusing
from steadyhead.visits.tables.defaults import CLOCK_FIT
from steadyhead.visits.tables.desk import (
    SETTING_GAUGE,
    Desk,
    Needs,
    is_no,
    measured,
    outside,
    words_seen,
    yes_no,
)
from steadyhead.visits.tables.names import of, shut_off_things


def nodes(desk: Desk) -> Iterator[Node]:
    """Yield G1 to G3 where there is a limit switch, G4 where there is a high alarm, G5 for either."""
    facts = desk.facts
    shut_off = facts.proved
    listed: list[Node] = []
    if shut_off is not None and shut_off.limit_switch is not None:
        listed += switch(desk, shut_off)
    if is_tried(desk):
        listed.append(_high(desk))
    yield from listed
    if listed:
        yield _clocks(desk, [node.id for node in listed])


def is_tried(desk: Desk) -> bool:
    """Return whether the high alarm can be tried: by raising the outlet, or by a pump at the transmitter."""
    facts = desk.facts
    known = facts.station.alarm is not None and facts.is_whole
    return known and ((facts.can_isolate and not facts.others_serve) or facts.has_pump)


def is_cut_off(desk: Desk) -> bool:
    """Return whether the transmitter is cut off for its proof: a pump stands in for the outlet."""
    return is_tried(desk) and (not desk.facts.can_isolate or desk.facts.others_serve)


def looked_at(desk: Desk) -> tuple[str, ...]:
    """Return the second look at the cock of the outlet transmitter, where a pump was on it."""
    return ("G4p.looked",) if is_cut_off(desk) else ()


def switch(desk: Desk, shut_off: ShutOff) -> Iterator[Node]:
    """Yield G1 to G3: true motion told to the control room, its return, a broken cable."""
    facts = desk.facts
    run = f"F1.{shut_off.id}" if facts.is_live else f"IN3.{shut_off.id}"
    back = f_trip.recovery_id(desk, shut_off) if facts.is_live else f"IN4.{shut_off.id}"
    contact = (*of(shut_off, "switch", "cable", "alarm_text"),)
    words = desk.pilot(shut_off)
    yield desk.node(
        "G1",
        shut_off.id,
        needs=[run],
        do=("call", "kind", "true_motion", "cam"),
        inputs=(
            measured("here", "time_of_day", "clock"),
            measured("there", "time_of_day", "telephone"),
            *yes_no("right"),
            *words_seen(),
        ),
        otherwise=(("wrong", is_no("right")),),
        out=("tripped_between" if facts.is_downstream else "tripped",),
        hazards=(("electric", "electric"),),
        over=words,
        proves=of(shut_off, "told"),
        depends_on=(*shut_off_things(facts, shut_off), *contact),
        refuses=(
            *refusing.as_on_screen(desk, shut_off),
            *refusing.true_motion(desk, shut_off, run),
            *refusing.in_time(desk, shut_off, "there", {"carried": ["here", "clock"]}),
            *refusing.in_time(desk, shut_off, "here", {"time": [run, "act"]}, late=False),
        ),
    )
    latched = facts.resets_itself
    yield desk.node(
        "G2",
        shut_off.id,
        needs=[f"G1.{shut_off.id}", back],
        do=("latched" if latched else "clears",),
        inputs=yes_no("stands" if latched else "cleared"),
        otherwise=(("lost", is_no("stands")) if latched else ("chatters", is_no("cleared")),),
        out=("trickle",),
        over=words,
        proves=of(shut_off, "cleared"),
        depends_on=contact,
    )
    yield desk.node(
        "G3",
        shut_off.id,
        needs=[f"G1.{shut_off.id}"],
        do=("break", "seen"),
        inputs=yes_no("fault"),
        otherwise=(("silent", is_no("fault")),),
        out=("trickle",),
        hazards=(("electric", "electric"),),
        over=words,
        proves=of(shut_off, "fails_loud"),
        depends_on=contact,
    )


def _high(desk: Desk) -> Node:
    facts = desk.facts
    shut_off = facts.proved
    before: list[Needs] = [f_trip.last_run_id(desk, shut_off)] if shut_off is not None else []
    if facts.is_pair and facts.can_isolate and all(facts.is_own(one) for one in facts.reducers):
        before.append(f"TS1.{facts.last_reducer.id}")
    before += [f"R2.{relief.id}" for relief in facts.reliefs_proved]
    if facts.alarm_over_monitor and facts.monitor in facts.raised and facts.monitor is not None:
        before.append(f"MN0.{facts.monitor.id}")
    ready = e_settings.reducer_ready(facts.last_reducer)
    if not facts.can_isolate or facts.others_serve:
        return by_pump(desk, needs=["A8", "C5", ready, *before])
    return by_reducer(desk, needs=["A8", "D2", "C5", e_settings.reducer_free(facts.last_reducer), *before])


def by_reducer(desk: Desk, *, needs: list[Needs], base: str = "G4", time: str = "G4") -> Node:
    """Return the high alarm, tried by raising the outlet through it."""
    facts = desk.facts
    reducer = facts.last_reducer
    return desk.node(
        base,
        needs=needs,
        do=("raise", "call", "lower"),
        inputs=(
            desk.read("T3", "at", instrument=SETTING_GAUGE),
            measured("shown", "pressure", "telephone"),
            *yes_no("came"),
            *words_seen("came"),
        ),
        bands={"at": "alarm.T3"},
        otherwise=(("none", is_no("came")), ("off", outside("at"))),
        out=("raised",),
        hazards=(("pressure", "raised"), ("consumers", "consumers_high")),
        text="G4",
        time=time,
        over=desk.pilot(reducer),
        touches=of(reducer, "setting"),
        proves=("alarm.high_alarm",),
        depends_on=("alarm.transmitter",),
        refuses=refusing.shown(desk),
        opens=of(reducer, "raised"),
        raises=("outlet",),
    )


def by_pump(desk: Desk, *, needs: list[Needs], base: str = "G4", time: str = "G4", header: str = "") -> Node:
    """Return the high alarm, tried by a pump at the transmitter; the outlet is not raised.

    header: tap of the outlet the transmitter reads, where streams share it; the tap T3 of the line without.
    """
    node = desk.node(
        base,
        needs=needs,
        do=("connect", "raise", "call", "back"),
        inputs=(
            desk.read("T3", "at", instrument=SETTING_GAUGE),
            measured("shown", "pressure", "telephone"),
            *yes_no("came", "follows"),
            *words_seen("came"),
        ),
        bands={"at": "alarm.T3"},
        otherwise=(("G4.none", is_no("came")), ("G4.off", outside("at")), ("blind", is_no("follows"))),
        out=("transmitter",),
        hazards=(("pressure", "pumped"),),
        text="G4p",
        time=time,
        over={"t3": header} if header else {},
        proves=("alarm.high_alarm",),
        depends_on=("alarm.transmitter",),
        refuses=refusing.shown(desk),
        opens=("alarm.transmitter_off",),
    )
    if not header:
        return node
    return replace(node, inputs=tuple(replace(one, tap=header) if one.tap else one for one in node.inputs))


def _clocks(desk: Desk, needs: list[str]) -> Node:
    apart: Expression = {
        "any": [{"gt": [{"abs": {"value": name}}, CLOCK_FIT.si]} for name in ("logger", "desk")]
    }
    return desk.node(
        "G5",
        needs=needs,
        do=("compare",),
        inputs=(measured("logger", "time", "clock"), measured("desk", "time", "clock")),
        otherwise=(("off", apart),),
        out=("trickle",),
        proves=("clocks.clocks",),
    )
