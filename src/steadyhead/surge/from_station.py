"""From a station file to a plan of the transient engine: one way through the station, with its mains."""

from __future__ import annotations

from dataclasses import dataclass, replace

from steadyhead.findings import Finding, Severity
from steadyhead.findings.model import Amount, Input, Parameter
from steadyhead.hydraulics import Model, solve
from steadyhead.hydraulics.cases import Case
from steadyhead.hydraulics.mains import roughness_of, wave_speed_of, zone_stiffness
from steadyhead.hydraulics.mains import volume_of as main_volume
from steadyhead.hydraulics.solving import CRITICAL_PRESSURE_ABS, DEMAND_REFERENCE
from steadyhead.laws.friction import pipe_drop
from steadyhead.records.mains import Main
from steadyhead.records.parts import ExpansionVessel, IsolatingValve, Reducer
from steadyhead.records.station import Station, Zone
from steadyhead.records.steady import Steady
from steadyhead.station import defaults as sd
from steadyhead.surge import defaults as d
from steadyhead.surge.devices import with_devices
from steadyhead.surge.plan import Consumers, Numbers, Pipe, Plan, Reservoir, Vessel, Water
from steadyhead.surge.plant import STATION
from steadyhead.surge.reaches import (
    Drawn,
    compliance_of,
    cut,
    joint_name,
    joints_of,
    supply_pipes,
    volume_of,
    zone_joints,
    zone_pipes,
)
from steadyhead.surge.station_rows import StationRows, flat_way, k_for_flow, station_rows
from steadyhead.surge.together import listed
from steadyhead.surge.vessels import teed

SUPPLY, ZONE = "supply", "zone"
"""Names of the joints at the ends of the plan."""
SUPPLY_MAIN, ZONE_MAIN = "supply main", "zone main"
"""Names of its pipes."""
CREEPING = ("PE100", "PE80")
"""Materials whose walls give way in time; the engine knows them by their wave speed only."""
STUB_REACHES = 2


@dataclass(frozen=True, slots=True)
class Drafted:
    """A plan of one way in one situation, and what it rests on.

    Parameters
    ----------
    plan
        Levels counted from the station datum, so that a head times ρ g is a pressure at datum.
    rows
        Where the parts of the file are found in it.
    model
        The steady twin it was made from.
    case
        Inlet pressure and flow it starts with.
    before
        The steady twin's answer in that situation.
    findings
        What of the file is missing, or outside the engine.
    """

    plan: Plan
    rows: StationRows
    model: Model
    case: Case
    before: Steady
    findings: tuple[Finding, ...]

    @property
    def demand(self) -> float:
        """k of the demand at the start. [m³/(s·√Pa)]"""
        return self.consumers.coefficient

    @property
    def consumers(self) -> Consumers:
        """The joint at the end of the consumer main, the farthest where it branches."""
        ends = (joint for joint in self.plan.joints if isinstance(joint, Consumers))
        return next(joint for joint in ends if joint.id == ZONE)

    @property
    def demands(self) -> dict[str, float]:
        """k of the demand at the start, by joint. [m³/(s·√Pa)]"""
        return {joint.id: joint.coefficient for joint in self.plan.joints if isinstance(joint, Consumers)}

    @property
    def drawing(self) -> tuple[str, ...]:
        """Joints where consumers may draw: those behind the station."""
        ends = {pipe.below for pipe in self.plan.pipes if pipe.side == "consumer"}
        return tuple(joint.id for joint in self.plan.joints if joint.id in ends)

    @property
    def highest_level(self) -> float:
        """Of the mains behind the station, over its datum. [m]"""
        pipes = [pipe for pipe in self.plan.pipes if pipe.side == "consumer"]
        return max(max(pipe.level_above, pipe.level_below) for pipe in pipes)

    @property
    def held(self) -> float:
        """Pressure held at the head of the supply main, at its own level. [Pa]"""
        return next(joint.pressure for joint in self.plan.joints if isinstance(joint, Reservoir))


