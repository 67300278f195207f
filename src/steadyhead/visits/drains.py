"""Water a visit lets off, by step, and water a pump must bring: litres, minutes, and the permit."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import inf, pi, sqrt

from steadyhead.findings import Amount, Finding, Severity
from steadyhead.findings.model import Input
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.laws.waves import effective_compressibility
from steadyhead.records.parts import Drain, LinePart
from steadyhead.records.plan_numbers import Flush, Together
from steadyhead.records.procedure import DrainUse, Kind, Node
from steadyhead.records.quantities import STANDARD_ATMOSPHERE_PA
from steadyhead.records.station import Station
from steadyhead.station import defaults as sd
from steadyhead.station.layout import Layout
from steadyhead.station.mechanics import drain_kv
from steadyhead.visits import defaults as d
from steadyhead.visits import spans
from steadyhead.visits.questions import outlet_passes

LITRE = 1e-3


def budget(
    station: Station,
    layout: Layout,
    kind: Kind,
    *,
    trickle: float,
    flow_points: tuple[float, ...],
    reachable: float = inf,
) -> tuple[DrainUse, ...]:
    """Return the water each group of steps lets off, in the order of the visit.

    `node` is a table letter, the id of a step without its valve, or where each valve has its own the whole
    id: ``B3``, ``F``, ``H1.RV``. A plan that leaves steps out drops their rows. Nothing is let off, and
    nothing returned, where there is no drain on the outlet, or at a yearly visit with consumers connected
    because the outlet valve passes. A row without a drain runs out of the open pipe.

    Parameters
    ----------
    station, layout
        The station.
    kind
        Of the plan.
    trickle
        [m³/s]
    flow_points
        Flows of the flow test, trickle first, run up and down. [m³/s]
    reachable
        Most that runs through inlet valve and drain with the outlet at duty. [m³/s]

    Returns
    -------
    tuple
        Rows with flow [m³/s] and duration [s].

    Notes
    -----
    Amounts of time are common practice (`steadyhead.visits.defaults`).
    """
    outlet = outlet_drain(layout)
    if outlet is None or (kind == "yearly" and outlet_passes(layout)):
        return ()
    peak = station.demand.peak.si
    rows: list[DrainUse] = []
    if kind == "first":
        way = flush(station, layout)
        rows.append(DrainUse("B3", way.drain, way.flow, d.FLUSH_TIME.si))
        rows.append(DrainUse("C4", outlet.id, d.BLEED_FLOW_SHARE.si * peak, d.BLEED_TIME.si))
    for node, minutes in d.TRICKLE_MINUTES.get(kind, d.TRICKLE_MINUTES["first"]):
        rows.append(DrainUse(node, outlet.id, trickle, 60.0 * minutes))
    step, minutes = d.DUTY_MINUTES.get(kind, d.DUTY_MINUTES["first"])
    if step:
        rows += [
            DrainUse(f"{step}.{reducer.id}", outlet.id, min(reducer.duty.flow.si, reachable), 60.0 * minutes)
            for reducer in spans.judged(layout)
        ]
    if kind in ("first", "after_repair", "new_setting"):
        rows += [DrainUse("H4", outlet.id, flow, 2.0 * d.POINT_TIME.si) for flow in flow_points]
    if kind != "yearly":
        rows.append(DrainUse("J1", outlet.id, d.CLEAR_FLOW_SHARE.si * peak, d.CLEAR_TIME.si))
    places = {drain.id: drain.runs_to.strip() for section in layout.sections for drain in section.drains}
    return tuple(replace(row, place=places.get(row.drain, "")) for row in rows)


def run_together(nodes: Iterable[Node], facts: Together | None, drain: Drain) -> tuple[DrainUse, ...]:
    """Return what runs while several streams are in service together and consumers cut off: steps S4 to S9.

    The changeover is read at its flows, each for its share of the step; everything else runs at trickle. A
    step with consumers connected lets nothing off.

    Parameters
    ----------
    nodes
        Steps of the plan.
    facts
        How the streams share the flow; None lets nothing off.
    drain
        The test drain that all streams reach.
    """
    rows = []
    for node in nodes:
        served = any(way.state == "in_service" for way in node.back_out)
        if facts is None or served or node.id.split(".")[0] not in d.RUN_TOGETHER:
            continue
        flows = facts.flows if node.id == "S5" and facts.flows else (facts.trickle,)
        seconds = 60.0 * node.takes / len(flows)
        rows += [DrainUse(node.id, drain.id, flow, seconds, drain.runs_to.strip()) for flow in flows]
    return tuple(rows)


def outlet_drain(layout: Layout) -> Drain | None:
    """Return the test drain TD: the largest on the outlet section, or None."""
    drains = [drain for section in layout.sections if section.name == "outlet" for drain in section.drains]
    return max(drains, key=lambda drain: drain_kv(drain).si, default=None)


def between_drain(layout: Layout) -> Drain | None:
    """Return TD2: the drain of the first section between the valves that needs one, else any there."""
    found = [span.drain for span in (*spans.held(layout).values(), *spans.between(layout))]
    return next((drain for drain in found if drain is not None), None)


def flush(station: Station, layout: Layout) -> Flush:
    """Return how the supply is flushed before it meets the valves: at 1 m/s in the supply pipe.

    Through the inlet section's own drain where that reaches this velocity, else out of the open pipe: a
    removable spool or an open bonnet. Never through the test drain: the grit would pass the valves.

    Notes
    -----
    Q = v π D²/4; most through the drain k √p_typical, inlet valve open.
    """
    main, valve = station.supply.main, layout.inlet_valve
    drain = max(
        (one for section in layout.sections if section.name == "inlet" for one in section.drains),
        key=lambda one: drain_kv(one).si,
        default=None,
    )
    sizes = [part.size.si for part in (valve, drain, outlet_drain(layout)) if part is not None]
    bore = main.bore.si if main else sizes[0] if sizes else 0.0
    area = pi / 4.0 * bore**2
    wanted = d.FLUSH_VELOCITY.si * area
    if drain is None or area <= 0.0:
        return Flush(wanted, "", d.FLUSH_VELOCITY.si, None)
    reached = k_of_kv(drain_kv(drain).si, 1000.0) * sqrt(station.supply.typical.si) / area
    if reached < d.FLUSH_VELOCITY.si:
        return Flush(wanted, "", d.FLUSH_VELOCITY.si, reached)
    return Flush(wanted, drain.id, d.FLUSH_VELOCITY.si, reached)


def flush_too_slow(way: Flush | None) -> tuple[Finding, ...]:
    """Return a finding where the inlet's own drain does not reach the flushing velocity."""
    if way is None or way.drain or way.drain_velocity is None:
        return ()
    told = Finding(
        "NUM-07",
        "line: drain on the inlet",
        Severity.HEED,
        params={
            "reached": Amount("velocity", way.drain_velocity),
            "wanted": Amount("velocity", way.velocity),
            "flow": Amount("flow", way.flow),
        },
        value=Amount("velocity", way.drain_velocity),
        limit=Amount("velocity", way.velocity),
        margin=Amount("velocity", way.drain_velocity - way.velocity),
    )
    return (told,)


