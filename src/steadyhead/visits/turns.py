"""What each turn of a pilot screw does: turn tables, first safe turn, response table for the device."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import floor, sqrt
from typing import Literal

from steadyhead.design import defaults as dd
from steadyhead.findings import Amount, Finding, Severity
from steadyhead.findings.model import Input
from steadyhead.hydraulics import Model
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.procedure import ResponseTable, TurnTable
from steadyhead.records.values import Value
from steadyhead.visits import defaults as d
from steadyhead.visits import spans
from steadyhead.visits.drains import outlet_drain
from steadyhead.visits.readings import Work
from steadyhead.visits.trial import State, Trial, WaterTable

WATCHED = ("T1", "T2", "T2a", "T2b", "T3")
"""Taps whose readings a turn table gives."""


@dataclass(frozen=True, slots=True)
class Stop:
    """Where turning must stop: the tap that is watched and the most it may see. [Pa at datum]"""

    role: str
    limit: float


def stated_trial(work: Work) -> Trial:
    """Return the station as stated, nothing drawn, bands settled; supply at its typical pressure."""
    model = work.model
    kelvin = model.station.water.temperature.si
    water = WaterTable(kelvin, kelvin, model.atmosphere + model.station.supply.typical.si)
    return Trial(model, {}, water)


Start = Literal["trickle", "lowest"]


def turn_table(
    work: Work, reducer: Reducer, stop: Stop, *, spring: str, per_turn: float, start: Start = "trickle"
) -> TurnTable:
    """Return what every gauge reads after each quarter turn that raises a reducer.

    Inlet valve at its V2 opening, drain left as it stood at trickle, consumers cut off, shut-off open.
    Starts from the trickle reading or from the lowest setting; ends with the first row above the limit, at
    the end of the spring, or after 12 rows, from the lowest setting 8.

    Parameters
    ----------
    work
        What is done at the station.
    reducer
        Whose screw is turned; the others stay.
    stop
        Where turning must stop.
    spring
        Name of the spring assumed.
    per_turn
        [Pa/turn]
    start
        From where the turns count.

    Examples
    --------
    See the page on turn tables in the manual; station A of the design handbook is a test.
    """
    trial = stated_trial(work)
    drains = trickle_opening(work, trial)
    inlet = work.model.layout.inlet_valve
    openings = {inlet.id: work.inlet_share} if inlet is not None else {}
    lowest = start == "lowest"
    first = lowest_lockup(work.model, reducer) if lowest else trial.lockup[reducer.id]
    turns: list[float] = []
    rows: dict[str, list[float]] = {role: [] for role in work.taps if role in WATCHED}
    stop_after = -1
    for step in range((d.LOWEST_ROWS if lowest else d.TURN_ROWS) + 1):
        lockup = {reducer.id: first + per_turn * d.QUARTER * step}
        if step > 0 and lockup[reducer.id] > reducer.pilot.spring_high.si:
            break
        state = trial.at(drains=drains, openings=openings, lockup=lockup)
        turns.append(d.QUARTER * step)
        for role, row in rows.items():
            row.append(work.taps[role].at_tap(state.taps[role], trial.density))
        if state.taps[stop.role] > stop.limit:
            break
        stop_after = step
    return TurnTable(
        valve=reducer.id,
        spring=spring,
        per_turn=per_turn,
        turns=tuple(turns),
        readings={role: tuple(row) for role, row in rows.items()},
        stop_after=stop_after,
        limit=work.taps[stop.role].at_tap(stop.limit, trial.density),
        start=start,
    )


def lowest_lockup(model: Model, reducer: Reducer) -> float:
    """Return lockup_pressure of a reducer at the lowest setting on its plate, its own rise in it. [Pa]"""
    return reducer.pilot.spring_low.si + model.lockup[reducer.id].si - reducer.duty.pressure.si


def trickle_opening(work: Work, trial: Trial) -> dict[str, float]:
    """Return the share at which the test drain lets off the trickle flow, the reducers as stated."""
    drain = outlet_drain(work.model.layout)
    if drain is None:
        return {}
    inlet = work.model.layout.inlet_valve
    openings = {inlet.id: work.inlet_share} if inlet is not None else {}
    pressure = max(trial.at(flow=work.trickle, openings=openings).taps["T3"], 1.0)
    return {drain.id: min(work.trickle / (trial.full(drain.id) * sqrt(pressure)), 1.0)}


def first_turn(start: float, stop: Stop, per_turn: float) -> float | None:
    """Return the first turn of a screw that stays safe with a spring four times as stiff as its plate. [turn]

    A quarter turn at most, in steps of the smallest honest turn; None where even that is too much.

    Parameters
    ----------
    start
        Pressure before the turn at the tap that is watched. [Pa at datum]
    stop
        Where turning must stop.
    per_turn
        Of the plate spring. [Pa/turn]

    Examples
    --------
    >>> first_turn(4.08e5, Stop("T3", 5.31e5), 0.6875e5)
    0.25
    >>> round(first_turn(4.08e5, Stop("T3", 5.31e5), 2e5), 4)
    0.125
    """
    smallest = dd.SMALLEST_TURN.si
    safe = (stop.limit - start) / (d.FALSE_SPRING_FACTOR.si * per_turn)
    steps = floor(min(safe, d.QUARTER) / smallest + 1e-9)
    return steps * smallest if steps >= 1 else None


def tables(work: Work, stops: Mapping[str, Stop]) -> tuple[TurnTable, ...]:
    """Return for every reducer the tables of its plate spring and of one twice as stiff.

    Those from the lowest setting come first: a reducer that must be set starts there.
    """
    found = []
    for reducer in spans.judged(work.model.layout):
        if reducer.id not in stops:
            continue
        rate = work.model.twins[reducer.id].per_turn.si
        stop = stops[reducer.id]
        starts: tuple[Start, ...] = ("lowest", "trickle")
        for start in starts:
            for spring, factor in (("plate", 1.0), ("twice as stiff", d.SPRING_RATIO.si)):
                per_turn = factor * rate
                found.append(turn_table(work, reducer, stop, spring=spring, per_turn=per_turn, start=start))
    return tuple(found)


def per_quarter(rate: float) -> tuple[float, float, float]:
    """Return the rise per quarter turn of the plate's spring, one twice and one four times as stiff. [Pa]

    Parameters
    ----------
    rate
        Of the plate spring. [Pa/turn]

    Examples
    --------
    >>> [round(rise / 1e5, 2) for rise in per_quarter(0.6875e5)]
    [0.17, 0.34, 0.69]
    """
    one = d.QUARTER * rate
    return one, d.SPRING_RATIO.si * one, d.FALSE_SPRING_FACTOR.si * one


def no_first_turn(reducer: Reducer, start: float, stop: Stop) -> Finding:
    """Return the finding that no honest first turn is safe until the spring is known.

    Parameters
    ----------
    reducer
        Whose screw it is.
    start, stop
        Pressure before the turn, and where turning must stop. [Pa at datum]
    """
    return Finding(
        "NUM-06",
        f"line {reducer.id}: pilot",
        Severity.HEED,
        params={
            "valve": reducer.id,
            "room": Amount("pressure", stop.limit - start),
            "limit": Amount("pressure", stop.limit),
        },
        value=Amount("pressure", start),
        limit=Amount("pressure", stop.limit),
        margin=Amount("pressure", stop.limit - start),
    )


def response(work: Work, stop: Stop) -> ResponseTable | None:
    """Return the twin's answers over reducer turns, shut-off turns and drain opening, for the device.

    Turns count from as found, raising; the drain as a multiple of its trickle opening. Beside the taps
    stands ``margin``: trip minus the pressure at T3, shut-off standing open. Where it is negative the
    shut-off acts. It is smooth in all three, so that straight interpolation holds. None without a shut-off
    that has a trip, or without a drain.
    """
    layout = work.model.layout
    shut_off, reducer = layout.shut_off, spans.worker(layout)
    trial = stated_trial(work)
    drains = trickle_opening(work, trial)
    if shut_off is None or shut_off.trip is None or not drains:
        return None
    rate = work.model.twins[reducer.id].per_turn.si
    rate_off = work.model.twins[shut_off.id].per_turn.si
    top = max((stop.limit - trial.lockup[reducer.id]) / rate, d.QUARTER)
    reducer_turns = tuple(top * share for share in d.RESPONSE_REDUCER)
    off_turns = tuple(top * rate / rate_off * share for share in d.RESPONSE_SHUT_OFF)
    inlet = layout.inlet_valve
    openings = {inlet.id: work.inlet_share} if inlet is not None else {}
    roles = tuple(role for role in WATCHED if role in work.taps)
    values = []
    for turn in reducer_turns:
        lockup = {reducer.id: max(trial.lockup[reducer.id] + rate * turn, 0.0)}
        states = [
            trial.at(
                drains={name: min(share * factor, 1.0) for name, share in drains.items()},
                openings=openings,
                lockup=lockup,
            )
            for factor in d.RESPONSE_DRAINS
        ]
        values.append(
            tuple(_level(work, trial, states, roles, shut_off.trip.si + rate_off * off) for off in off_turns)
        )
    axes = ((reducer.id, reducer_turns), (shut_off.id, off_turns), ("drain", d.RESPONSE_DRAINS))
    return ResponseTable(axes=axes, taps=(*roles, "margin"), values=tuple(values))


def _level(
    work: Work, trial: Trial, states: list[State], roles: tuple[str, ...], trip: float
) -> tuple[tuple[float, ...], ...]:
    return tuple(
        (
            *(work.taps[role].at_tap(state.taps[role], trial.density) for role in roles),
            trip - state.taps["T3"],
        )
        for state in states
    )


def coarse_spring(part: ShutOff | Reducer, rate: Value, repeatability: float) -> Finding | None:
    """Return a finding where the smallest honest turn moves more than half the trip's repeatability.

    Parameters
    ----------
    part
        Whose screw it is.
    rate
        Of the screw. [Pa/turn]
    repeatability
        Of the trip. [Pa]
    """
    moves = rate.si * dd.SMALLEST_TURN.si
    allowed = dd.COARSE_TURN_SHARE.si * repeatability
    if moves <= allowed:
        return None
    return Finding(
        "NUM-03",
        f"line {part.id}: pilot",
        Severity.HEED,
        params={"valve": part.id, "moves": Amount("pressure", moves), "allowed": Amount("pressure", allowed)},
        value=Amount("pressure", moves),
        limit=Amount("pressure", allowed),
        margin=Amount("pressure", allowed - moves),
        inputs=(
            Input("bar per turn", Amount("pressure_per_turn", rate.si), rate.provenance),
            Input("repeatability of the trip", Amount("pressure", repeatability)),
        ),
    )


__all__ = [
    "Stop",
    "coarse_spring",
    "first_turn",
    "lowest_lockup",
    "no_first_turn",
    "per_quarter",
    "response",
    "tables",
    "trickle_opening",
    "turn_table",
]
