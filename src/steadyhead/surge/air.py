"""Air in the chamber of a reducer, as what it does: nothing, swings, or a stem with no resting place.

The outlet pressure acts under the diaphragm, so opening raises what pushes further open; water in the chamber
cannot give way to that, air can. Qualitative: how fast the stem moves on air is an own estimate.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import inf, isfinite
from typing import TYPE_CHECKING

import numpy as np

from steadyhead.findings import Finding, Severity
from steadyhead.findings.model import Amount, Parameter, pressure
from steadyhead.records.surge import SurgeRun
from steadyhead.surge import defaults as d
from steadyhead.surge.demand_events import demand_ramps
from steadyhead.surge.from_station import Drafted
from steadyhead.surge.linear import linear_of
from steadyhead.surge.metrics import swing
from steadyhead.surge.plan import Consumers, Plan, ReducerRow
from steadyhead.surge.plant import Plant, compile_plan
from steadyhead.surge.rest import Rest
from steadyhead.surge.running import Trace, run
from steadyhead.surge.schedule import Schedule
from steadyhead.surge.stability import Loop
from steadyhead.surge.starting import start, steady_rest
from steadyhead.surge.together import in_event
from steadyhead.units import two_figures

if TYPE_CHECKING:
    from steadyhead.surge.events import Begin, Maker, Study

EVENT = "air-in-chamber"
SLOW = 1e-3
"""Slow enough for mains and demand to follow. [1/s]"""
T0 = d.EVENT_AT.si


@dataclass(frozen=True, slots=True)
class AirEffect:
    """What a volume of air does to one reducer at one flow.

    Parameters
    ----------
    volume
        At the chamber pressure of the steady state. [m³]
    swing, period
        Peak to peak at its outlet in the last quarter of the run [Pa], and how often it comes [s]; None:
        hardly swings.
    runs_away_from
        Volume from which on the stem has no resting place there. [m³]
    """

    volume: float
    swing: float
    period: float | None
    runs_away_from: float

    @property
    def hunts(self) -> bool:
        """Whether swings are left at the end of the run."""
        return self.period is not None


def litres(volume: float) -> str:
    """Return a volume of air in a chamber in words.

    Examples
    --------
    >>> litres(1.2e-5), litres(1e-4)
    ('0.012 L', '0.1 L')
    """
    return f"{two_figures(1e3 * volume)} L"


def chamber_volume(row: ReducerRow) -> float:
    """Return what the chamber takes over a full stroke. [m³]"""
    return row.body.area * row.body.stroke


def with_air(plan: Plan, reducer: str, volume: float) -> Plan:
    """Return a plan with air in the chamber of one reducer, measured at the pressure there at the start."""
    parts = tuple(
        replace(part, air=volume) if isinstance(part, ReducerRow) and part.id == reducer else part
        for part in plan.station
    )
    return replace(plan, station=parts)


def runs_away_from(plant: Plant, rest: Rest, row: ReducerRow) -> float:
    """Return the volume of air from which on a stem has no resting place at a steady point. [m³]

    Notes
    -----
    V (dp_eq/dx)/(n p_c,abs) > A_d, p_eq the chamber pressure that balances the stem, mains and demand as they
    answer slowly.
    """
    loop = Loop(plant, rest, linear_of(plant, rest, row.id))
    slope = float(loop.balance_slope(np.array([SLOW], dtype=np.complex128))[0].real)
    if not slope > 0.0:
        return inf
    place = plant.rows[row.id]
    inlet, outlet = rest.nodes[place + 1], rest.nodes[place]
    lift = rest.lifts[row.id]
    ratio = row.body.seat_ratio - row.body.flow_force * lift
    chamber = ratio * inlet + (1.0 - ratio) * outlet - (row.body.spring_shut + row.body.spring_rise * lift)
    return row.body.area * row.air_exponent * (chamber + plant.plan.water.atmosphere_abs) / slope


def air_effect(drafted: Drafted, reducer: str, volume: float, *, nudge: float = d.AIR_NUDGE.si) -> AirEffect:
    """Return what a volume of air does when demand moves a little.

    Parameters
    ----------
    drafted
        A way in a situation with flow, its plan such that nothing hunts without air.
    reducer, volume
        Its id; air at the chamber pressure of the steady state. [m³]
    nudge
        Share by which demand falls. [1]
    """
    plan = with_air(drafted.plan, reducer, volume)
    row = next(part for part in plan.station if isinstance(part, ReducerRow) and part.id == reducer)
    plant = compile_plan(plan)
    rest = steady_rest(plant)
    schedule = _nudged(drafted, nudge)
    state = start(plant, schedule, rest)
    trace: Trace = run(plant, state, schedule, T0 + d.WATCHED_FOR.si)
    size, period = swing(trace.time, trace.node(plant.rows[reducer]))
    return AirEffect(volume, float(size), period, runs_away_from(plant, rest, row))


def _nudged(drafted: Drafted, nudge: float) -> Schedule:
    less = replace(
        drafted,
        plan=replace(
            drafted.plan,
            joints=tuple(
                replace(joint, coefficient=joint.coefficient * (1.0 - nudge))
                if isinstance(joint, Consumers)
                else joint
                for joint in drafted.plan.joints
            ),
        ),
    )
    moves = [(0.0, 0.0), (T0, 0.0), (T0 + d.STEP_WITHIN.si, 1.0)]
    return Schedule(demand_ramps(drafted, less, moves))


def air_studies(make: Maker) -> Iterator[Study]:
    """Yield one run for each pilot-operated reducer: air in its chamber, then a little less demand."""
    drafted = make.draft("typical", "average")
    rows = [part for part in drafted.plan.station if isinstance(part, ReducerRow)]
    several = len(make.model.reducers) > 1
    for row in rows:
        volume = d.AIR_SHARE.si * chamber_volume(row)
        filled = replace(drafted, plan=with_air(drafted.plan, row.id, volume))
        happens = (
            f"{litres(volume)} of air stand in the chamber of {row.id} and demand falls by {d.AIR_NUDGE.text}"
        )
        yield make.study(
            EVENT, row.id if several else "", happens, filled, _begin(drafted), longer=d.STEP_WITHIN.si,
            regulating=(drafted,),
        )  # fmt: skip


def _begin(drafted: Drafted) -> Begin:
    schedule = _nudged(drafted, d.AIR_NUDGE.si)
    return lambda plant: (schedule, start(plant, schedule))


def air_findings(study: Study, run: SurgeRun, plant: Plant) -> Iterator[Finding]:
    """Yield what the run with air in a chamber shows."""
    if study.event != EVENT:
        return
    row = next(p for p in study.drafted.plan.station if isinstance(p, ReducerRow) and p.air > 0.0)
    edge = runs_away_from(plant, steady_rest(plant), row)
    params: dict[str, Parameter] = {
        "air": litres(row.air),
        "edge": (
            f"from about {litres(edge)} on only its pilot keeps the stem from running away"
            if isfinite(edge)
            else "no volume of air was found from which its stem runs away"
        ),
        **in_event(run.event),
    }
    if run.period is None:
        yield Finding("SUR-37", row.id, Severity.NOTE, params, case=run.event)
        return
    params["period"] = f"{two_figures(run.period)} s"
    params["swing"] = "until the column parts" if run.is_separated else Amount("pressure", run.swing)
    value = None if run.is_separated else pressure(run.swing)
    yield Finding("SUR-36", row.id, Severity.HEED, params, value=value, case=run.event)