@dataclass(frozen=True, slots=True)
class PlaceUse:
    """Water that runs to one place in one visit.

    place: in the words of the file, empty where none is stated; drains: ids, an empty one for the open pipe;
    volume [m³]; most: highest flow of one step, drains of a step opened one after another [m³/s].
    """

    place: str
    drains: tuple[str, ...]
    volume: float
    most: float


def by_place(uses: Iterable[DrainUse]) -> tuple[PlaceUse, ...]:
    """Return what a visit lets off to each place, in the order they are met; drains to one place are summed.

    A drain whose place is not stated stands for itself.

    Examples
    --------
    >>> uses = (DrainUse("H4.A", "TDA", 1e-3, 600.0, "gully"), DrainUse("H4.B", "TDB", 2e-3, 600.0, "Gully"))
    >>> [(one.place, one.drains, round(one.volume, 3), one.most) for one in by_place(uses)]
    [('gully', ('TDA', 'TDB'), 1.8, 0.002)]
    """
    found: dict[str, list[DrainUse]] = {}
    for use in uses:
        found.setdefault(_same_place(use.place, use.drain), []).append(use)
    return tuple(
        PlaceUse(
            listed[0].place,
            tuple(dict.fromkeys(use.drain for use in listed)),
            sum(use.flow * use.seconds for use in listed),
            max(use.flow for use in listed),
        )
        for listed in found.values()
    )


def _same_place(place: str, drain: str) -> str:
    """Return what two drains have in common that run to one place; its own id where none is stated."""
    return " ".join(place.split()).casefold() or f"@{drain}"