def draft(
    model: Model, case: Case, reaches: int = int(d.STUDY_REACHES.si), *, extra: float = 0.0, place: str = ""
) -> Drafted:
    """Return the plan of a station of one way that stands, at its start, where the steady twin stands.

    Full pipes. The supply is held at the head of its main; where the file states its pressures at the station
    inlet, the head is that pressure and the friction of the main at the starting flow. A main nobody stated
    is a short stub. What of the zone is not in its main is one elastic volume at the end of it; where reaches
    are stated each draws its share at its end and has that share of the rest of the zone there.

    Parameters
    ----------
    model
        From `steadyhead.hydraulics.build`, of a station of one way (`steadyhead.station.streams.views`).
    case
        Inlet pressure and flow at the start.
    reaches
        In the shortest stated main; fewer where it is so short that steps fall below 1 ms.
    extra, place
        What of the flow is drawn at the end of one reach alone [m³/s], and which.

    Raises
    ------
    NotConverged, InputError
        The steady twin has no answer in this situation.
    """
    water = water_of(model)
    before = solve(model, case.conditions)
    rows = station_rows(model, water)
    numbers, step = _numbers(model, reaches)
    supply, (held, *between), inlet = _supply(model, case, before, step)
    vessel, said = _vessel(model, rows.vessels_ahead, inlet)
    if vessel is not None:
        supply, tee = teed(supply, vessel, step, "supply")
        between.append(tee)
        said = [_where(rows.vessels_ahead[0], supply, "ahead of")]
    drawn = Drawn(before.consumer_flow - extra, case.conditions.demand_exponent, extra, place)
    zone, consumers, findings = _zone(model, before, rows, step, drawn)
    pipes = (*supply, *zone)
    supply_side, behind = model.station.supply, model.station.zone
    has_tee = any(pipe.is_station for pipe in pipes)
    if supply_side.reaches or behind.reaches or has_tee or (supply_side.main and behind.main):
        pipes, numbers, moved = cut(pipes, step)
        findings += moved
    plan = Plan(water, pipes, (held, *between, *consumers), rows.parts, numbers=numbers)
    told = (*_missing(model), *said, *findings, *_outside(model, rows))
    return Drafted(plan, rows, model, case, before, told)


def water_of(model: Model) -> Water:
    """Return the water of a model."""
    water = model.water
    return Water(
        water.density,
        water.kinematic_viscosity,
        water.vapour_pressure_abs,
        model.atmosphere,
        CRITICAL_PRESSURE_ABS,
        sd.GRAVITY,
        reference=DEMAND_REFERENCE,
    )


def halved(plan: Plan) -> Plan:
    """Return the plan with its time step and reaches halved."""
    numbers = plan.numbers
    finer = replace(numbers, reaches=2 * numbers.reaches, longest_step=0.5 * numbers.longest_step)
    return replace(plan, numbers=finer)


def _numbers(model: Model, reaches: int) -> tuple[Numbers, float]:
    """Return how finely the mains are cut, and the time step. [s]"""
    mains = [main for main in (model.station.supply.main, model.station.zone.main) if main is not None]
    times = [main.length.si / wave_speed_of(main, model.density).si for main in mains]
    if not times:
        return Numbers(STUB_REACHES), d.STUB_STEP.si
    count = min(reaches, max(int(min(times) / d.FINEST_STEP.si), int(d.LEAST_REACHES.si)))
    step = min(max(min(times) / count, d.FINEST_STEP.si), d.STUDY_STEP.si)
    if len(times) < 2:
        return Numbers(STUB_REACHES, d.STUDY_STEP.si), step
    return Numbers(count, d.STUDY_STEP.si), step


def _pipe(model: Model, name: str, main: Main | None, levels: tuple[float, float], step: float) -> Pipe:
    above, below = (SUPPLY, STATION) if name == SUPPLY_MAIN else (STATION, ZONE)
    side = "supply" if name == SUPPLY_MAIN else "consumer"
    if main is None:
        speed = d.STUB_WAVE_SPEED.si
        length = STUB_REACHES * speed * step
        bore = _usual_bore(model)
        return Pipe(name, above, below, length, bore, 0.0, speed, *levels, side, has_friction=False)
    speed = wave_speed_of(main, model.density).si
    return Pipe(name, above, below, main.length.si, main.bore.si, roughness_of(main), speed, *levels, side)


def _usual_bore(model: Model) -> float:
    line = flat_way(model.station.line)
    sizes = [part.size.si for part in line if isinstance(part, IsolatingValve | Reducer)]
    return max(sizes, default=d.STUB_BORE.si)


