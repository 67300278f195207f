"""Why a step does not count although everything was noted: predicates over the entries of a run, as data."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from steadyhead.design.defaults import ALARM_ERROR
from steadyhead.findings import Amount
from steadyhead.records.parts import ShutOff
from steadyhead.records.procedure import Expression, Refusal
from steadyhead.visits.defaults import HOLD_BAND
from steadyhead.visits.facts import trip_repeatability
from steadyhead.visits.tables import defaults as d
from steadyhead.visits.tables import guarding
from steadyhead.visits.tables.desk import Desk
from steadyhead.visits.tables.names import of
from steadyhead.visits.tables.wording import as_read

ROUNDING = 1e-6
"""Share by which figures typed in another unit may pass a limit."""
TYPED_LATER = "typed later"


def runs(
    desk: Desk,
    shut_off: ShutOff,
    numbers: Iterable[int],
    *,
    step: bool = False,
    edge: float | None = None,
    found: bool = False,
    peaks: bool = False,
) -> Iterator[Refusal]:
    """Yield why a rising run tells no trip: falling, too wide an interval, too large a step, raised too far.

    numbers: of the runs of the step; step: the last step is noted beside them; edge: highest pressure of a
    test as the gauge there reads it, where the line is raised [Pa]; found: the first of the day, which nobody
    can run again: its interval may be wide, and is told; peaks: the peak of each is noted beside it.
    """
    repeat = trip_repeatability(shut_off)
    words = {**desk.pilot(shut_off), "step": Amount("pressure", repeat / 2.0)}
    for number in numbers:
        end = f".{number}" if number > 1 else ""
        hold, act = {"value": f"hold{end}"}, {"value": f"act{end}"}
        more = {**words, "run": number}
        yield Refusal({"lt": [act, hold]}, desk.say("rf.run_falls", **more))
        if not found:
            yield Refusal(wide(shut_off, hold, act), desk.say("rf.run_wide", **more))
        if edge is not None:
            above: Expression = {"gt": [{"max": [act, hold]}, edge]}
            yield Refusal(above, desk.say("rf.run_above", **more, edge=Amount("pressure", edge)))
            if peaks:
                peak: Expression = {"value": f"peak{end}"}
                yield Refusal({"lt": [peak, act]}, desk.say("rf.run_peak_low", **more))
                high: Expression = {"gt": [peak, edge]}
                yield Refusal(high, desk.say("rf.run_peak", **more, edge=Amount("pressure", edge)))
    if step:
        large: Expression = {"gt": [{"value": "step"}, 0.5 * repeat * (1.0 + ROUNDING)]}
        yield Refusal(large, desk.say("rf.run_step", **words))


def wide(shut_off: ShutOff, hold: Expression, act: Expression) -> Expression:
    """Return the predicate: more lies between last hold and action than the trip repeats within."""
    return {"gt": [{"sub": [act, hold]}, trip_repeatability(shut_off) * (1.0 + ROUNDING)]}


def first_of_day(desk: Desk, shut_off: ShutOff, *, own_step: str = "") -> Iterator[Refusal]:
    """Yield why a first run is none: written down twice, or something of the shut-off was moved before it.

    own_step: the step, where it moves a cock of the shut-off's lines itself.
    """
    words = desk.pilot(shut_off)
    yield Refusal({"gt": [{"count": {"of": "act"}}, 1]}, desk.say("rf.first_twice", **words))
    moved: Expression = {
        "all": [_any_of("value", ("trip", "stroke by hand")), guarding.perhaps_before("hold")]
    }
    touched = guarding.first_untouched(desk, shut_off, "hold", "act", own_step=own_step)
    yield Refusal({"any": [touched, _happened(moved)]}, desk.say("rf.first_touched", **words))


def driven(desk: Desk, shut_off: ShutOff, *, inlet: str = "T1", flow: str = "flow") -> Iterator[Refusal]:
    """Yield why a run was none by rising pressure in running water: no trickle, or an inlet below the trip.

    inlet, flow: what they are called at the step.
    """
    words = desk.pilot(shut_off)
    yield Refusal(_off_trickle(desk, flow), desk.say("rf.run_flow", **words))
    if desk.facts.has_tap("T1"):
        low: Expression = {"le": [{"value": inlet}, {"value": "act"}]}
        yield Refusal(low, desk.say("rf.run_inlet", **words))


def _off_trickle(desk: Desk, name: str) -> Expression:
    """Return the predicate: a flow is none that the plan's trickle may be."""
    flow, trickle = {"value": name}, desk.numbers.trickle_flow
    return {"any": [{"lt": [flow, trickle / d.FLOW_FACTOR.si]}, {"gt": [flow, trickle * d.FLOW_FACTOR.si]}]}


