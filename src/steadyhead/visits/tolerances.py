"""Everything that may differ between the stated station and the true one, as random parameters.

Names are ``part.fact``; the readings pick them up by name (`steadyhead.visits.readings`). A stated
``plus_minus`` replaces the default width; so do repeatability and drift where the file states them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from steadyhead.design import defaults as dd
from steadyhead.design import tolerances as tol
from steadyhead.records.parts import (
    Drain,
    FlowMeter,
    IsolatingValve,
    Reducer,
    Relief,
    ShutOff,
    Strainer,
)
from steadyhead.records.station import Station
from steadyhead.records.values import Origin, Value
from steadyhead.station.layout import Layout
from steadyhead.station.mechanics import (
    ValveTwin,
    drain_kv,
    isolating_kv,
    meter_kv,
    pressure_per_turn,
    reducer_twin,
    shut_off_twin,
    strainer_kv,
)
from steadyhead.visits import defaults as d
from steadyhead.visits import spans
from steadyhead.visits.gauging import Instrument
from steadyhead.visits.questions import Question
from steadyhead.visits.reliefs import relief_error, relief_reseat
from steadyhead.visits.sampling import Parameter

LEAST_KELVIN = 273.25
"""Coldest water drawn; below it there is ice, not water. [K]"""
LARGEST_SHARE = 0.9
"""Largest relative half-width: a flow coefficient stays above nothing. [1]"""


_READ_ANEW = (
    "trickle", "lockup", "v2_drain", "set", "trickle_set", "lockup_set", "flow", "trip", "lowest",
    "v2_drain_lowest", "service",
)  # fmt: skip
"""Situations into which a reducer comes anew, each with its own draw of repeatability."""


def parameters(
    station: Station, layout: Layout, instruments: Iterable[Instrument], asked: Iterable[Question]
) -> tuple[Parameter, ...]:
    """Return what may vary at a station that is read with given instruments, one parameter for each fact.

    Parameters
    ----------
    station, layout
        The stated station.
    instruments
        Those taken along; each has one error for the whole visit.
    asked
        Readings; each has an error of reading of its own.
    """
    found = [*_supply(station), *_losses(layout)]
    for reducer in layout.reducers:
        found += _reducer(reducer)
    for shut_off in layout.shut_offs:
        found += _shut_off(shut_off)
    found += _crew(layout)
    if (watching := spans.monitor(layout)) is not None:
        found += _monitor(watching)
    for relief in spans.reliefs(layout):
        found += _relief(relief)
    if any(question.situation == "closing_service" for question in asked):
        found.append(_service(station))
    for tool in instruments:
        found.append(Parameter(f"gauge.{tool.id}", "between", 0.0, tool.error, tool.source))
    for question in asked:
        names = [f"reading.{question.key}"]
        if question.place == "loss":
            names.append(f"reading after.{question.key}")
        found += [Parameter(name, "between", 0.0, 1.0, d.READING_SHARE.source) for name in names]
    if station.alarm is not None:
        error = station.alarm.error.si if station.alarm.error else dd.ALARM_ERROR.si
        found.append(Parameter("alarm", "between", station.alarm.pressure.si, error, dd.ALARM_ERROR.source))
    return tuple(found)


def _supply(station: Station) -> Iterator[Parameter]:
    supply, water = station.supply, station.water
    stated = {"min": supply.min, "typical": supply.typical, "night": supply.night, "static": supply.static}
    steps: list[tuple[float, float]] = []
    for name, share in d.DAY_SHARES:
        value = stated[name]
        if value is not None:
            steps.append((share, max(value.si, steps[-1][1]) if steps else value.si))
    yield Parameter(
        "supply.day", "ladder", supply.typical.si, 0.0, "pressures of the file over the day", tuple(steps)
    )
    low = water.lowest.si if water.lowest else water.temperature.si - d.TEMPERATURE_SPREAD.si
    high = water.highest.si if water.highest else water.temperature.si + d.TEMPERATURE_SPREAD.si
    low, high = max(low, LEAST_KELVIN), max(high, LEAST_KELVIN)
    yield Parameter("water.temperature", "between", (low + high) / 2, (high - low) / 2, "range of the file")
    if supply.main is not None and supply.stated_at == "head of main":
        yield Parameter(
            "supply main.roughness", "factor", 1.0, d.ROUGHNESS_FACTOR.si, d.ROUGHNESS_FACTOR.source
        )


def _losses(layout: Layout) -> Iterator[Parameter]:
    for part in layout.main:
        if isinstance(part, IsolatingValve):
            yield _coefficient(part.id, isolating_kv(part))
        elif isinstance(part, Strainer):
            yield _coefficient(part.id, strainer_kv(part))
        elif isinstance(part, FlowMeter):
            yield _coefficient(part.id, meter_kv(part))
        elif isinstance(part, Drain):
            yield _coefficient(part.id, drain_kv(part))


def _coefficient(part_id: str, kv: Value) -> Parameter:
    default = d.STATED_KV_SPREAD
    share = kv.spread / kv.si if kv.spread is not None and kv.si > 0 else default.si
    source = (
        kv.source
        if kv.origin is Origin.DEFAULT
        else "plus_minus of the file"
        if kv.spread
        else default.source
    )
    return Parameter(f"{part_id}.kv", "between", 1.0, min(share, LARGEST_SHARE), source)


def _inside(part_id: str, twin: ValveTwin) -> Iterator[Parameter]:
    yield _coefficient(part_id, twin.kv)
    for name, default in d.INSIDE_SPREAD.items():
        value = getattr(twin, name)
        if name == "curve_shape" and twin.curve:
            continue
        if value.spread is not None and value.si > 0:
            yield Parameter(
                f"{part_id}.{name}",
                "between",
                1.0,
                min(value.spread / value.si, LARGEST_SHARE),
                "plus_minus of the file",
            )
        elif value.origin is Origin.DEFAULT:
            yield Parameter(f"{part_id}.{name}", "between", 1.0, default.si, default.source)


def _reducer(part: Reducer) -> Iterator[Parameter]:
    duty = part.duty.pressure
    repeat, repeat_source = tol.stated_or_share(
        part.repeatability, dd.REDUCER_REPEATABILITY, dd.REDUCER_REPEATABILITY_SHARE, duty.si
    )
    drift, drift_source = tol.stated_or_share(part.drift, None, dd.REDUCER_DRIFT_SHARE, duty.si)
    yield from _inside(part.id, reducer_twin(part))
    source = "plus_minus of the file" if duty.spread else "stated duty"
    yield Parameter(f"{part.id}.duty", "between", duty.si, duty.spread or 0.0, source)
    yield Parameter(f"{part.id}.drift", "between", 0.0, drift, drift_source)
    for when in _READ_ANEW:
        yield Parameter(f"{part.id}.repeat.{when}", "about", 0.0, repeat, repeat_source)
    yield _rise(part)
    yield _lowest(part)
    yield from _beyond_the_twin(part.id)
    yield from _screw(part.id, pressure_per_turn(part.pilot))


def _monitor(part: Reducer) -> Iterator[Parameter]:
    repeat, source = tol.stated_or_share(
        part.repeatability, dd.REDUCER_REPEATABILITY, dd.REDUCER_REPEATABILITY_SHARE, part.duty.pressure.si
    )
    for when in ("monitor", "monitor_set", "monitor_lockup", "monitor_lockup_set"):
        yield Parameter(f"{part.id}.repeat.{when}", "about", 0.0, repeat, source)


def _relief(part: Relief) -> Iterator[Parameter]:
    error, fall = relief_error(part), part.crack.si - relief_reseat(part)
    step = 0.5 * d.RELIEF_STEP.si
    source = dd.RELIEF_ERROR.source if part.error is None else "error of the file"
    yield Parameter(f"{part.id}.crack", "between", 0.0, error, source)
    yield Parameter(f"{part.id}.step", "between", step, step, d.RELIEF_STEP.source)
    spread = d.RELIEF_FALL_SPREAD
    yield Parameter(f"{part.id}.reseat", "between", fall, spread.si * fall, spread.source)


def _beyond_the_twin(part_id: str) -> Iterator[Parameter]:
    """Yield what real pilots do that the twin, calibrated on no valve, does not."""
    for name, width in (
        ("slope", d.SLOPE_SHARE),
        ("droop", d.EXTRA_DROOP),
        ("supply_effect", d.SUPPLY_EFFECT),
    ):
        half = width.si / 2
        yield Parameter(f"{part_id}.{name}", "between", half, half, width.source, nominal=0.0)


def _lowest(part: Reducer) -> Parameter:
    """Return the lowest setting over the plate's: a screw turned out to its stop may leave a spring slack."""
    low, high = 1.0 - d.LOWEST_LESS.si, 1.0 + d.LOWEST_MORE.si
    return Parameter(
        f"{part.id}.lowest", "between", (low + high) / 2, (high - low) / 2, d.LOWEST_LESS.source, nominal=1.0
    )


