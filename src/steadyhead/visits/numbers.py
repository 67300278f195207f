"""Everything a plan prints as a number, worked out by the twin before anybody travels."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt

from steadyhead.design.basis import Basis
from steadyhead.design.ladder import combined
from steadyhead.design.tolerances import REPEATABILITY, trip_tolerances
from steadyhead.design.twin import SteadyTwin
from steadyhead.errors import InputError
from steadyhead.findings import Amount, Finding, Severity
from steadyhead.hydraulics import Model
from steadyhead.records.ladder import Contribution
from steadyhead.records.plan_numbers import Band, InletOpening, PlanNumbers, Pumped
from steadyhead.records.procedure import Kind
from steadyhead.records.station import Station
from steadyhead.station.layout import Layout
from steadyhead.visits import defaults as d
from steadyhead.visits import spans
from steadyhead.visits.accepting import trips_within
from steadyhead.visits.drains import (
    budget,
    flush,
    flush_too_slow,
    outlet_drain,
    outlet_storage,
    over_permit,
    pump_volumes,
)
from steadyhead.visits.drawn import Asked, band_of, drawn
from steadyhead.visits.filling import fill_surge, fill_velocity
from steadyhead.visits.gauging import Tap, error_allowed, judge_gauges, taps_with_gauges
from steadyhead.visits.openings import (
    Held,
    drain_too_small,
    inlet_opening,
    section_limit,
    section_rating,
    sections_to_hold,
)
from steadyhead.visits.pumping import pumped
from steadyhead.visits.questions import questions
from steadyhead.visits.readings import Work
from steadyhead.visits.reliefs import pump_stop
from steadyhead.visits.turns import (
    Stop,
    coarse_spring,
    first_turn,
    lowest_lockup,
    no_first_turn,
    per_quarter,
    response,
    tables,
)
from steadyhead.visits.warming import warmed


@dataclass(frozen=True)
class _Frame:
    """One station read once, with what the plan will do there."""

    station: Station
    model: Model
    taps: Mapping[str, Tap]
    moves_trip: tuple[Contribution, ...]
    tolerance_up: float
    trickle: float
    flow_points: tuple[float, ...]


def work_out(station: Station, kind: Kind, *, samples: int = d.SAMPLES) -> PlanNumbers:
    """Return the figures of a plan for one station.

    Deterministic: the same station gives the same figures. Bands hold the central 95 % of what the twin says
    over the tolerances of the station, errors of gauge and reading drawn with them, not added.

    Parameters
    ----------
    station
        The station; its layout must be covered and have an inlet valve and taps.
    kind
        Of the plan; only the drain budget depends on it.
    samples
        Drawn stations; fewer make bands rougher, not biased.

    Returns
    -------
    PlanNumbers
        Bands by question (`steadyhead.visits.questions`), openings, turn tables, budget, and findings.

    Raises
    ------
    InputError
        The station has no reducer, or no tap to read.
    NotConverged
        The twin cannot be settled at the duty.
    """
    frame = _frame(station)
    findings: list[Finding] = []
    opened = _openings(frame, findings)
    share = min((opening.share for opening in opened.values()), default=1.0)
    work = _work(frame, share)
    limits = _limits(frame)
    stop = _at_outlet(frame, limits["outlet"]) if "outlet" in limits else None
    within = _bands(work, station, samples, findings)
    targets = _targets(frame, work, within)
    bands = trips_within(within, targets.get("trip_low"), stop)
    stops = _stops(frame)
    turns, lowest_turns = _first_turns(frame, stops, bands, findings)
    layout = frame.model.layout
    rows = budget(
        station, layout, kind, trickle=frame.trickle, flow_points=frame.flow_points,
        reachable=_reachable(frame, opened),
    )  # fmt: skip
    findings += over_permit(rows, station.parts())
    way = flush(station, layout) if kind == "first" else None
    findings += _screws(frame)
    findings += flush_too_slow(way)
    findings += fire_not_reached(station, layout, frame.flow_points) if kind == "first" else ()
    scatter = combined(frame.moves_trip, "worst case")
    edges = _trip_edges(frame)
    good, poor = judge_gauges(station.gauges, scatter, edges[1] if edges is not None else 0.0)
    return PlanNumbers(
        bands=bands,
        trickle_flow=frame.trickle,
        inlet_opening=opened,
        test_limit=limits,
        setting_gauge_error=error_allowed(scatter),
        section_rating=_ratings(frame),
        target_reading=targets,
        turn_tables=tables(work, stops),
        response=response(work, stops[spans.worker(layout).id]) if spans.worker(layout).id in stops else None,
        drain_budget=rows,
        pump_volume=_pump_volume(frame),
        pumped=_pumped(frame),
        pump_stroke=d.PUMP_STROKE.si,
        outlet_storage=outlet_storage(layout),
        flow_points=frame.flow_points,
        fill_speed=fill_velocity(station, frame.model),
        fill_surge=fill_surge(station, frame.model),
        good_gauges=good,
        poor_gauges=poor,
        first_turn=turns,
        first_turn_lowest=lowest_turns,
        per_quarter={r.id: per_quarter(frame.model.twins[r.id].per_turn.si) for r in layout.reducers},
        spring_lowest=_lowest_readings(frame),
        flush=way,
        warmed=warmed(station, frame.taps["T3"]),
        findings=tuple(findings),
    )


def _frame(station: Station) -> _Frame:
    twin = SteadyTwin(station)
    model = twin.model
    if not model.layout.reducers:
        raise InputError("line", "got no reducer.", "A plan needs a reducer to test.")
    taps = taps_with_gauges(station, model.layout)
    if "T3" not in taps:
        raise InputError("line", "got no tap between the last valve and the outlet valve.", "Add the tap T3.")
    shut_off = model.layout.shut_off
    moves: tuple[Contribution, ...] = ()
    if shut_off is not None and shut_off.trip is not None:
        moves = trip_tolerances(Basis(station, twin), shut_off, shut_off.trip.si)
    trickle = trickle_flow(station)
    points = flow_points(station, model, trickle)
    return _Frame(station, model, taps, moves, combined(moves, station.stacking), trickle, points)


def trickle_flow(station: Station) -> float:
    """Return the trickle of the tests: 2 % of the peak flow, rounded to a flow somebody can set. [m³/s]"""
    wanted = d.TRICKLE_SHARE.si * station.demand.peak.si * 1e3
    return min(d.TRICKLE_STEPS, key=lambda step: (abs(step - wanted), step)) * 1e-3


def flow_points(station: Station, model: Model, trickle: float) -> tuple[float, ...]:
    """Return the flows of the flow test, trickle first, closer together where they are small. [m³/s]

    The highest is a little over the peak flow, or the fire flow where that is more; or what the drain lets
    off at the duty if that is less.
    """
    drain = outlet_drain(model.layout)
    fire = station.demand.fire.si if station.demand.fire is not None else 0.0
    top = max(d.FLOW_TEST_OVER_PEAK.si * station.demand.peak.si, fire)
    if drain is not None:
        duty = spans.worker(model.layout).duty.pressure.si
        top = min(top, d.FLOW_TEST_DRAIN_SHARE.si * model.full[drain.id] * sqrt(max(duty, 0.0)))
    top = max(top, d.LEAST_FLOW_SPAN * trickle)
    last = d.FLOW_POINTS - 1
    raw = [trickle + (top - trickle) * (i / last) ** d.FLOW_POINT_POWER for i in range(d.FLOW_POINTS)]
    points = [trickle, *(_round(flow) for flow in raw[1:])]
    if top == fire:
        points[-1] = fire
    return tuple(dict.fromkeys(points))


def fire_not_reached(station: Station, layout: Layout, points: tuple[float, ...]) -> tuple[Finding, ...]:
    """Return a finding where no point of the flow test reaches the fire flow: the plan does not prove it."""
    fire, drain = station.demand.fire, outlet_drain(layout)
    reached = max(points, default=0.0)
    if fire is None or drain is None or reached >= fire.si:
        return ()
    told = Finding(
        "NUM-09",
        "demand.fire",
        Severity.HEED,
        params={
            "drain": drain.id,
            "reached": Amount("flow", reached),
            "fire": Amount("flow", fire.si),
        },
        value=Amount("flow", reached),
        limit=Amount("flow", fire.si),
        margin=Amount("flow", reached - fire.si),
    )
    return (told,)


def _round(flow: float) -> float:
    return float(f"{flow:.2g}")


def _openings(frame: _Frame, findings: list[Finding]) -> dict[str, InletOpening]:
    found = {}
    for held in sections_to_hold(frame.station, frame.model, frame.tolerance_up):
        opening = inlet_opening(frame.model, held)
        if opening is None:
            findings.append(drain_too_small(frame.model, held))
            continue
        if opening.turns is None:
            findings.append(_turns_unknown(frame, held))
        found[held.section] = opening
    return found


def _turns_unknown(frame: _Frame, held: Held) -> Finding:
    valve = frame.model.layout.inlet_valve
    name = "" if valve is None else valve.id
    words = {"valve": name, "section": held.section}
    return Finding("NUM-02", f"line {name}: turns", Severity.HEED, params=words)


def _limits(frame: _Frame) -> dict[str, float]:
    found = {}
    held = spans.held(frame.model.layout)
    behind = {"between": _first_between(frame)} if not held else {n: s.role for n, s in held.items()}
    for section in ("outlet", *behind):
        if behind.get(section, "T3") not in frame.taps:
            continue
        limit = section_limit(frame.station, frame.model, section, frame.tolerance_up)
        if limit is not None:
            found[section] = limit
    return found


def _first_between(frame: _Frame) -> str:
    """Return the role of the first tap between the valves; empty without one."""
    return next(iter(spans.between_roles(frame.model.layout)), "")


def _work(frame: _Frame, share: float) -> Work:
    station, layout = frame.station, frame.model.layout
    shut_off = layout.shut_off
    asked = questions(
        layout,
        flow_points=len(frame.flow_points),
        trip=shut_off is not None and shut_off.trip is not None,
        alarm=station.alarm is not None,
        dead_band=shut_off is not None and shut_off.dead_band is not None,
    )
    targets: dict[str, float] = {}
    density = frame.model.density
    for reducer in spans.judged(layout):
        role = spans.role_of(layout, reducer.id)
        if role in frame.taps:
            targets[f"duty.{role}"] = frame.taps[role].at_tap(reducer.duty.pressure.si, density)
    if (watching := spans.monitor(layout)) is not None:
        targets["monitor.T3"] = frame.taps["T3"].at_tap(watching.duty.pressure.si, density)
    if shut_off is not None and shut_off.trip is not None:
        targets["trip.T3"] = frame.taps["T3"].at_tap(shut_off.trip.si, density)
    return Work(frame.model, frame.taps, asked, share, frame.trickle, frame.flow_points, targets)


def _bands(work: Work, station: Station, samples: int, findings: list[Finding]) -> dict[str, Band]:
    found, unanswered = drawn(Asked(station, work.inlet_share, samples, work))
    findings.extend(unanswered)
    return dict(found)


def _targets(frame: _Frame, work: Work, bands: Mapping[str, Band]) -> dict[str, float]:
    found = dict(work.targets)
    for name in ("trickle", "lockup"):
        for role in ("T2", "T2a", "T2b", "T3"):
            band = bands.get(f"{name}.{role}")
            if band is not None and f"duty.{role}" in work.targets:
                found[f"{name}.{role}"] = band.nominal
    for name in ("duty", "trickle", "lockup", "trip"):
        if f"{name}.T3" in found:
            found[name] = found[f"{name}.T3"]
    found |= {name: band.nominal for name, band in bands.items() if name.partition(".")[0] in _BY_QUESTION}
    edges = _trip_edges(frame)
    if edges is not None:
        found["trip_low"], found["trip_high"] = (_at_outlet(frame, edge) for edge in edges)
    alarm = frame.station.alarm
    if alarm is not None:
        found["alarm"] = frame.taps["T3"].at_tap(alarm.pressure.si, frame.model.density)
    if "reset.T3" in bands:
        found["reset"] = bands["reset.T3"].nominal
    return found


_BY_QUESTION = (
    "monitor", "monitor_set", "monitor_lockup", "monitor_lockup_set", "relief_crack", "relief_reseat",
)  # fmt: skip
"""Questions whose usual reading the steps name."""


def _stops(frame: _Frame) -> dict[str, Stop]:
    limits = _limits(frame)
    found = {}
    for reducer in spans.judged(frame.model.layout):
        role = spans.role_of(frame.model.layout, reducer.id)
        section = "outlet" if role == "T3" else "between"
        if section in limits and role in frame.taps:
            found[reducer.id] = Stop(role, limits[section])
    return found


def _first_turns(
    frame: _Frame, stops: Mapping[str, Stop], bands: Mapping[str, Band], findings: list[Finding]
) -> tuple[dict[str, float], dict[str, float]]:
    """Return the first safe turns from the trickle reading and from the lowest setting."""
    trickle, lowest = dict[str, float](), dict[str, float]()
    for reducer in frame.model.layout.reducers:
        stop = stops.get(reducer.id)
        if stop is None:
            continue
        rate = frame.model.twins[reducer.id].per_turn.si
        bottom = first_turn(lowest_lockup(frame.model, reducer), stop, rate)
        if bottom is not None:
            lowest[reducer.id] = bottom
        band = bands.get(f"trickle.{stop.role}")
        if band is None:
            continue
        start = band.nominal - frame.taps[stop.role].at_tap(0.0, frame.model.density)
        turn = first_turn(start, stop, rate)
        if turn is None:
            findings.append(no_first_turn(reducer, start, stop))
        else:
            trickle[reducer.id] = turn
    return trickle, lowest


def _lowest_readings(frame: _Frame) -> dict[str, float]:
    """Return every reducer's lowest setting as its own tap reads it. [Pa]"""
    found = {}
    for reducer in frame.model.layout.reducers:
        tap = frame.taps.get(spans.role_of(frame.model.layout, reducer.id))
        if tap is not None:
            found[reducer.id] = tap.at_tap(reducer.pilot.spring_low.si, frame.model.density)
    return found


