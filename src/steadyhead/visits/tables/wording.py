"""Parameters of the texts: what the words of one station are filled with."""

from __future__ import annotations

from collections.abc import Mapping

from steadyhead.findings import Amount
from steadyhead.records.parts import IsolatingValve, Reducer, ShutOff, Tap
from steadyhead.records.plan_numbers import InletOpening, PlanNumbers
from steadyhead.records.quantities import STANDARD_ATMOSPHERE_PA
from steadyhead.station.elevation import to_level
from steadyhead.visits.defaults import HOLD_BAND, HOLD_TIME, QUARTER
from steadyhead.visits.facts import Facts, trip_repeatability
from steadyhead.visits.tables import defaults as d
from steadyhead.water import properties

Words = Mapping[str, Amount | str | int]


def pressure(si: float) -> Amount:
    """Return a pressure as a parameter."""
    return Amount("pressure", si)


def seconds(si: float) -> Amount:
    """Return a time as a parameter."""
    return Amount("time", si)


def station_words(facts: Facts, numbers: PlanNumbers) -> Words:
    """Return every parameter that speaks of the station as a whole."""
    station, identity = facts.station, facts.station.station
    words: dict[str, Amount | str | int] = {
        "station": identity.name,
        "station_id": identity.id,
        "desk": identity.control_room or "@desk.unnamed",
        "sensitive": identity.sensitive_consumers,
        "order": ", ".join(part.id for part in facts.layout.main),
        "datum": Amount("length", identity.datum.si),
        "trickle_flow": Amount("flow", numbers.trickle_flow),
        "peak_share": Amount("flow", d.STABILITY_SHARE.si * station.demand.peak.si),
        "fill_speed": Amount("velocity", numbers.fill_speed),
        "fill_surge": pressure(numbers.fill_surge),
        "share": Amount("ratio", _share(numbers)),
        "good_gauges": ", ".join(numbers.good_gauges),
        "poor_gauges": ", ".join(numbers.poor_gauges),
        "gauges": ", ".join(gauge.id for gauge in station.gauges),
        "runs": d.RUNS,
        "cycles": d.CYCLES,
    }
    words.update(_places(facts, numbers))
    words.update(_amounts())
    if facts.shut_off is not None:
        words.update(pilot_words(facts, numbers, facts.shut_off))
        words.update(_trip_words(facts, facts.shut_off, numbers))
    words.update(pilot_words(facts, numbers, facts.last_reducer))
    if facts.is_pair:
        words.update({"rv1": facts.reducers[0].id, "rv2": facts.reducers[1].id})
    if station.alarm is not None:
        alarm = as_read(facts, "T3", station.alarm.pressure.si)
        words["alarm"] = pressure(numbers.target_reading.get("alarm", alarm))
        words["alarm_delay"] = seconds(station.alarm.delay.si if station.alarm.delay else 0.0)
    return words


def _share(numbers: PlanNumbers) -> float:
    return next(iter(numbers.bands.values())).probability if numbers.bands else 0.95


def _places(facts: Facts, numbers: PlanNumbers) -> Words:
    words: dict[str, Amount | str | int] = {role.lower(): tap for role, tap in facts.taps.items()}
    for role in ("t0", "t1", "t2", "t3", "t4"):
        words.setdefault(role, role.upper())
    words["td"] = facts.drain.id
    words["runs_to"] = facts.drain.runs_to or "@drain.unnamed"
    if facts.drain_between is not None:
        words["td2"] = facts.drain_between.id
    if facts.layout.strainer is not None:
        words["st"] = facts.layout.strainer.id
    for name, valve in (("iv1", facts.inlet_valve), ("iv2", facts.outlet_valve)):
        words[name] = valve.id
        words[f"close_{name}"] = f"@close.{valve.closes or 'unknown'}"
        words[f"turns_{name}"] = f"@{name}.turns" if valve.turns is not None else "@turns.unknown"
        if valve.turns is not None:
            words[f"count_{name}"] = Amount("turns", valve.turns.si)
    opened = [numbers.inlet_opening[name] for name in facts.sections]
    words.update(_opening(min(opened, key=lambda one: one.share), facts.inlet_valve))
    for name, section, role in (("test_limit", "outlet", "T3"), ("test_limit_between", "between", "T2")):
        if section in numbers.test_limit:
            words[name] = pressure(as_read(facts, role, numbers.test_limit[section]))
    return words


def as_read(facts: Facts, role: str, at_datum: float) -> float:
    """Return a pressure at the datum as the gauge at a tap reads it. [Pa]"""
    tap = next((part for part in facts.layout.main if part.id == facts.taps.get(role)), None)
    height = tap.height.si if isinstance(tap, Tap) and tap.height is not None else 0.0
    density = properties(facts.station.water.temperature.si, STANDARD_ATMOSPHERE_PA).density
    return to_level(at_datum, level=height, datum=0.0, density=density)