def closing(desk: Desk, shut_off: ShutOff, *, first: str = "") -> Iterator[Refusal]:
    """Yield why a closing time is none of the window: another flow; a peak below the act, or past the limit.

    first: step of the act, where it is another one; without a peak only the flow and the watch are judged.
    """
    words = desk.pilot(shut_off)
    yield Refusal(_off_trickle(desk, "flow"), desk.say("rf.closing_flow", **words))
    yield lasted(desk, "T3", "T3.watch", d.WATCH_TIME.si, "rf.watch_short")
    act: Expression = {"value": [first, "act"] if first else "act"}
    most = 2.0 * trip_repeatability(shut_off) + d.STILL_BAND.si
    apart: Expression = {"gt": [{"abs": {"sub": [{"value": "T3.start"}, act]}}, most]}
    yield Refusal(apart, desk.say("rf.start_apart", **words, start_fit=Amount("pressure", most)))
    if not first:
        return
    low: Expression = {"lt": [{"value": "peak"}, act]}
    yield Refusal(low, desk.say("rf.peak_low", **words))
    limit = desk.numbers.test_limit.get("outlet")
    if limit is not None:
        high: Expression = {"gt": [{"value": "peak"}, as_read(desk.facts, "T3", limit)]}
        yield Refusal(high, desk.say("rf.peak_high", **words))


def judged(desk: Desk, shut_off: ShutOff, middles: Iterable[tuple[str, str]]) -> Iterator[Refusal]:
    """Yield why the runs are not inside although somebody says so; middles: their step and name."""
    reading = desk.numbers.target_reading
    if not {"trip"} <= set(reading):
        return
    trip, repeat = reading["trip"], trip_repeatability(shut_off)
    outside: Expression = {
        "any": [
            {"gt": [{"abs": {"sub": [{"value": [step, name]}, trip]}}, repeat * (1.0 + ROUNDING)]}
            for step, name in middles
        ]
    }
    says: Expression = {"eq": [{"value": "inside"}, True]}
    yield Refusal({"all": [says, outside]}, desk.say("rf.not_inside", **desk.pilot(shut_off)))


def lasted(desk: Desk, first: str, last: str, seconds: float, text: str) -> Refusal:
    """Return why a watch was none: its two readings were taken closer together than it lasts.

    Readings marked as typed later say nothing of the time.
    """
    spent: Expression = {"sub": [{"time": last}, {"time": first}]}
    later: Expression = {"eq": [{"entry": "as"}, TYPED_LATER]}
    in_time: Expression = {"eq": [{"count": {"of": last, "where": later}}, 0]}
    when: Expression = {"all": [in_time, {"lt": [spent, d.WATCH_SHARE.si * seconds]}]}
    return Refusal(when, desk.say(text, asked=Amount("time", seconds)))


def flowed(desk: Desk, *readings: str) -> Refusal:
    """Return why a lock-up is none: water ran while one of its readings was taken."""
    flows: list[Expression] = [{"gt": [{"abs": {"carried": [name, "flow"]}}, 0.0]} for name in readings]
    return Refusal({"any": flows}, desk.say("rf.lockup_flow"))


