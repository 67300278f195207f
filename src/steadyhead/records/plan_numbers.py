"""The figures a test plan is written with, worked out by the twin before anybody travels."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from steadyhead.findings import Finding
from steadyhead.records.procedure import DrainUse, ResponseTable, TurnTable


@dataclass(frozen=True, slots=True)
class Band:
    """Range in which a reading is expected, gauge error included.

    low, high, nominal in SI, pressures as a gauge at that tap reads them; probability: share of true
    readings inside.
    """

    low: float
    high: float
    nominal: float
    probability: float = 0.95


@dataclass(frozen=True, slots=True)
class InletOpening:
    """How far the inlet isolating valve may stand open so that a drain alone can hold the section.

    share: opening 0…1; turns: rounded down to a settable step, None where the turns are not known;
    drain: id of the drain that must be fully open; pressure: what the held section then sees with the reducer
    wide open [Pa at datum]; limit: the test limit it is held against [Pa at datum].
    """

    share: float
    turns: float | None
    drain: str
    pressure: float
    limit: float


@dataclass(frozen=True, slots=True)
class PlanNumbers:
    """All figures of one plan.

    Parameters
    ----------
    bands
        By question, e.g. ``trickle.T3``, ``lockup.T3``, ``v2.T1``, ``at_trip.T3``, ``after_trip.T2``,
        ``flow.3.T1``; see `steadyhead.visits.questions` for the list.
    inlet_opening
        For each section that is held by a drain: the largest opening of the inlet valve.
    trickle_flow
        Flow through the drain at trickle. [m³/s]
    test_limit
        Highest pressure a section may see in a test [Pa at datum] by section name.
    target_reading
        Gauge reading that belongs to a setting, by name: ``trickle``, ``trip``, … [Pa at the tap].
    fill_speed, fill_surge
        Filling speed [m/s] and ρ·a·V it could cause [Pa].
    first_turn
        By reducer: first turn of its screw that stays safe with a spring four times as stiff. [turn]
    findings
        What the figures themselves give cause to say.
    """

    bands: Mapping[str, Band]
    trickle_flow: float
    inlet_opening: Mapping[str, InletOpening] = field(default_factory=dict)
    test_limit: Mapping[str, float] = field(default_factory=dict)
    target_reading: Mapping[str, float] = field(default_factory=dict)
    turn_tables: tuple[TurnTable, ...] = ()
    response: ResponseTable | None = None
    drain_budget: tuple[DrainUse, ...] = ()
    pump_volume: Mapping[str, float] = field(default_factory=dict)
    flow_points: tuple[float, ...] = ()
    fill_speed: float = 0.0
    fill_surge: float = 0.0
    good_gauges: tuple[str, ...] = ()
    poor_gauges: tuple[str, ...] = ()
    first_turn: Mapping[str, float] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