def _reachable(frame: _Frame, opened: Mapping[str, InletOpening]) -> float:
    """Return the most that runs at duty through the inlet valve at its V2 opening and the open drain. [m³/s]

    Notes
    -----
    Ahead of the outlet p_static - p = R Q², from the held pressure by the stated values; behind it Q = k √p.
    """
    drain = outlet_drain(frame.model.layout)
    duty = max(spans.worker(frame.model.layout).duty.pressure.si, 0.0)
    if drain is None:
        return 0.0
    most = d.FLOW_TEST_DRAIN_SHARE.si * frame.model.full[drain.id] * sqrt(duty)
    opening = opened.get("outlet")
    if opening is None or not opening.expected or opening.expected <= 0.0:
        return most
    supply = frame.station.supply
    through = frame.model.full[drain.id] ** 2 * opening.expected
    resistance = (supply.static.si - opening.expected) / through
    if resistance <= 0.0:
        return most
    return min(most, sqrt(max(supply.typical.si - duty, 0.0) / resistance))


def _ratings(frame: _Frame) -> dict[str, float]:
    rated = {
        name: section_rating(frame.station, frame.model, name) for name in ("inlet", "between", "outlet")
    }
    return {name: limit for name, limit in rated.items() if limit is not None}


def _pump_volume(frame: _Frame) -> dict[str, float]:
    limit = _limits(frame).get("outlet")
    if limit is None:
        return {}
    return pump_volumes(frame.model.layout, spans.worker(frame.model.layout).duty.pressure.si, limit)