def _opening(opening: InletOpening, valve: IsolatingValve) -> Words:
    if opening.turns is not None and valve.turns is not None:
        return {"v2": "@v2.turns", "v2_turns": Amount("turns", opening.turns)}
    return {"v2": "@v2.share", "v2_share": Amount("ratio", opening.share)}


def _amounts() -> Words:
    return {
        "hold_time": seconds(HOLD_TIME.si),
        "hold_band": pressure(HOLD_BAND.si),
        "near_hold": seconds(d.NEAR_TRIP_HOLD.si),
        "trip_hold": seconds(d.TRIP_HOLD.si),
        "watch": seconds(d.WATCH_TIME.si),
        "pump_hold": seconds(d.PUMP_HOLD.si),
        "lockup_watch": seconds(d.LOCKUP_WATCH.si),
        "screen_watch": seconds(d.SCREEN_WATCH.si),
        "service_watch": seconds(d.SERVICE_WATCH.si),
        "below_least": pressure(d.BELOW_DUTY_LEAST.si),
        "below_most": pressure(d.BELOW_DUTY_MOST.si),
        "nut_shift": pressure(d.NUT_SHIFT.si),
        "trip_fit": pressure(d.TRIP_FIT.si),
        "pumpless_step": pressure(d.PUMPLESS_STEP.si),
        "drained_to": pressure(d.DRAINED_TO.si),
        "clock_fit": seconds(d.CLOCK_FIT.si),
        "night_share": Amount("ratio", d.NIGHT_SHARE.si),
    }


def _trip_words(facts: Facts, shut_off: ShutOff, numbers: PlanNumbers) -> Words:
    trip = shut_off.trip.si if shut_off.trip is not None else 0.0
    band = shut_off.dead_band.si if shut_off.dead_band is not None else d.DEAD_BAND.si
    repeat = trip_repeatability(shut_off)
    upper = numbers.test_limit.get("outlet", trip + repeat)
    return {
        "trip": pressure(trip),
        "trip_reading": pressure(numbers.target_reading.get("trip", as_read(facts, "T3", trip))),
        "trip_repeat": pressure(repeat),
        "step": pressure(repeat / 2.0),
        "reset": pressure(numbers.target_reading.get("reset", as_read(facts, "T3", trip - band))),
        "raise_more": pressure(band + d.RAISE_MORE.si),
        "pump_stop": pressure(as_read(facts, "T3", 2.0 * trip - upper) - d.BELOW_TRIP_EDGE.si),
        "switch_text": (shut_off.limit_switch.text if shut_off.limit_switch else "")
        or "@switch.text_unnamed",
        "switch_kind": "@switch.leaves_open"
        if shut_off.limit_switch is not None and shut_off.limit_switch.kind == "leaves open"
        else "@switch.reaches_closed",
        **({"tell_tale": f"@tell.{facts.tell_tale.replace(' ', '_')}"} if facts.tell_tale else {}),
    }


def pilot_words(facts: Facts, numbers: PlanNumbers, valve: Reducer | ShutOff) -> Words:
    """Return the parameters that speak of one valve: id, screw, spring, and for a reducer its duty."""
    screw = valve.pilot.raises
    opposite = {"clockwise": "anticlockwise", "anticlockwise": "clockwise"}
    short = "rv" if isinstance(valve, Reducer) else "so"
    words: dict[str, Amount | str | int] = {
        "valve": valve.id,
        short: valve.id,
        f"raise_{short}": f"@screw.{screw or 'unknown'}",
        f"lower_{short}": f"@screw.{opposite[screw] if screw else 'unknown'}",
        "spring_low": pressure(valve.pilot.spring_low.si),
        "spring_high": pressure(valve.pilot.spring_high.si),
        "senses": valve.senses,
    }
    if valve.factory is not None:
        words["factory"] = pressure(valve.factory.pressure.si)
        words["factory_date"] = valve.factory.date or "@date.unnamed"
    if isinstance(valve, ShutOff):
        words["design_setting"] = pressure(valve.trip.si if valve.trip is not None else 0.0)
        return words
    role = facts.tap_below(valve)
    duty = valve.duty.pressure.si
    names = (f"trickle.{role}", *(() if facts.is_pair else ("trickle",)))
    reading = next((numbers.target_reading[name] for name in names if name in numbers.target_reading), duty)
    words.update(
        {
            "design_setting": pressure(duty),
            "duty": pressure(numbers.target_reading.get(f"duty.{role}", as_read(facts, role, duty))),
            "duty_flow": Amount("flow", valve.duty.flow.si),
            "trickle_reading": pressure(reading),
            "first_turn": Amount("turns", numbers.first_turn.get(valve.id, QUARTER)),
            "tap": facts.taps.get(role, role),
            "drain": facts.drain_below(valve).id,
        }
    )
    return words