def stood(desk: Desk, flow: str, *readings: str) -> Refusal:
    """Return why a duty is none: hardly any water ran, so that its reading is one of the lock-up.

    flow: what the flow is called at the step. Limit: half of the plan's trickle and less, as at a run.
    """
    least = desk.numbers.trickle_flow / d.FLOW_FACTOR.si
    beside: list[Expression] = [{"lt": [{"abs": {"carried": [name, "flow"]}}, least]} for name in readings]
    return Refusal({"any": [{"lt": [{"value": flow}, least]}, *beside]}, desk.say("rf.duty_still"))


def wall(desk: Desk, first: str, last: str) -> Iterator[Refusal]:
    """Yield why the wall of a shut section tells nothing of its water: no such wall, or another place."""
    both: list[Expression] = [{"value": first}, {"value": last}]
    least, most = d.WALL_LEAST.si, d.WALL_MOST.si
    none: Expression = {"any": [{"lt": [{"min": both}, least]}, {"gt": [{"max": both}, most]}]}
    words = {"wall_least": Amount("temperature", least), "wall_most": Amount("temperature", most)}
    yield Refusal(none, desk.say("rf.wall_none", **words))
    moves: Expression = {"gt": [{"abs": {"sub": both}}, d.WALL_MOVES.si]}
    yield Refusal(moves, desk.say("rf.wall_moves"))


def in_time(
    desk: Desk, shut_off: ShutOff, told: str, moved: Expression, *, late: bool = True
) -> Iterator[Refusal]:
    """Yield why what the control room says it saw was not this movement: before it, or too long after.

    told: name of the time it was seen; moved: when it moved at the earliest [s]; late: it is held to be soon.
    """
    after: Expression = {"sub": [{"carried": [told, "clock"]}, moved]}
    words = desk.pilot(shut_off)
    early: Expression = {"lt": [after, -d.TOLD_EARLY.si]}
    yield Refusal(early, desk.say("rf.told_early", **words))
    ahead: Expression = {"sub": [{"carried": [told, "clock"]}, {"time": told}]}
    yield Refusal({"gt": [ahead, d.TOLD_EARLY.si]}, desk.say("rf.told_ahead"))
    most = d.TOLD_LATE.si
    if late:
        yield Refusal(
            {"gt": [after, most]}, desk.say("rf.told_late", **words, told_late=Amount("time", most))
        )


def shown(desk: Desk) -> Iterator[Refusal]:
    """Yield why an alarm is not proved: what the control room shows is not what stands at the station."""
    alarm = desk.facts.station.alarm
    error = alarm.error.si if alarm is not None and alarm.error is not None else ALARM_ERROR.si
    most = error + d.SHOWN_FIT.si
    apart: Expression = {"gt": [{"abs": {"sub": [{"value": "shown"}, {"value": "at"}]}}, most]}
    yield Refusal(apart, desk.say("rf.alarm_shown", shown_fit=Amount("pressure", most)))


def true_motion(desk: Desk, shut_off: ShutOff, run: str) -> Iterator[Refusal]:
    """Yield why an alarm is not proved: between run and answer the contact was moved by hand or bridged."""
    moved = _any_of("value", ("bridge contacts", "break wire", "stroke by hand"))
    after: Expression = {"gt": [{"entry": "order"}, {"order": [run, "act"] if run else "act"}]}
    before: Expression = {"lt": [{"entry": "order"}, {"order": "right"}]}
    act: Expression = {"all": [moved, after, before]}
    yield Refusal(_happened(act), desk.say("rf.no_motion", **desk.pilot(shut_off)))


def as_on_screen(desk: Desk, shut_off: ShutOff) -> Iterator[Refusal]:
    """Yield why an alarm is not proved: the words noted are not those of the station file, and called right.

    Nothing where the file states no words.
    """
    text = shut_off.limit_switch.text if shut_off.limit_switch is not None else ""
    if text:
        other: Expression = {"eq": [{"says": [{"value": "words"}, text]}, False]}
        when: Expression = {"all": [{"eq": [{"value": "right"}, True]}, other]}
        yield Refusal(when, desk.say("rf.words_other", **desk.pilot(shut_off)))