def _service(station: Station) -> Parameter:
    low, high = sorted((station.demand.night.si, station.demand.average.si))
    middle, half = (low + high) / 2, (high - low) / 2
    return Parameter("service", "between", middle, half, "night and average flow of the file")


def _rise(part: Reducer) -> Parameter:
    from steadyhead.station.defaults import LOCKUP_RISE

    name, least = f"{part.id}.lockup_rise", d.LEAST_LOCKUP_RISE.si
    if part.lockup is None and part.kind == "direct-acting":
        direct = d.DIRECT_RISE
        return Parameter(name, "between", direct.si, direct.spread or 0.0, direct.source)
    if part.lockup is None:
        half = LOCKUP_RISE.spread or 0.0
        return Parameter(
            name, "between", LOCKUP_RISE.si, min(half, LOCKUP_RISE.si - least), LOCKUP_RISE.source
        )
    rise = max(part.lockup.si - part.duty.pressure.si, least)
    half = part.lockup.spread if part.lockup.spread is not None else d.LOCKUP_RISE_SPREAD.si
    return Parameter(name, "between", rise, min(half, rise - least), d.LOCKUP_RISE_SPREAD.source)


def _shut_off(part: ShutOff) -> Iterator[Parameter]:
    yield from _inside(part.id, shut_off_twin(part))
    trip = part.trip.si if part.trip else 0.0
    repeat, repeat_source = tol.stated_or_share(
        part.repeatability, dd.SHUT_OFF_REPEATABILITY, dd.SHUT_OFF_REPEATABILITY_SHARE, trip
    )
    drift, drift_source = tol.stated_or_share(part.drift, None, dd.SHUT_OFF_DRIFT_SHARE, trip)
    yield Parameter(f"{part.id}.drift", "between", 0.0, drift, drift_source)
    half_step = 0.5 * d.PILOT_STEP_SHARE.si * repeat
    for when in ("trip", "trip_set"):
        yield Parameter(f"{part.id}.repeat.{when}", "about", 0.0, repeat, repeat_source)
        yield Parameter(f"{part.id}.step.{when}", "between", half_step, half_step, d.PILOT_STEP_SHARE.source)
    yield Parameter(f"{part.id}.dead_band", "between", 1.0, d.DEAD_BAND_SPREAD.si, d.DEAD_BAND_SPREAD.source)
    if part.closing is not None:
        time = part.closing.time
        half = (
            time.spread / time.si if time.spread is not None and time.si > 0 else d.CLOSING_SPREAD_STATED.si
        )
        yield Parameter(f"{part.id}.closing", "between", 1.0, half, d.CLOSING_SPREAD_STATED.source)
    else:
        yield Parameter(
            f"{part.id}.closing", "between", 1.0, d.CLOSING_SPREAD_DEFAULT.si, d.CLOSING_SPREAD_DEFAULT.source
        )
    yield from _screw(part.id, pressure_per_turn(part.pilot))


def _screw(part_id: str, rate: Value) -> Iterator[Parameter]:
    half = rate.spread / rate.si if rate.spread is not None else d.PER_TURN_SPREAD.si
    yield Parameter(f"{part_id}.per_turn", "between", 1.0, half, rate.source or d.PER_TURN_SPREAD.source)


def _crew(layout: Layout) -> Iterator[Parameter]:
    metered = any(
        isinstance(part, FlowMeter) or (isinstance(part, Drain) and part.metered) for part in layout.main
    )
    flow = d.METERED_FLOW_SPREAD if metered else d.JUDGED_FLOW_SPREAD
    yield Parameter("trickle", "between", 1.0, d.JUDGED_FLOW_SPREAD.si, d.JUDGED_FLOW_SPREAD.source)
    yield Parameter("flow", "between", 1.0, flow.si, flow.source)
    yield Parameter("hold", "between", 0.0, d.HOLD_BAND.si, d.HOLD_BAND.source)
    for reducer in layout.reducers:
        yield Parameter(f"{reducer.id}.nut", "between", 0.0, d.NUT_SHIFT.si, d.NUT_SHIFT.source)
