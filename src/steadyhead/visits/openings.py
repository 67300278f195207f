"""How far the inlet isolating valve may stand open so that a drain alone holds a section (invariant V2)."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

from steadyhead.design import defaults as dd
from steadyhead.design import limits
from steadyhead.design.basis import Basis
from steadyhead.design.ladder import combined
from steadyhead.design.tolerances import stated_or_share, trip_tolerances
from steadyhead.design.twin import SteadyTwin
from steadyhead.findings import Amount, Finding, Severity
from steadyhead.findings.model import Input, Parameter
from steadyhead.hydraulics import Model, solve
from steadyhead.records.ladder import ComponentLimit
from steadyhead.records.parts import Drain
from steadyhead.records.plan_numbers import InletOpening, OpeningRow
from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions
from steadyhead.records.values import Origin
from steadyhead.station import defaults as sd
from steadyhead.station.mechanics import drain_kv
from steadyhead.visits import defaults as d
from steadyhead.visits import spans
from steadyhead.visits.drains import outlet_drain
from steadyhead.visits.reliefs import full_lift, stands_in

_HALVINGS = 48


@dataclass(frozen=True, slots=True)
class Held:
    """A section that must be held: its name, the drain that holds it, the most it may see [Pa at datum]."""

    section: str
    drain: Drain
    limit: float


@dataclass(frozen=True, slots=True)
class Margin:
    """How far the parts of a held section may lie off their stated values, each the worse way.

    drain: share of its stated Kv; inlet: share of the flow coefficient the valve law gives at an opening;
    line: share of the Kv of everything else ahead of the drain. [1]
    """

    drain: float
    inlet: float
    line: float = 1.0


AS_STATED = Margin(1.0, 1.0)


def margin_of(model: Model, drain: Drain) -> Margin:
    """Return what a protection that rests on a drain and a part-open valve must allow for.

    A drain's Kv that is measured counts with its stated or usual spread, one that is not with a fifth less, a
    default with its own spread. The law of the part-open valve is an estimate always. The line ahead counts
    with the widest spread of its reducers.
    """
    kv = drain_kv(drain)
    if kv.spread is not None and kv.si > 0.0:
        less = kv.spread / kv.si
    elif kv.origin is Origin.MEASURED or kv.confidence == "measured":
        less = d.STATED_KV_SPREAD.si
    else:
        less = d.UNMEASURED_DRAIN.si
    valves = [model.reducer_twin(reducer.id).kv for reducer in model.layout.reducers]
    spreads = [kv.spread / kv.si for kv in valves if kv.spread is not None and kv.si > 0.0]
    line = 1.0 + max([*spreads, d.STATED_KV_SPREAD.si])
    return Margin(1.0 - min(less, d.LARGEST_DRAIN_SHARE), max(1.0 + d.INLET_LAW_SPREAD.si, line), line)


def section_limit(station: Station, model: Model, section: str, tolerance_up: float) -> float | None:
    """Return the most a section may see while a test is on. [Pa at datum]

    For the outlet: trip plus its upper tolerance; without a shut-off the weakest normal limit of the consumer
    side, or higher where a monitor or a relief valve in its place must be raised to; between the valves: the
    rating of that section, else the highest lock-up there plus a little.
    Never above a rating that is stated for the section. None where nothing limits it that is known.

    Parameters
    ----------
    station, model
        The station.
    section
        ``outlet``, ``between`` or ``between 2``.
    tolerance_up
        Everything that can move the trip upwards. [Pa]
    """
    shut_off = model.layout.shut_off
    if section.startswith("between"):
        rated = section_rating(station, model, "between")
        if rated is not None:
            return rated
        top = max(model.lockup[r.id].si for r in model.layout.reducers)
        if shut_off is not None and shut_off.trip is not None:
            rise = model.lockup[model.layout.reducers[0].id].si - model.layout.reducers[0].duty.pressure.si
            top = max(top, shut_off.trip.si + tolerance_up + rise)
        return top + d.UNRATED_SECTION_ADD.si
    rated = section_rating(station, model, "outlet")
    if shut_off is not None and shut_off.trip is not None:
        top = shut_off.trip.si + tolerance_up
        return top if rated is None else min(top, rated)
    limits_of_consumers = section_rating(station, model, "consumer")
    wanted = (*_monitor_top(model), *(full_lift(relief) for relief in stands_in(model.layout)))
    if not wanted:
        return limits_of_consumers
    top = max(wanted) if limits_of_consumers is None else max(*wanted, limits_of_consumers)
    return top if rated is None else min(top, rated)


def _monitor_top(model: Model) -> tuple[float, ...]:
    """Return the most at which a sound monitor may hold the outlet at no flow. [Pa at datum]"""
    watching = spans.monitor(model.layout)
    if watching is None:
        return ()
    repeat, _ = stated_or_share(
        watching.repeatability, dd.REDUCER_REPEATABILITY, dd.REDUCER_REPEATABILITY_SHARE,
        watching.duty.pressure.si,
    )  # fmt: skip
    drift, _ = stated_or_share(watching.drift, None, dd.REDUCER_DRIFT_SHARE, watching.duty.pressure.si)
    return (model.lockup[watching.id].si + repeat + drift,)


def section_rating(station: Station, model: Model, side: str) -> float | None:
    """Return the weakest stated normal limit of a section, None where none is stated. [Pa at datum]"""
    found = weakest(station, model.density, side)
    return None if found is None else found.normal_at_datum


def weakest(station: Station, density: float, side: str) -> ComponentLimit | None:
    """Return the component of a section whose normal limit is lowest at datum."""
    return limits.weakest_normal(limits.component_limits(station, density), side)


@dataclass(frozen=True, slots=True)
class TripAboveRating:
    """An outlet that may not be raised to the trip.

    edge: trip with its upper tolerance [Pa at datum]; rating: weakest normal limit of the outlet section
    [Pa at datum]; component: which it is.
    """

    edge: float
    rating: float
    component: str


def trip_above_rating(station: Station) -> TripAboveRating | None:
    """Return why the outlet section may not be raised to the trip, or None where it may.

    Holds for components stated on the side of the outlet; the consumers' own are cut off during a test.

    Notes
    -----
    P_T + tol_T,up > weakest normal limit of the outlet section (design handbook 3.1 V2).
    """
    twin = SteadyTwin(station)
    basis = Basis(station, twin)
    shut_off = basis.layout.shut_off
    found = weakest(station, basis.density, "outlet")
    if shut_off is None or shut_off.trip is None or found is None or found.normal_at_datum is None:
        return None
    trip = shut_off.trip.si
    edge = trip + combined(trip_tolerances(basis, shut_off, trip), station.stacking)
    rating = found.normal_at_datum
    return TripAboveRating(edge, rating, found.component) if rating < edge else None


def held_pressure(
    model: Model, drain: Drain, section: str, share: float, margin: Margin = AS_STATED
) -> float:
    """Return what a section sees with every reducer wide open and its drain fully open. [Pa at datum]

    Highest static supply, consumers cut off, shut-off standing open, relief valves cut off. Full lift is
    forced: the worst a broken diaphragm can do.

    Parameters
    ----------
    model
        From `steadyhead.hydraulics.build`.
    drain
        The only one open.
    section
        ``outlet``, ``between`` or ``between 2``.
    share
        Opening of the inlet isolating valve. [1]
    margin
        How far the parts lie off their stated values.

    Notes
    -----
    Where every loss goes with Q², more Kv of the whole line is as good as less of the drain.
    """
    layout = model.layout
    inlet, outlet = layout.inlet_valve, layout.outlet_valve
    openings = {drain.id: margin.drain / margin.line}
    if inlet is not None:
        more = (margin.inlet / margin.line) ** (1.0 / sd.ISOLATING_EXPONENT.si)
        openings[inlet.id] = min(share * more, 1.0)
    if outlet is not None:
        openings[outlet.id] = 0.0
    openings |= {relief.id: 0.0 for relief in layout.reliefs}
    lifts = {reducer.id: 1.0 for reducer in layout.reducers}
    conditions = Conditions(
        supply_pressure=model.station.supply.static.si, openings=openings, forced_lift=lifts
    )
    state = solve(model, conditions)
    span = spans.outlet(layout) if section == "outlet" else spans.held(layout).get(section)
    if span is None or span.tap is None:
        return state.nodes[model.element[drain.id]]
    return state.taps[span.tap.id]


def inlet_opening(model: Model, held: Held, margin: Margin | None = None) -> InletOpening | None:
    """Return the largest settable opening of the inlet valve at which a drain alone holds a section.

    Found by halving on the steady twin; turns are rounded down to a quarter turn. None where even a quarter
    turn lets the section rise above its limit, or there is no inlet isolating valve.

    Parameters
    ----------
    model
        From `steadyhead.hydraulics.build`.
    held
        Section, drain and limit.
    margin
        What the drain lacks and the rest passes more than stated; left out: that of the station.

    Notes
    -----
    Largest θ with p_section(θ) ≤ limit; p_section rises with θ.
    """
    valve = model.layout.inlet_valve
    if valve is None:
        return None
    off = margin_of(model, held.drain) if margin is None else margin
    share = _largest_share(model, held, off)
    if share is None:
        return None
    whole = valve.turns.si if valve.turns is not None and valve.turns.si > 0.0 else None
    turns = None
    if whole is not None:
        turns = floor(share * whole / d.QUARTER + 1e-9) * d.QUARTER
        if turns <= 0.0:
            return None
        share = turns / whole
    here = _row(model, held, share, whole, off)
    rows = opening_rows(model, held, here, whole, off)
    return InletOpening(share, turns, held.drain.id, here.worst, held.limit, here.expected, rows)


def opening_rows(
    model: Model, held: Held, here: OpeningRow, whole: float | None, margin: Margin
) -> tuple[OpeningRow, ...]:
    """Return the opening table: what the held section sees at this opening and at others, rising.

    Parameters
    ----------
    model, held, margin
        As in `inlet_opening`.
    here
        The row of the opening that is given.
    whole
        Turns from shut to open, None where not known.
    """
    shares = {round(here.share * factor, 4) for factor in d.OPENING_ROWS}
    if whole is not None:
        shares = {max(round(share * whole / d.QUARTER), 1) * d.QUARTER / whole for share in shares}
    others = [share for share in {*shares, 1.0} if share <= 1.0 and abs(share - here.share) > 1e-6]
    rows = [here, *(_row(model, held, share, whole, margin) for share in others)]
    return tuple(sorted(rows, key=lambda row: row.share))


def _row(model: Model, held: Held, share: float, whole: float | None, margin: Margin) -> OpeningRow:
    expected, worst = (
        held_pressure(model, held.drain, held.section, share, off) for off in (AS_STATED, margin)
    )
    return OpeningRow(share, None if whole is None else round(share * whole, 6), expected, worst)


def _largest_share(model: Model, held: Held, margin: Margin) -> float | None:
    def rises_above(share: float) -> bool:
        return held_pressure(model, held.drain, held.section, share, margin) > held.limit

    if not rises_above(1.0):
        return 1.0
    low, high = d.OPENING_FLOOR, 1.0
    if rises_above(low):
        return None
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if rises_above(middle):
            high = middle
        else:
            low = middle
    return low


def sections_to_hold(station: Station, model: Model, tolerance_up: float) -> tuple[Held, ...]:
    """Return the sections a drain must hold during the visit, the outlet first.

    The section between the valves counts where a reducer stands before it.
    """
    found = []
    outlet = outlet_drain(model.layout)
    limit = section_limit(station, model, "outlet", tolerance_up)
    if outlet is not None and limit is not None:
        found.append(Held("outlet", outlet, limit))
    for name, span in spans.held(model.layout).items():
        limit = section_limit(station, model, name, tolerance_up)
        if span.drain is not None and limit is not None:
            found.append(Held(name, span.drain, limit))
    return tuple(found)


def drain_too_small(model: Model, held: Held) -> Finding:
    """Return the finding that no settable opening lets a drain hold its section, all margins kept."""
    valve = model.layout.inlet_valve
    least = d.OPENING_FLOOR
    if valve is not None and valve.turns is not None and valve.turns.si > 0.0:
        least = d.QUARTER / valve.turns.si
    margin = margin_of(model, held.drain)
    reached = held_pressure(model, held.drain, held.section, least, margin)
    params: dict[str, Parameter] = {
        "drain": held.drain.id,
        "section": held.section,
        "reached": Amount("pressure", reached),
        "expected": Amount("pressure", held_pressure(model, held.drain, held.section, least)),
        "limit": Amount("pressure", held.limit),
        "share": Amount("ratio", least),
        "less": Amount("ratio", 1.0 - margin.drain),
        "more": Amount("ratio", margin.inlet - 1.0),
    }
    kv = drain_kv(held.drain)
    return Finding(
        "NUM-01",
        f"line {held.drain.id}: kv",
        Severity.STOP,
        params=params,
        value=Amount("pressure", reached),
        limit=Amount("pressure", held.limit),
        margin=Amount("pressure", held.limit - reached),
        case="static inlet pressure, reducers wide open",
        inputs=(
            Input(
                "highest static supply",
                Amount("pressure", model.station.supply.static.si),
                model.station.supply.static.provenance,
            ),
            Input("drain", Amount("flow_coefficient", kv.si), kv.provenance),
        ),
    )