def _supply(
    model: Model, case: Case, before: Steady, step: float
) -> tuple[tuple[Pipe, ...], tuple[Reservoir | Consumers, ...], float]:
    """Return the pipes ahead of the station, their joints, the held one first, and the inlet pressure."""
    supply, datum = model.station.supply, model.station.station.datum.si
    level = (supply.level.si if supply.level else datum) - datum
    pressure = case.conditions.supply_pressure
    is_at_head = supply.stated_at == "head of main"
    pipes: tuple[Pipe, ...]
    between: tuple[Consumers, ...] = ()
    if supply.reaches:
        first = datum + level if is_at_head else None
        pipes, between = supply_pipes(supply.reaches, first, datum, SUPPLY, model.density)
        named = {joint_name(reach.id): reach for reach in supply.reaches}
    else:
        ends = (level, 0.0) if is_at_head else (0.0, 0.0)
        pipes = (_pipe(model, SUPPLY_MAIN, supply.main, ends, step),)
    start = pipes[0].level_above
    losses = [0.0] * len(pipes)
    if supply.main is not None:
        losses = [
            pipe_drop(
                before.flow, pipe.length, pipe.bore, pipe.roughness, model.density,
                model.water.kinematic_viscosity,
            )
            for pipe in pipes
        ]  # fmt: skip
    if not is_at_head:
        pressure += model.density * sd.GRAVITY * (level - start) + sum(losses)
    here = {SUPPLY: pressure}
    for pipe, lost in zip(pipes, losses, strict=True):
        risen = model.density * sd.GRAVITY * (pipe.level_below - pipe.level_above)
        here[pipe.below] = here[pipe.above] - lost - risen
    if supply.reaches:
        between = with_devices(between, named, here, model)
    return pipes, (Reservoir(SUPPLY, pressure, start), *between), here[STATION]


def _zone(
    model: Model, before: Steady, rows: StationRows, step: float, drawn: Drawn
) -> tuple[tuple[Pipe, ...], tuple[Consumers, ...], list[Finding]]:
    """Return the pipes behind the station, their joints, and what does not fit."""
    zone, datum = model.station.zone, model.station.station.datum.si
    level = (zone.level.si if zone.level else datum) - datum
    pipes: tuple[Pipe, ...]
    if zone.reaches:
        pipes = zone_pipes(zone.reaches, datum + level, datum, ZONE, model.density)
    else:
        pipes = (_pipe(model, ZONE_MAIN, zone.main, (0.0, level), step),)
    rest, findings = _rest_of_zone(model, pipes)
    outlet = _outlet_pressure(model, before, level)
    vessel, said = _vessel(model, rows.vessels, outlet)
    joints: tuple[Consumers, ...]
    if zone.reaches:
        joints, here = zone_joints(zone.reaches, pipes, outlet, drawn, rest, water_of(model))
        ends = joints_of(zone.reaches, ZONE)
        joints = with_devices(joints, {ends[reach.id]: reach for reach in zone.reaches}, here, model)
    else:
        k = k_for_flow(drawn.flow, before.consumer_end, drawn.exponent, DEMAND_REFERENCE)
        joints = (Consumers(ZONE, k, drawn.exponent, level=level, elasticity=rest),)
    if vessel is not None:
        pipes, tee = teed(pipes, vessel, step)
        joints = (*joints, tee)
        said = [_where(rows.vessels[0], pipes, "behind")]
    return pipes, joints, findings + said


def _where(vessel: ExpansionVessel, pipes: tuple[Pipe, ...], side: str) -> Finding:
    away = next(pipe.length for pipe in pipes if pipe.is_station)
    params: dict[str, Parameter] = {"away": Amount("length", away), "side": side}
    return Finding("SUR-08", vessel.id, Severity.NOTE, params)


def _outlet_pressure(model: Model, before: Steady, level: float) -> float:
    """Return the pressure at the station's end of the zone main, at datum, of the steady twin. [Pa]"""
    main, lost = model.station.zone.main, 0.0
    if main is not None:
        viscosity = model.water.kinematic_viscosity
        length, bore = main.length.si, main.bore.si
        lost = pipe_drop(before.consumer_flow, length, bore, roughness_of(main), model.density, viscosity)
    return before.consumer_end + lost + model.density * sd.GRAVITY * level