def over_permit(uses: Iterable[DrainUse], parts: Iterable[LinePart]) -> tuple[Finding, ...]:
    """Return one finding for each place whose permit the listed uses pass: drains to one place are summed.

    parts: of the whole station, so that drains of different streams to one place count together.
    """
    found = []
    listed = tuple(uses)
    for together in _places(parts):
        drain = max(together, key=lambda one: one.allowed.si if one.allowed is not None else 0.0)
        if drain.allowed is None:
            continue
        ids = [one.id for one in together if any(use.drain == one.id for use in listed)]
        total = sum(use.flow * use.seconds for use in listed if use.drain in ids)
        if total > drain.allowed.si:
            found.append(
                Finding(
                    "NUM-04",
                    f"{drain.id}: allowed",
                    Severity.HEED,
                    params={
                        "drain": " and ".join(ids),
                        "total": Amount("volume", total),
                        "allowed": Amount("volume", drain.allowed.si),
                    },
                    value=Amount("volume", total),
                    limit=Amount("volume", drain.allowed.si),
                    margin=Amount("volume", drain.allowed.si - total),
                    inputs=(
                        Input(
                            "allowed for one visit",
                            Amount("volume", drain.allowed.si),
                            drain.allowed.provenance,
                        ),
                    ),
                )
            )
    return tuple(found)


def allowed_at(parts: Iterable[LinePart], one: PlaceUse) -> float | None:
    """Return the most the permit allows at a place for one visit, None where none is stated. [m³]

    Any drain that runs there may state it, whether it is used in the visit or not.
    """
    same = _same_place(one.place, one.drains[0])
    stated = [
        part.allowed.si
        for part in parts
        if isinstance(part, Drain) and part.allowed is not None and _same_place(part.runs_to, part.id) == same
    ]
    return max(stated, default=None)


def _places(parts: Iterable[LinePart]) -> list[list[Drain]]:
    """Return the drains of a station, those that run to one and the same place together."""
    found: dict[str, list[Drain]] = {}
    for part in parts:
        if isinstance(part, Drain):
            found.setdefault(_same_place(part.runs_to, part.id), []).append(part)
    return list(found.values())


def pump_volume(
    *, volume: float, compressibility: float, start: float, end: float, air: float = 0.0
) -> float:
    """Return the water that raises a shut, full section by hand pump.

    Slow, isothermal; walls and water by one compressibility; air at the pressure pumping starts from.

    Parameters
    ----------
    volume
        Of the section. [m³]
    compressibility
        β of water and wall. [1/Pa]
    start, end
        Gauge pressures. [Pa]
    air
        Trapped air as it stands at `start`. [m³]

    Returns
    -------
    float
        [m³]

    Notes
    -----
    V β Δp + V_air (1 − p₁/p₂), absolute pressures (Boyle).

    Examples
    --------
    0.15 m³ of steel pipe from 4.0 to 5.4 bar:

    >>> round(pump_volume(volume=0.15, compressibility=6.9e-10, start=4.0e5, end=5.4e5) * 1e6)
    14
    """
    first, last = start + STANDARD_ATMOSPHERE_PA, end + STANDARD_ATMOSPHERE_PA
    return volume * compressibility * (end - start) + air * (1.0 - first / last)


def section_volume(bore: float) -> float:
    """Return the water in the outlet section [m³] by the bore [m] of its valves; own estimate."""
    return sd.by_size(sd.NODE_VOLUME_LITRES, bore) * LITRE


def spool_compressibility() -> float:
    """Return β of a full steel spool of usual wall, no air. [1/Pa]"""
    return effective_compressibility(
        bulk_modulus=sd.BULK_MODULUS_PA,
        diameter=sd.BORE_OVER_WALL["steel"],
        wall=1.0,
        elasticity=sd.WALL_MODULUS_GPA["steel"] * 1e9,
    )


def outlet_storage(layout: Layout) -> float:
    """Return the water the shut outlet section takes in per pressure, V·β, full, no air. [m³/Pa]"""
    valve = layout.outlet_valve
    return 0.0 if valve is None else section_volume(valve.size.si) * spool_compressibility()


def pump_volumes(layout: Layout, start: float, end: float) -> dict[str, float]:
    """Return what a pump brings into the outlet section: ``full``, and with a litre of ``air``. [m³]"""
    valve = layout.outlet_valve
    if valve is None or end <= start:
        return {}
    volume, beta = section_volume(valve.size.si), spool_compressibility()
    return {
        "full": pump_volume(volume=volume, compressibility=beta, start=start, end=end),
        "air": pump_volume(volume=volume, compressibility=beta, start=start, end=end, air=d.AIR_LITRE),
    }
