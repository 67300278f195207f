"""Parameters of the texts: what the words of one station are filled with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import pi

from steadyhead.findings import Amount
from steadyhead.laws.waves import joukowsky_rise
from steadyhead.procedure.advice import NEAR as FINE_BELOW
from steadyhead.records.parts import IsolatingValve, Reducer, ShutOff, Tap
from steadyhead.records.plan_numbers import InletOpening, PlanNumbers
from steadyhead.records.quantities import STANDARD_ATMOSPHERE_PA
from steadyhead.station.elevation import to_level
from steadyhead.visits.defaults import HOLD_BAND, HOLD_TIME
from steadyhead.visits.facts import Facts, trip_repeatability
from steadyhead.visits.filling import inlet_wave_speed
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
        "gauges_due": "; ".join(
            f"{g.id} due {g.due}" if g.due else f"{g.id} due: not stated" for g in station.gauges
        ),
        "runs": d.RUNS,
        "cycles": d.CYCLES,
    }
    words.update(_places(facts, numbers))
    words.update(_amounts())
    words.update(_pump_words(facts, numbers))
    words.update(_sudden_stop(facts))
    if facts.shut_off is not None:
        words.update(pilot_words(facts, numbers, facts.shut_off))
        words.update(_trip_words(facts, facts.shut_off, numbers))
    words.update(pilot_words(facts, numbers, facts.last_reducer))
    if facts.monitor is not None:
        words["mon"] = facts.monitor.id
    if facts.is_pair:
        words.update({"rv1": facts.reducers[0].id, "rv2": facts.reducers[1].id})
    if station.alarm is not None:
        alarm = as_read(facts, "T3", station.alarm.pressure.si)
        words["alarm"] = pressure(numbers.target_reading.get("alarm", alarm))
        words["alarm_delay"] = seconds(station.alarm.delay.si if station.alarm.delay else 0.0)
    return words


def _listed(names: Iterable[str]) -> str:
    """Return names as a list in words."""
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last


def _share(numbers: PlanNumbers) -> float:
    return next(iter(numbers.bands.values())).probability if numbers.bands else 0.95


def _places(facts: Facts, numbers: PlanNumbers) -> Words:
    words: dict[str, Amount | str | int] = {role.lower(): tap for role, tap in facts.taps.items()}
    for role in ("t0", "t1", "t2", "t3", "t4"):
        words.setdefault(role, role.upper())
    if facts.inner:
        words["t2"] = _listed(facts.taps[role] for role in facts.inner)
    words["td"] = facts.drain.id
    words["medium"] = words[facts.medium_tap.lower()]
    words["runs_to"] = facts.drain.runs_to or "@drain.unnamed"
    if facts.inner_drains:
        words["td2"] = _listed(drain.id for drain in facts.inner_drains)
    if facts.layout.strainer is not None:
        words["st"] = facts.layout.strainer.id
    for name, valve in (("iv1", facts.inlet_valve), ("iv2", facts.outlet_valve)):
        words[name] = valve.id
        words[f"close_{name}"] = f"@close.{valve.closes or 'unknown'}"
        words[f"turns_{name}"] = f"@{name}.turns" if valve.turns is not None else "@turns.unknown"
        if valve.turns is not None:
            words[f"count_{name}"] = Amount("turns", valve.turns.si)
    opened = [numbers.inlet_opening[name] for name in facts.sections if name in numbers.inlet_opening]
    least = min(opened, key=lambda one: one.share, default=None)
    words.update(_opening(least, facts.inlet_valve) if least is not None else {"v2": "@v2.open"})
    sections = (
        ("test_limit", "outlet"),
        ("test_limit_between", "between"),
        ("test_limit_beside", "between 2"),
    )
    for name, section in sections:
        if section in numbers.test_limit:
            at = as_read(facts, facts.role_of(section), numbers.test_limit[section])
            words[name] = pressure(at)
        words[f"drain_{section.replace(' ', '_')}"] = facts.drain_of(section).id
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
        "still_band": pressure(d.STILL_BAND.si),
        "clock_fit": seconds(d.CLOCK_FIT.si),
        "night_share": Amount("ratio", d.NIGHT_SHARE.si),
    }


def _pump_words(facts: Facts, numbers: PlanNumbers) -> Words:
    """Return how far a pump goes: to the test limit, or below a trip that is in service."""
    limit = as_read(facts, "T3", numbers.test_limit["outlet"]) if "outlet" in numbers.test_limit else 0.0
    words: dict[str, Amount | str | int] = {"pump_stroke": Amount("volume", numbers.pump_stroke)}
    for name, state in (("pump_top", "out_of_way"), ("pump_stop", "in_service")):
        found = numbers.pumped.get(state)
        words[name] = pressure(found.reading if found is not None else limit)
    return words


def _sudden_stop(facts: Facts) -> Words:
    """Return the bound of a stop at the lowest demand, ρ a V, where the supply main is described."""
    station, main = facts.station, facts.station.supply.main
    words: dict[str, Amount | str | int] = {"night_flow": Amount("flow", station.demand.night.si)}
    if main is not None:
        density = properties(station.water.temperature.si, STANDARD_ATMOSPHERE_PA).density
        velocity = station.demand.night.si / (pi / 4.0 * main.bore.si**2)
        rise = joukowsky_rise(
            density=density, wave_speed=inlet_wave_speed(station, density), velocity_drop=velocity
        )
        words["stop_surge"] = pressure(rise)
    return words


def _trip_words(facts: Facts, shut_off: ShutOff, numbers: PlanNumbers) -> Words:
    trip = shut_off.trip.si if shut_off.trip is not None else 0.0
    band = shut_off.dead_band.si if shut_off.dead_band is not None else d.DEAD_BAND.si
    repeat = trip_repeatability(shut_off)
    reading, low, high = numbers.target_reading, trip - repeat, trip + repeat
    trip_reading = reading.get("trip", as_read(facts, "T3", trip))
    return {
        "trip": pressure(trip),
        "trip_reading": pressure(trip_reading),
        "trip_low": pressure(reading.get("trip_low", as_read(facts, "T3", low))),
        "trip_high": pressure(reading.get("trip_high", as_read(facts, "T3", high))),
        "trip_repeat": pressure(repeat),
        "step": pressure(repeat / 2.0),
        "fine_from": pressure(trip_reading + repeat - FINE_BELOW * repeat / 2.0),
        "reset": pressure(reading.get("reset", as_read(facts, "T3", trip - band))),
        "raise_more": pressure(band + d.RAISE_MORE.si),
        "switch_text": (shut_off.limit_switch.text if shut_off.limit_switch else "")
        or "@switch.text_unnamed",
        "switch_kind": "@switch.leaves_open"
        if shut_off.limit_switch is not None and shut_off.limit_switch.kind == "leaves open"
        else "@switch.reaches_closed",
        **({"tell_tale": f"@tell.{facts.tell_tale.replace(' ', '_')}"} if facts.tell_tale else {}),
    }


def _turn_words(numbers: PlanNumbers, reducer: Reducer) -> Words:
    """Return the first turn from either start, and what a quarter turn does with three springs."""
    words: dict[str, Amount | str | int] = {}
    for name, table in (("first_turn", numbers.first_turn), ("first_turn_low", numbers.first_turn_lowest)):
        if reducer.id in table:
            words[name] = Amount("turns", table[reducer.id])
    for name, rise in zip(
        ("quarter", "quarter_twice", "quarter_four"), numbers.per_quarter.get(reducer.id, ()), strict=False
    ):
        words[name] = pressure(rise)
    return words


def _near(facts: Facts, valve: Reducer | ShutOff) -> Words:
    """Return tap and drain between the valves that go with one of three valves in a row."""
    if len(facts.valves) <= 2:
        return {}
    first = facts.is_pair and valve == facts.reducers[0]
    role = facts.stage if first else facts.beside
    words: dict[str, Amount | str | int] = {"t2": facts.taps[role]} if role else {}
    if first:
        words["td2"] = facts.drain_of("between").id
    return words


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
    words.update(_near(facts, valve))
    if valve.factory is not None:
        words["factory"] = pressure(valve.factory.pressure.si)
        words["factory_date"] = valve.factory.date or "@date.unnamed"
    if isinstance(valve, ShutOff):
        words["design_setting"] = pressure(valve.trip.si if valve.trip is not None else 0.0)
        return words
    role = facts.tap_below(valve)
    watching = valve == facts.monitor
    duty = valve.duty.pressure.si
    names = (f"trickle.{role}", *(() if facts.is_pair else ("trickle",)))
    if watching:
        names = ("monitor_set.T3",)
    reading = next((numbers.target_reading[name] for name in names if name in numbers.target_reading), duty)
    words.update(
        {
            "design_setting": pressure(duty),
            "duty": pressure(numbers.target_reading.get(f"duty.{role}", as_read(facts, role, duty))),
            "duty_flow": Amount("flow", valve.duty.flow.si),
            "trickle_reading": pressure(reading),
            **_turn_words(numbers, valve),
            "tap": facts.taps.get(role, role),
            "drain": facts.drain_below(valve).id,
        }
    )
    return words
