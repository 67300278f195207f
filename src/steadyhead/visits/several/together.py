"""What the whole station shows with all its streams in service: who leads, where another one takes over."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import nan

from steadyhead.design.handovers import SHUT
from steadyhead.errors import InputError, NotConverged
from steadyhead.hydraulics import Model, build, solve
from steadyhead.records.parts import Reducer, ShutOff, Tap
from steadyhead.records.plan_numbers import Band, Together
from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions, Steady
from steadyhead.station.elevation import to_level
from steadyhead.visits import defaults as d
from steadyhead.visits.drains import outlet_drain
from steadyhead.visits.gauging import taps_with_gauges
from steadyhead.visits.numbers import band_of, trickle_flow
from steadyhead.visits.sampling import Parameter, draw
from steadyhead.visits.several import defaults as sd
from steadyhead.visits.several.ways import Way
from steadyhead.visits.tolerances import parameters

Draws = Mapping[str, float]


def header_tap(ways: tuple[Way, ...]) -> str:
    """Return the first tap that stands behind every stream; else T3 of the first.

    Where one stream is out at a time it stands beyond the valves of each: the outlet the others hold.
    """
    behind = [_behind(way) for way in ways]
    common = [tap for tap in behind[0] if all(tap in other for other in behind[1:])]
    return (common or _outlet_taps(ways[0]) or [""])[0]


def _behind(way: Way) -> list[str]:
    """Return the taps behind the last valve that acts, beyond the isolating valves of the stream too."""
    main = way.view.layout.main
    last = max((i for i, part in enumerate(main) if isinstance(part, Reducer | ShutOff)), default=-1)
    return [part.id for part in main[last + 1 :] if isinstance(part, Tap)]


def _outlet_taps(way: Way) -> list[str]:
    return [tap.id for section in way.layout.sections if section.name == "outlet" for tap in section.taps]


def together(station: Station, ways: tuple[Way, ...], model: Model | None = None) -> Together:
    """Return how the streams share the flow, by the stated values at typical inlet pressure.

    Raises
    ------
    NotConverged
        The twin could not be settled.
    """
    model = model or build(station)
    trickle = trickle_flow(station)
    leading = {way.last_reducer.id for way in ways if not way.locked_shut}
    lockups = {name: model.lockup[name].si for name in sorted(leading)}
    leader = max(lockups, key=lambda name: lockups[name], default="")
    follower, handover = _handover(station, ways, model, leader, sorted(leading - {leader}), trickle)
    flows = () if handover is None else tuple(share.si * handover for share in sd.NEAR_HANDOVER)
    alive = tuple(sorted(leading))
    return Together(header_tap(ways), leader, follower, handover, flows, trickle, alive, ways[0].mode)


def _handover(
    station: Station, ways: tuple[Way, ...], model: Model, leader: str, others: list[str], trickle: float
) -> tuple[str, float | None]:
    top = _reach(station, ways, model)
    if not others or top <= trickle:
        return "", None

    def carrying(flow: float) -> str:
        steady = _steady(model, Conditions(station.supply.typical.si, consumer_flow=flow))
        if steady is None:
            return ""
        open_ones = (pair for pair in steady.valves.items() if pair[1].state not in SHUT)
        flows = {name: valve.flow for name, valve in open_ones if name in others}
        first = max(flows, key=lambda name: flows[name], default="")
        return first if first and flows[first] >= sd.CARRIES.si * flow else ""

    steps = sd.HANDOVER_STEPS
    low = trickle
    for number in range(1, steps + 1):
        high = trickle * (top / trickle) ** (number / steps)
        if carrying(high):
            break
        low = high
    else:
        return "", None
    while high - low > sd.HANDOVER_FIT.si * low:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if carrying(middle) else (middle, high)
    return carrying(high), high


def _reach(station: Station, ways: tuple[Way, ...], model: Model) -> float:
    """Return the most that the common drain lets off at duty, the station's peak where that is less."""
    drain = outlet_drain(ways[0].layout)
    most = station.demand.peak.si
    if drain is not None and drain.id in model.full:
        duty = max(ways[0].last_reducer.duty.pressure.si, 0.0)
        most = min(most, d.FLOW_TEST_DRAIN_SHARE.si * model.full[drain.id] * duty**0.5)
    return float(most)


def _steady(model: Model, conditions: Conditions) -> Steady | None:
    try:
        return solve(model, conditions)
    except (NotConverged, InputError):
        return None


def bands(
    station: Station, ways: tuple[Way, ...], facts: Together, samples: int = sd.SAMPLES
) -> dict[str, Band]:
    """Return the readings expected at the header with the streams in service together.

    All reducers count as set today with one gauge: its error moves all settings alike. Repeatability, lock
    nut, lock-up rise, slope, droop and supply effect are drawn for each reducer; losses stand as stated.

    Returns
    -------
    dict
        ``together.trickle.T3``, ``together.lockup.T3``, ``handover.1.T3`` below and ``handover.2.T3`` above
        the changeover, ``handover.hand.T3`` with the leading stream shut where no flow within reach brings a
        changeover, ``one_out.KEY.T3`` with that stream's shut-off shut. [Pa at the tap]
    """
    model = build(station)
    gauge = _gauge(ways, facts.header)
    listed = _parameters(ways, gauge.id)
    drawn = draw(listed, samples, d.SEED)
    names = tuple(drawn.values)
    columns = (drawn[name].tolist() for name in names)
    rows = [dict(zip(names, row, strict=True)) for row in zip(*columns, strict=True)]
    stated = {parameter.name: parameter.as_stated for parameter in listed}
    found = {}
    for key, conditions in _situations(station, ways, facts):
        steady = _steady(model, conditions)
        if steady is None:
            continue
        flows = {name: valve.flow for name, valve in steady.valves.items()}
        nominal = _reading(model, conditions, stated, gauge, flows)
        values = [_reading(model, conditions, row, gauge, flows) for row in rows]
        band = band_of(values, nominal)
        if band is not None:
            found[key] = band
    return found


