"""The figures a test plan is written with, worked out by the twin before anybody travels."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from steadyhead.findings import Finding
from steadyhead.records.procedure import DrainUse, ResponseTable, TurnTable


@dataclass(frozen=True, slots=True)
class Band:
    """Range in which a reading is expected, gauge error included.

    low, high, nominal in SI, pressures as a gauge at that tap reads them; probability: share of true
    readings inside; why: text that says where it comes from, in place of that of its question.
    """

    low: float
    high: float
    nominal: float
    probability: float = 0.95
    why: str = ""


@dataclass(frozen=True, slots=True)
class OpeningRow:
    """One row of the opening table: what a held section sees, reducers wide open, its drain open.

    share: opening of the inlet valve 0…1; turns: the same, None where not known; expected: by the stated
    values; worst: with less drain and more inlet than stated [Pa at datum].
    """

    share: float
    turns: float | None
    expected: float
    worst: float


@dataclass(frozen=True, slots=True)
class InletOpening:
    """How far the inlet isolating valve may stand open so that a drain alone can hold the section.

    share: opening 0…1; turns: rounded down to a settable step, None where the turns are not known;
    drain: id of the drain that must be fully open; pressure: the most the held section then sees with the
    reducer wide open, drain and inlet valve off their stated values [Pa at datum]; limit: the test limit it
    is held against [Pa at datum]; expected: the same pressure by the stated values [Pa at datum]; rows: other
    openings, rising, this one among them.
    """

    share: float
    turns: float | None
    drain: str
    pressure: float
    limit: float
    expected: float | None = None
    rows: tuple[OpeningRow, ...] = ()


@dataclass(frozen=True, slots=True)
class Pumped:
    """How far a hand pump raises the shut outlet, and the leak that is accepted there.

    reading: at the gauge of T3 [Pa]; leak: the most accepted at that reading [m³/s]; strokes: of the pump
    that make it up [1/min]; by_pump: whether a hand pump can bring the accepted leak. Where it cannot, leak
    and strokes are the most it brings.
    """

    reading: float
    leak: float
    strokes: float
    by_pump: bool


@dataclass(frozen=True, slots=True)
class Flush:
    """How the supply is flushed before it meets the valves.

    flow [m³/s]; drain: id, empty for a removable spool or an open bonnet; velocity: in the flushed pipe
    [m/s]; drain_velocity: what the inlet's own drain would reach [m/s], None without one.
    """

    flow: float
    drain: str
    velocity: float
    drain_velocity: float | None


@dataclass(frozen=True, slots=True)
class Warmed:
    """What one full heating of the hot water brings while nobody draws and nothing is let off.

    starts, ends: at the gauge of T3, from lock-up [Pa]; per_kelvin: rise of a shut zone whose own water grows
    warmer by one kelvin [Pa/K]; taken_up: a vessel with stated volume and charge takes the expansion up.
    """

    starts: float
    ends: float
    per_kelvin: float
    taken_up: bool


@dataclass(frozen=True, slots=True)
class Together:
    """Streams in service together, by the stated values.

    Parameters
    ----------
    header
        Tap behind all streams, of the first one where they have none in common: T3 of the steps together.
    leader
        Reducer that carries the trickle.
    follower
        Reducer that starts to carry next as the flow rises; empty where none does within reach.
    handover
        Flow at which it does [m³/s]; None likewise.
    flows
        Flows below and above that changeover [m³/s]; empty likewise.
    trickle
        [m³/s]
    alive
        Last reducers of all ways that are not locked shut.
    mode
        What is cut off while one stream is tested: the whole station, or that stream alone.
    """

    header: str
    leader: str
    follower: str
    handover: float | None
    flows: tuple[float, ...]
    trickle: float
    alive: tuple[str, ...]
    mode: Literal["station out", "stream out"] = "station out"


@dataclass(frozen=True, slots=True)
class RestartEnd:
    """What one end of a reset after a trip comes to, run by the surge engine onto full pipes, night flow.

    Parameters
    ----------
    found
        How the reducer is found behind the shut shut-off: ``shut`` or ``wide open``.
    health
        ``sound`` or ``failed``.
    throttled
        The inlet valve stands at its V2 opening; else it is fully open.
    outlet
        Highest pressure the consumers see. [Pa at datum]
    trips
        The shut-off acts again.
    passes
        A limit is passed that was not passed before.
    """

    found: Literal["shut", "wide open"]
    health: Literal["sound", "failed"]
    throttled: bool
    outlet: float
    trips: bool
    passes: bool


@dataclass(frozen=True, slots=True)
class PlanNumbers:
    """All figures of one plan.

    Parameters
    ----------
    bands
        By question, e.g. ``trickle.T3``, ``lockup.T3``, ``v2.T1``, ``at_trip.T3``, ``trip_mid.T3``,
        ``flow.3.T1``; see `steadyhead.visits.questions` for the list.
    inlet_opening
        For each section that is held by a drain: the largest opening of the inlet valve.
    trickle_flow
        Flow through the drain at trickle. [m³/s]
    test_limit
        Highest pressure a section may see in a test [Pa at datum] by section name: for the outlet the trip
        with its upper tolerance, or the section's rating where that is lower.
    section_rating
        Weakest stated normal limit of a section [Pa at datum]; absent where none is stated.
    target_reading
        Gauge reading that belongs to a setting, by name: ``trickle``, ``trip``, … [Pa at the tap];
        ``trip_low`` and ``trip_high``: trip less and plus its upper tolerance, between which an as-found
        proof is valid.
    pumped
        ``out_of_way``: the shut-off cannot act, or there is none; ``in_service``: it can.
    pump_stroke
        Stroke of the pump that is assumed. [m³]
    outlet_storage
        Water the shut outlet takes in per pressure, V·β, no air. [m³/Pa]
    flush
        Of the supply; only for the first visit.
    fill_speed, fill_surge
        Filling speed [m/s] and ρ·a·V it could cause [Pa].
    first_turn
        By reducer: first turn of its screw that stays safe with a spring four times as stiff, from its
        trickle reading; absent where even the smallest honest turn does not. [turn]
    first_turn_lowest
        The same from its lowest setting. [turn]
    per_quarter
        By reducer: rise per quarter turn with the spring on the plate, one twice and one four times as stiff.
        [Pa]
    spring_lowest
        By reducer: its lowest setting as its tap reads it. [Pa]
    warmed
        What heating brings while nobody draws; None without hot water, or where the zone is not known.
    findings
        What the figures themselves give cause to say.
    streams
        Of a station with several streams: the figures of each, tested alone, by stream. Bands, flow points
        and targets beside them are then those of all streams together.
    together
        Of a station with several streams: who leads, and where another one takes over.
    setting_gauge_error
        Largest error of a gauge that is good enough for the trip; 0 without a shut-off. [Pa]
    restart_ends
        Only for a restart: a reset onto a reducer found shut or wide open, sound or failed.
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
    first_turn_lowest: Mapping[str, float] = field(default_factory=dict)
    per_quarter: Mapping[str, tuple[float, float, float]] = field(default_factory=dict)
    spring_lowest: Mapping[str, float] = field(default_factory=dict)
    section_rating: Mapping[str, float] = field(default_factory=dict)
    pumped: Mapping[str, Pumped] = field(default_factory=dict)
    pump_stroke: float = 0.0
    outlet_storage: float = 0.0
    flush: Flush | None = None
    warmed: Warmed | None = None
    findings: tuple[Finding, ...] = ()
    streams: Mapping[str, PlanNumbers] = field(default_factory=dict)
    together: Together | None = None
    setting_gauge_error: float = 0.0
    restart_ends: tuple[RestartEnd, ...] = ()