def pumped(desk: Desk, states: Iterable[str]) -> Iterator[Refusal]:
    """Yield why an outlet valve is not proved tight: not pumped up far enough, too far, or not for long."""
    found = [desk.numbers.pumped.get("in_service" if s == "in_service" else "out_of_way") for s in states]
    readings = [one.reading for one in found if one is not None]
    least = min(readings) - d.PUMP_SHORT.si if readings else None
    if least is not None:
        low: Expression = {"lt": [{"value": "T3.first"}, least]}
        yield Refusal(low, desk.say("rf.pump_low", pump_least=Amount("pressure", least)))
    limit = desk.numbers.test_limit.get("outlet")
    if limit is not None:
        most = as_read(desk.facts, "T3", limit)
        high: Expression = {"gt": [{"value": "T3.first"}, most + HOLD_BAND.si]}
        yield Refusal(high, desk.say("rf.pump_high"))
    yield lasted(desk, "T3.first", "T3.last", d.PUMP_HOLD.si, "rf.pump_short")
    yield from guarding.pump_held(desk, least)


def bled_low(desk: Desk) -> Iterator[Refusal]:
    """Yield why a line is not bled: it was bled on pressure."""
    facts = desk.facts
    if not facts.has_tap("T1"):
        return
    reducer = facts.reducers[0] if facts.is_pair else facts.last_reducer
    most = as_read(facts, "T1", reducer.duty.pressure.si) + HOLD_BAND.si
    high: Expression = {"gt": [{"value": "T1"}, most]}
    yield Refusal(high, desk.say("rf.bled_high", low_inlet=Amount("pressure", most)))


def as_planned(desk: Desk, flows: Iterable[float]) -> Iterator[Refusal]:
    """Yield why a flow test is none: its flows, up and down again, are not those of the plan. [m³/s]"""
    planned = list(flows)
    for number, flow in enumerate((*planned, *reversed(planned)), 1):
        first = number in (1, 2 * len(planned))
        share = d.FLOW_FACTOR.si - 1.0 if first else d.POINT_SHARE.si
        off: Expression = {"gt": [{"abs": {"sub": [{"value": f"flow.{number}"}, flow]}}, share * flow]}
        yield Refusal(off, desk.say("rf.flow_point", number=number, point_flow=Amount("flow", flow)))


def up_and_down(desk: Desk, points: int) -> Iterator[Refusal]:
    """Yield why a flow test is none: its flows do not rise point by point, and fall again."""
    flows: list[Expression] = [{"value": f"flow.{number}"} for number in range(1, 2 * points + 1)]
    up = [{"le": [b, a]} for a, b in pairwise(flows[:points])]
    down = [{"ge": [b, a]} for a, b in pairwise(flows[points:])]
    yield Refusal({"any": [*up, *down]}, desk.say("rf.flow_order"))


def no_loss(desk: Desk, name: str, text: str) -> Refusal:
    """Return why a loss of pressure is none: it is not above zero at the highest flow.

    Where so little is lost that a gauge may show nothing, what it may show at the least is held instead.
    """
    band = desk.numbers.bands.get(f"{name}.loss")
    small = band is not None and band.low <= 0.0
    least = band.low if band is not None and small else 0.0
    return Refusal({"lt" if small else "le": [{"value": name}, least]}, desk.say(text))


def _any_of(key: str, values: Iterable[str]) -> Expression:
    return {"any": [{"eq": [{"entry": key}, value]} for value in values]}


def _happened(act: Expression) -> Expression:
    return {"gt": [{"count": {"of": ["*", "@action"], "where": act}}, 0]}


def gauges(desk: Desk) -> tuple[str, ...]:
    """Return the gauges a trip may be read with, as things; one without a name where the file names none."""
    named = [gauge.id for gauge in desk.facts.station.gauges if gauge.for_setting]
    return tuple(name for one in named or ("setting gauge",) for name in of(one, "dial"))