def _rest_of_zone(model: Model, pipes: tuple[Pipe, ...]) -> tuple[float, list[Finding]]:
    """Return V β of what of the zone is in no stated main [m³/Pa], and where the two contradict."""
    zone = model.station.zone
    own = compliance_of(pipes, model.density)
    stiffness = zone_stiffness(zone)
    if stiffness is None or stiffness.lower_bound:
        return 0.0, [Finding("SUR-05", "zone.volume", Severity.HEED)]
    found = overfull(zone)
    rest = max(stiffness.compliance - own, 0.0)
    if not found and own > (1.0 + d.ZONE_AGREES.si) * stiffness.compliance:
        share = own / stiffness.compliance
        found.append(_contradiction(volume_of(pipes), stiffness.volume, share))
    return rest, found


def overfull(zone: Zone) -> list[Finding]:
    """Ask where mains of a zone hold more water than the whole of it: with them its waves are too small."""
    mains = zone.reaches or ((zone.main,) if zone.main is not None else ())
    own = sum(main_volume(main) for main in mains)
    if zone.volume is None or own <= (1.0 + d.ZONE_AGREES.si) * zone.volume.si:
        return []
    held = {"own": Amount("volume", own), "zone": Amount("volume", zone.volume.si)}
    return [Finding("SUR-41", "zone.reaches" if zone.reaches else "zone.main", Severity.ASK, dict(held))]


def _contradiction(own: float, volume: float, share: float) -> Finding:
    return Finding(
        "SUR-06",
        "zone.main",
        Severity.HEED,
        {"own": Amount("volume", own), "zone": Amount("volume", volume), "share": f"{100.0 * share:.0f} %"},
        inputs=(Input("V β of the main over that of the zone", f"{share:.3g}"),),
    )


def _vessel(
    model: Model, vessels: tuple[ExpansionVessel, ...], there: float
) -> tuple[Vessel | None, list[Finding]]:
    """Return vessels as one, and what is missing of them; `there`: the pressure where they stand. [Pa]

    Notes
    -----
    V_air = V (p_0 + p_a)/(p + p_a), the gas having had time to take the temperature of the room.
    """
    if not vessels:
        return None, []
    if any(one.volume is None or one.precharge is None for one in vessels):
        return None, [Finding("SUR-07", vessels[0].id, Severity.HEED)]
    pressure = there + model.atmosphere
    air = 0.0
    for one in vessels:
        assert one.volume is not None
        assert one.precharge is not None
        air += one.volume.si * min((one.precharge.si + model.atmosphere) / pressure, 1.0)
    return Vessel(air), []


def _missing(model: Model) -> list[Finding]:
    station = model.station
    found = []
    if station.supply.main is None:
        found.append(Finding("SUR-03", "supply.main", Severity.HEED))
    if station.zone.main is None:
        found.append(Finding("SUR-04", "zone.main", Severity.HEED))
    found += [Finding("SUR-09", part.id, Severity.HEED) for part in model.shut_offs if part.trip is None]
    return found


def mains_stated(drafted: Drafted) -> frozenset[str]:
    """Return the sides of whose main the file says something: "supply", "consumer"."""
    station = drafted.model.station
    mains = (("supply", station.supply.main), ("consumer", station.zone.main))
    return frozenset(side for side, main in mains if main is not None)


def creeping(station: Station) -> list[Finding]:
    """Return which mains have a wall that creeps, one finding for each material."""
    supply, zone = station.supply, station.zone
    mains: dict[str, Main] = {f"reach {reach.id}": reach for reach in supply.reaches}
    mains |= {f"reach {reach.id}": reach for reach in zone.reaches}
    for place, whole, parts in (
        ("supply.main", supply.main, supply.reaches),
        ("zone.main", zone.main, zone.reaches),
    ):
        if whole is not None and not parts:
            mains[place] = whole
    slow: dict[str, list[str]] = {}
    for place, main in mains.items():
        if main.material in CREEPING:
            slow.setdefault(main.material, []).append(place)
    return [
        Finding("SUR-10", listed(places), Severity.NOTE, {"material": material})
        for material, places in slow.items()
    ]


def _outside(model: Model, rows: StationRows) -> list[Finding]:
    found = creeping(model.station)
    found += [Finding("SUR-53", vessel.id, Severity.HEED) for vessel in rows.vessels_between]
    return found + [Finding("SUR-11", name, Severity.NOTE) for name in rows.timed]