def _pumped(frame: _Frame) -> dict[str, Pumped]:
    limit, edges = _limits(frame).get("outlet"), _trip_edges(frame)
    if limit is None:
        return {}
    return pumped(
        frame.station,
        zone=spans.worker(frame.model.layout).duty.pressure.si,
        limit=limit,
        relief=pump_stop(frame.model.layout),
        trip_low=edges[0] if edges is not None else None,
        read=lambda at_datum: _at_outlet(frame, at_datum),
    )


def _trip_edges(frame: _Frame) -> tuple[float, float] | None:
    """Return the trip less and plus its upper tolerance, where an as-found proof is valid. [Pa at datum]"""
    shut_off = frame.model.layout.shut_off
    if shut_off is None or shut_off.trip is None:
        return None
    return shut_off.trip.si - frame.tolerance_up, shut_off.trip.si + frame.tolerance_up


def _at_outlet(frame: _Frame, at_datum: float) -> float:
    return frame.taps["T3"].at_tap(at_datum, frame.model.density)


def _screws(frame: _Frame) -> list[Finding]:
    shut_off = frame.model.layout.shut_off
    if shut_off is None or shut_off.trip is None:
        return []
    repeat = next(part.size for part in frame.moves_trip if part.label == REPEATABILITY)
    judged = (shut_off, spans.worker(frame.model.layout))
    found = [coarse_spring(part, frame.model.twins[part.id].per_turn, repeat) for part in judged]
    return [finding for finding in found if finding is not None]


__all__ = ["band_of", "flow_points", "trickle_flow", "work_out"]
