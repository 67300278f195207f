"""What the transient engine is given: pipes, joints, and what stands in the station, in SI.

A plan is plain numbers. From a station file it is made elsewhere; tests and studies may write one by hand.
Heads are counted from one datum; pressures are gauge at their own place.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from math import inf, nan

from steadyhead.surge import defaults as d

Curve = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Water:
    """The water of one run.

    density [kg/m³], viscosity kinematic [m²/s], vapour and critical pressure and atmosphere [Pa abs],
    gravity [m/s²], reference: pressure the Kv of a demand belongs to [Pa].
    """

    density: float
    viscosity: float
    vapour_pressure_abs: float
    atmosphere_abs: float
    critical_pressure_abs: float
    gravity: float
    reference: float = 1e5


@dataclass(frozen=True, slots=True)
class Pipe:
    """A main, or a reach of one, between two joints; ``"station"`` is the name of the station's own end.

    Parameters
    ----------
    id
        Its name.
    above, below
        Joint where it begins and where it ends, in the direction of supply.
    length, bore, roughness
        [m]
    wave_speed
        [m/s]
    level_above, level_below
        Of its two ends; straight between. [m]
    side
        ``"supply"`` or ``"consumer"``: which extremes it counts for.
    unsteady
        k_u of unsteady friction; 0 none. [1]
    has_friction
        False for a frictionless pipe of a check.
    is_station
        True for pipework of the station up to a vessel: what bears its pressures are the station's sections.
    """

    id: str
    above: str
    below: str
    length: float
    bore: float
    roughness: float
    wave_speed: float
    level_above: float = 0.0
    level_below: float = 0.0
    side: str = "consumer"
    unsteady: float = 0.0
    has_friction: bool = True
    is_station: bool = False


@dataclass(frozen=True, slots=True)
class ReliefValve:
    """A relief valve to atmosphere.

    coefficient k wide open [m³/(s·√Pa)]; crack, wide, reseat [Pa]; stroke_time [s]; curve: pressure [Pa]
    against share of lift, replaces the straight line from crack to wide.
    """

    id: str
    coefficient: float
    crack: float
    wide: float
    reseat: float
    stroke_time: float = 0.0
    curve: Curve = ()


@dataclass(frozen=True, slots=True)
class Vessel:
    """An air vessel: air volume [m³] at the pressure where the run starts, exponent n."""

    air: float
    exponent: float = d.AIR_EXPONENT.si


@dataclass(frozen=True, slots=True)
class Reservoir:
    """A joint whose pressure is held [Pa at its own level]."""

    id: str
    pressure: float
    level: float = 0.0


@dataclass(frozen=True, slots=True)
class Consumers:
    """A joint where water may be drawn.

    Parameters
    ----------
    id
        Its name.
    coefficient
        k of the demand law at the reference pressure; 0: none. [m³/(s·√Pa)]
    exponent
        n of Q = k √p_ref (p/p_ref)ⁿ. [1]
    drawn
        Imposed flow instead of the law; NaN where the law rules. [m³/s]
    level
        [m]
    elasticity
        V β of the part of the zone not modelled as pipes. [m³/Pa]
    entry, inertance
        What that part is entered through: a resistance for quick changes, and the water that goes around it
        in slow ones; 0: nothing, it throws waves back like an open end. [Pa s/m³], [Pa s²/m³]
    vessel, relief
        Beside it, if any.
    """

    id: str
    coefficient: float = 0.0
    exponent: float = 0.5
    drawn: float = nan
    level: float = 0.0
    elasticity: float = 0.0
    entry: float = 0.0
    inertance: float = 0.0
    vessel: Vessel | None = None
    relief: ReliefValve | None = None


@dataclass(frozen=True, slots=True)
class Section:
    """Water between two things in the station, a gauge point: volume [m³], drain k, relief valve."""

    id: str
    volume: float = 0.0
    drain: float = 0.0
    relief: ReliefValve | None = None


@dataclass(frozen=True, slots=True)
class LossRow:
    """Isolating valve, strainer or meter: coefficient k fully open and clean, opening, exponent, clogging."""

    id: str
    coefficient: float
    opening: float = 1.0
    power: float = 1.5
    floor: float = 1e-5
    clogging: float = 1.0


@dataclass(frozen=True, slots=True)
class CheckRow:
    """Check valve: k forwards, share of it that passes back when shut, closing time [s] (0: at reversal)."""

    id: str
    coefficient: float
    floor: float = 1e-5
    close_time: float = 0.0


@dataclass(frozen=True, slots=True)
class ValveBody:
    """What all valves with a stem share.

    coefficient k fully open [m³/(s·√Pa)], shape b, stroke [m], recovery F_L (0: never chokes), leak k,
    floor [1], area A_d [m²], seat_ratio r₀, flow_force r₁, spring_shut s₀ and spring_rise s₁ [Pa], lowest
    lift share with debris, curve: lift share against flow share.
    """

    coefficient: float
    shape: float = 1.0
    stroke: float = 0.025
    recovery: float = 0.85
    leak: float = 0.0
    floor: float = 1e-5
    area: float = 0.01745
    seat_ratio: float = 0.45
    flow_force: float = 0.15
    spring_shut: float = 0.0
    spring_rise: float = 1e3
    lowest: float = 0.0
    curve: Curve = ()


@dataclass(frozen=True, slots=True)
class ReducerRow:
    """A pilot-operated reducer; see `steadyhead.surge.kernel.layout` for the circuit.

    Parameters
    ----------
    id, body
        Name and valve.
    senses
        Section its pilot senses.
    feed, pilot, needle, filter, tear
        k of feed, pilot wide open, opening needle, pilot filter (infinite: absent), torn diaphragm.
    band
        Proportional band. [Pa]
    closing
        Pressure at the tap at which the pilot is just shut, where no screw is given. [Pa]
    screw, per_turn, turns_free, screw_play
        Turns in (NaN: use `closing`), [Pa/turn], turns before the spring is touched, whole play.
    lag, is_cock_open, trapped
        Of the sensing line [s]; whether its cock is open; what is trapped where it is shut (NaN: what stands
        there at the start). [Pa]
    pilot_play, friction
        Half the hysteresis of the pilot; stem friction over A_d. [Pa]
    stuck_pilot, lift, runaway
        Pilot held at this opening, stem held at this share (NaN: free), stem driven open [strokes/s].
    air, air_pressure, air_exponent, damping, dead_volume
        Air in the chamber [m³] at `air_pressure` [Pa] (NaN: that of the start), n, c_v [N s/m], V₀ [m³].
    """

    id: str
    body: ValveBody
    senses: str
    feed: float
    pilot: float
    band: float
    closing: float = nan
    needle: float = inf
    filter: float = inf
    tear: float = 0.0
    screw: float = nan
    per_turn: float = 0.0
    turns_free: float = 0.0
    screw_play: float = 0.0
    lag: float = 0.05
    is_cock_open: bool = True
    trapped: float = nan
    pilot_play: float = 0.0
    friction: float = 0.0
    stuck_pilot: float = nan
    lift: float = nan
    runaway: float = 0.0
    air: float = 0.0
    air_pressure: float = nan
    air_exponent: float = d.AIR_EXPONENT.si
    damping: float = d.STEM_DAMPING.si
    dead_volume: float = 1e-4


@dataclass(frozen=True, slots=True)
class DirectReducerRow:
    """A direct-acting reducer: ξ = clamp((closing − p)/band, 0, 1), first-order `lag` [s]."""

    id: str
    body: ValveBody
    senses: str
    closing: float
    band: float
    lag: float = 0.3
    is_cock_open: bool = True
    trapped: float = nan
    lift: float = nan
    runaway: float = 0.0


@dataclass(frozen=True, slots=True)
class ShutOffRow:
    """A shut-off with its snap pilot.

    Parameters
    ----------
    id, body, senses
        Name, valve, section its pilot senses.
    trip, release
        Rising pressure at which it starts to close; falling pressure that releases it (NaN: by hand). [Pa]
    is_hydraulic, close_time, open_time, close_needle, vent
        Driven by line pressure through `close_needle` and `vent` (k), or timed [s].
    lag, is_cock_open, trapped
        Of its sensing line, as in `ReducerRow`.
    switch_makes, switch_breaks
        Lift share at or below which the limit switch makes, at or above which it breaks.
    lift
        Stem held at this share; NaN: free.
    start_lift
        Where the stem stands at the start. [1]
    trip_at, reset_at
        Tripped or reset by hand at this time; NaN: not. [s]
    """

    id: str
    body: ValveBody
    senses: str
    trip: float
    release: float = nan
    is_hydraulic: bool = True
    close_time: float = 5.0
    open_time: float = 10.0
    close_needle: float = 0.0
    vent: float = 0.0
    lag: float = 0.1
    is_cock_open: bool = True
    trapped: float = nan
    switch_makes: float = 0.03
    switch_breaks: float = 0.05
    lift: float = nan
    start_lift: float = 1.0
    trip_at: float = nan
    reset_at: float = nan


Valve = ReducerRow | DirectReducerRow | ShutOffRow
Row = LossRow | CheckRow | ReducerRow | DirectReducerRow | ShutOffRow


@dataclass(frozen=True, slots=True)
class Group:
    """Streams side by side between two joints of the station.

    Parameters
    ----------
    id
        Its name.
    branches
        What stands in each, in walking order; no group in a branch. A pilot senses a section of its own
        branch or of the line.
    """

    id: str
    branches: tuple[tuple[Part, ...], ...]


Part = Row | Section | Group


@dataclass(frozen=True, slots=True)
class Numbers:
    """How finely a run is cut: reaches of the shortest pipe, longest step [s], gas fraction, ψ."""

    reaches: int = int(d.REACHES.si)
    longest_step: float = d.LONGEST_STEP.si
    gas_fraction: float = d.GAS_FRACTION.si
    weighting: float = d.GAS_WEIGHTING.si


@dataclass(frozen=True, slots=True)
class Plan:
    """A station with its mains.

    Parameters
    ----------
    water
        See `Water`.
    pipes, joints
        A tree or a ring of pipes; every end at a joint or at ``"station"``. One pipe arrives at the station
        and one leaves it.
    station
        What stands in the station in walking order, sections between; empty: pipes only. A branch of a
        `Group` that has no resistance of its own is refused.
    stiffness
        K_eff of the water in the sections. [Pa]
    section_gas
        Free gas in a section, as a share of its volume at atmospheric pressure: no section falls below
        vapour pressure. [1]
    numbers
        See `Numbers`.
    """

    water: Water
    pipes: tuple[Pipe, ...]
    joints: tuple[Reservoir | Consumers, ...]
    station: tuple[Part, ...] = ()
    stiffness: float = d.BULK_STIFFNESS.si
    section_gas: float = d.SECTION_GAS.si
    numbers: Numbers = field(default_factory=Numbers)

    @property
    def parts(self) -> tuple[Part, ...]:
        """Everything that stands in the station, branches of groups where they stand, groups left out."""
        found: list[Part] = []
        for part in self.station:
            if isinstance(part, Group):
                found += [inner for branch in part.branches for inner in branch]
            else:
                found.append(part)
        return tuple(found)

    @property
    def ways(self) -> tuple[tuple[Part, ...], ...]:
        """What stands on each way through the station; every branch on at least one, groups taken in turn."""
        most = max((len(part.branches) for part in self.station if isinstance(part, Group)), default=1)
        found = []
        for number in range(most):
            way: list[Part] = []
            for part in self.station:
                inner = (part,) if not isinstance(part, Group) else part.branches[number % len(part.branches)]
                way += inner
            found.append(tuple(way))
        return tuple(found)

    def mapped(self, change: Callable[[Part], Part]) -> Plan:
        """Return the plan with everything that stands in the station changed, branches of groups too."""

        def each(part: Part) -> Part:
            if not isinstance(part, Group):
                return change(part)
            return replace(part, branches=tuple(tuple(map(change, branch)) for branch in part.branches))

        return replace(self, station=tuple(map(each, self.station)))