def _situations(station: Station, ways: tuple[Way, ...], facts: Together) -> Iterator[tuple[str, Conditions]]:
    typical = station.supply.typical.si
    yield "together.trickle.T3", Conditions(typical, consumer_flow=facts.trickle)
    yield "together.lockup.T3", Conditions(typical)
    for number, flow in enumerate(facts.flows, 1):
        yield f"handover.{number}.T3", Conditions(typical, consumer_flow=flow)
    for way in covered(ways):
        shut_off = way.shut_off
        lift = {shut_off.id: 0.0} if shut_off is not None else {}
        yield f"one_out.{way.key}.T3", Conditions(typical, consumer_flow=facts.trickle, forced_lift=lift)
    leading = leading_way(ways, facts)
    if not facts.flows and leading is not None:
        out = frozenset({leading.branch})
        yield "handover.hand.T3", Conditions(typical, consumer_flow=facts.trickle, isolated=out)


def leading_way(ways: tuple[Way, ...], facts: Together) -> Way | None:
    """Return the way whose reducer leads, where it can be shut alone beside another one in service."""
    alive = [way for way in ways if not way.locked_shut]
    found = next((way for way in alive if way.last_reducer.id == facts.leader), None)
    return found if found is not None and len(alive) > 1 else None


def covered(ways: tuple[Way, ...]) -> tuple[Way, ...]:
    """Return the ways whose shut-off may act while another way stays in service."""
    alive = [way for way in ways if not way.locked_shut]
    found = []
    for way in alive:
        shut_off = way.shut_off
        others = [
            other for other in alive if shut_off is not None and shut_off not in other.view.layout.shut_offs
        ]
        if others:
            found.append(way)
    return tuple(found)


def covering(way: Way, ways: tuple[Way, ...]) -> Way:
    """Return the way that holds the outlet while the shut-off of `way` stands shut: the highest set."""
    others = [w for w in ways if not w.locked_shut and way.shut_off not in w.view.layout.shut_offs]
    return max(others, key=lambda other: other.last_reducer.duty.pressure.si)


@dataclass(frozen=True, slots=True)
class _Gauge:
    """The gauge at the header; height above the datum [m]."""

    id: str
    tap: str
    height: float


def _gauge(ways: tuple[Way, ...], header: str) -> _Gauge:
    way = ways[0]
    tool = taps_with_gauges(way.station, way.layout)["T3"].gauge
    part = next((p for p in way.view.layout.main if p.id == header), None)
    height = part.height.si if isinstance(part, Tap) and part.height is not None else 0.0
    return _Gauge(tool.id, header, height)


def _parameters(ways: tuple[Way, ...], gauge: str) -> tuple[Parameter, ...]:
    found: dict[str, Parameter] = {}
    for way in ways:
        tools = {tap.gauge.id: tap.gauge for tap in taps_with_gauges(way.station, way.layout).values()}
        for parameter in parameters(way.view.station, way.layout, tools.values(), ()):
            found.setdefault(parameter.name, parameter)
    wanted = (".repeat.trickle_set", ".nut", ".slope", ".droop", ".supply_effect", ".lockup_rise")
    once = ("supply.day", f"gauge.{gauge}")
    return tuple(p for name, p in found.items() if name.endswith(wanted) or name in once)


def _reading(
    model: Model, conditions: Conditions, draws: Draws, gauge: _Gauge, flows: Mapping[str, float]
) -> float:
    """Return what the gauge at the header reads in one drawn situation. [Pa]"""
    error = draws.get(f"gauge.{gauge.id}", 0.0)
    supply = draws.get("supply.day", conditions.supply_pressure)
    lockup, band = {}, {}
    for reducer in model.reducers:
        usual = model.lockup[reducer.id].si - reducer.duty.pressure.si
        rise = draws.get(f"{reducer.id}.lockup_rise", usual)
        again = draws.get(f"{reducer.id}.repeat.trickle_set", 0.0) + draws.get(f"{reducer.id}.nut", 0.0)
        shift = _shift(model, reducer, draws, rise, flows.get(reducer.id, 0.0), supply)
        lockup[reducer.id] = reducer.duty.pressure.si + rise + again - error + shift
        if usual > 0.0 and rise > 0.0:
            band[reducer.id] = model.band[reducer.id].si * rise / usual
    steady = _steady(model, replace(conditions, supply_pressure=supply, lockup=lockup, band=band))
    if steady is None:
        return nan
    at_datum = steady.taps.get(gauge.tap, nan)
    return to_level(at_datum, level=gauge.height, datum=0.0, density=model.density) + error


def _shift(model: Model, reducer: Reducer, draws: Draws, rise: float, flow: float, supply: float) -> float:
    """Return how far a real pilot stands above the twin's at a flow and supply pressure. [Pa]

    Straight in both, as `steadyhead.visits.trial` has it for one line.
    """
    station, duty = model.station, reducer.duty.flow.si
    found = draws.get(f"{reducer.id}.supply_effect", 0.0) * (supply - station.supply.typical.si)
    peak = station.demand.peak.si
    if 0.0 < flow < duty:
        found += draws.get(f"{reducer.id}.slope", 0.0) * rise * (1.0 - flow / duty)
    elif flow > duty and peak > duty:
        found -= draws.get(f"{reducer.id}.droop", 0.0) * (flow - duty) / (peak - duty)
    return found
