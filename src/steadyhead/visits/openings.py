"""How far the inlet isolating valve may stand open so that a drain alone holds a section (invariant V2)."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

from steadyhead.design import limits
from steadyhead.findings import Amount, Finding, Severity
from steadyhead.findings.model import Input, Parameter
from steadyhead.hydraulics import Model, solve
from steadyhead.records.parts import Drain
from steadyhead.records.plan_numbers import InletOpening
from steadyhead.records.station import Station
from steadyhead.records.steady import Conditions
from steadyhead.visits import defaults as d
from steadyhead.visits.drains import between_drain, outlet_drain

_HALVINGS = 48


@dataclass(frozen=True, slots=True)
class Held:
    """A section that must be held: its name, the drain that holds it, the most it may see [Pa at datum]."""

    section: str
    drain: Drain
    limit: float


def section_limit(station: Station, model: Model, section: str, tolerance_up: float) -> float | None:
    """Return the most a section may see while a test is on. [Pa at datum]

    For the outlet: trip plus its upper tolerance, or the weakest normal limit of the consumer side where
    there is no shut-off; between the valves: the rating of that section, else the highest lock-up there plus
    a little.
    Never above a rating that is stated for the section. None where nothing limits it that is known.

    Parameters
    ----------
    station, model
        The station.
    section
        ``outlet`` or ``between``.
    tolerance_up
        Everything that can move the trip upwards. [Pa]
    """
    shut_off = model.layout.shut_off
    if section == "between":
        rated = _weakest(station, model, "between")
        if rated is not None:
            return rated
        top = max(model.lockup[r.id].si for r in model.layout.reducers)
        if shut_off is not None and shut_off.trip is not None:
            rise = model.lockup[model.layout.reducers[0].id].si - model.layout.reducers[0].duty.pressure.si
            top = max(top, shut_off.trip.si + tolerance_up + rise)
        return top + d.UNRATED_SECTION_ADD.si
    rated = _weakest(station, model, "outlet")
    if shut_off is not None and shut_off.trip is not None:
        top = shut_off.trip.si + tolerance_up
        return top if rated is None else min(top, rated)
    return _weakest(station, model, "consumer")


def _weakest(station: Station, model: Model, side: str) -> float | None:
    found = limits.weakest_normal(limits.component_limits(station, model.density), side)
    return None if found is None else found.normal_at_datum


def held_pressure(model: Model, drain: Drain, section: str, share: float) -> float:
    """Return what a section sees with every reducer wide open and its drain fully open. [Pa at datum]

    Highest static supply, consumers cut off, shut-off standing open. Full lift is forced: the worst a broken
    diaphragm can do.

    Parameters
    ----------
    model
        From `steadyhead.hydraulics.build`.
    drain
        The only one open.
    section
        ``outlet`` or ``between``.
    share
        Opening of the inlet isolating valve. [1]
    """
    layout = model.layout
    inlet, outlet = layout.inlet_valve, layout.outlet_valve
    openings = {drain.id: 1.0}
    if inlet is not None:
        openings[inlet.id] = share
    if outlet is not None:
        openings[outlet.id] = 0.0
    lifts = {reducer.id: 1.0 for reducer in layout.reducers}
    conditions = Conditions(
        supply_pressure=model.station.supply.static.si, openings=openings, forced_lift=lifts
    )
    state = solve(model, conditions)
    taps = [tap.id for part in layout.sections if part.name == section for tap in part.taps]
    return state.taps[taps[0]] if taps else state.nodes[model.element[drain.id]]


def inlet_opening(model: Model, held: Held) -> InletOpening | None:
    """Return the largest settable opening of the inlet valve at which a drain alone holds a section.

    Found by halving on the steady twin; turns are rounded down to a quarter turn. None where even a quarter
    turn lets the section rise above its limit, or there is no inlet isolating valve.

    Parameters
    ----------
    model
        From `steadyhead.hydraulics.build`.
    held
        Section, drain and limit.

    Notes
    -----
    Largest θ with p_section(θ) ≤ limit; p_section rises with θ.
    """
    valve = model.layout.inlet_valve
    if valve is None:
        return None
    share = _largest_share(model, held)
    if share is None:
        return None
    turns = None
    if valve.turns is not None and valve.turns.si > 0.0:
        turns = floor(share * valve.turns.si / d.QUARTER + 1e-9) * d.QUARTER
        if turns <= 0.0:
            return None
        share = turns / valve.turns.si
    pressure = held_pressure(model, held.drain, held.section, share)
    return InletOpening(share=share, turns=turns, drain=held.drain.id, pressure=pressure, limit=held.limit)


def _largest_share(model: Model, held: Held) -> float | None:
    def rises_above(share: float) -> bool:
        return held_pressure(model, held.drain, held.section, share) > held.limit

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
    between = between_drain(model.layout)
    if between is not None and model.layout.code in ("shut-off downstream", "two reducers in series"):
        limit = section_limit(station, model, "between", tolerance_up)
        if limit is not None:
            found.append(Held("between", between, limit))
    return tuple(found)


def drain_too_small(model: Model, held: Held) -> Finding:
    """Return the finding that no settable opening lets a drain hold its section."""
    valve = model.layout.inlet_valve
    least = d.OPENING_FLOOR
    if valve is not None and valve.turns is not None and valve.turns.si > 0.0:
        least = d.QUARTER / valve.turns.si
    reached = held_pressure(model, held.drain, held.section, least)
    params: dict[str, Parameter] = {
        "drain": held.drain.id,
        "section": held.section,
        "reached": Amount("pressure", reached),
        "limit": Amount("pressure", held.limit),
        "share": Amount("ratio", least),
    }
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
        ),
    )
