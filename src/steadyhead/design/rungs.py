"""From a station to its ladder: every rung with its provenance, both stackings, failures and limits."""

from __future__ import annotations

from dataclasses import dataclass, replace

from steadyhead.design import credit, limits
from steadyhead.design import defaults as d
from steadyhead.design import tolerances as tol
from steadyhead.design.basis import Basis
from steadyhead.design.causes import common_causes, not_covered
from steadyhead.design.closing import closing_time
from steadyhead.design.ladder import chosen, stack
from steadyhead.errors import InputError, NotConverged
from steadyhead.records.ladder import Contribution, Ladder, LadderInputs
from steadyhead.records.parts import Reducer
from steadyhead.records.station import Need
from steadyhead.records.steady import Steady
from steadyhead.records.values import Value


@dataclass(frozen=True, slots=True)
class Rungs:
    """A ladder with what its checks need beside it.

    Parameters
    ----------
    ladder
        Both stackings, failures and limits.
    lockup
        Of the last reducer, with provenance. [Pa at datum]
    closing
        Closing time used; None without a shut-off. [s]
    droop
        Duty less the sensed pressure at peak flow and lowest inlet; None: the twin has no answer. [Pa]
    trip_is_guess
        No trip is chosen; shares of it were taken of a guess.
    """

    ladder: Ladder
    lockup: Value
    closing: Value | None
    droop: float | None
    trip_is_guess: bool


def rungs(basis: Basis, *, full: bool = True) -> Rungs:
    """Return the ladder of a station whose layout is covered.

    Parameters
    ----------
    basis
        The station with its twin.
    full
        False leaves out the twin's peak case and the failures that are not credited: enough for the window.
    """
    reducer = basis.layout.reducers[-1]
    lockup = basis.twin.lockup(reducer.id)
    shut_off = basis.layout.shut_off
    closing = None if shut_off is None else closing_time(basis, shut_off)
    takes, droop = _lowest_normal_takes(basis, reducer, lockup.si) if full else ((), None)
    inputs = _inputs(basis, reducer, lockup.si, None if closing is None else closing.si, takes)
    ladder = _with_limits(basis, stack(inputs))
    if full and closing is not None:
        ladder = _with_failures(basis, ladder, closing.si)
    if full:
        ladder = replace(ladder, common_causes=common_causes(basis), not_covered=not_covered(basis, ladder))
    trip_is_guess = shut_off is not None and shut_off.trip is None
    return Rungs(ladder, lockup, closing, droop, trip_is_guess)


def _inputs(
    basis: Basis, reducer: Reducer, lockup: float, closing: float | None, takes: tuple[Contribution, ...]
) -> LadderInputs:
    station, shut_off = basis.station, basis.layout.shut_off
    components = limits.component_limits(station, basis.density)
    normal, fault = limits.weakest_normal(components), limits.weakest_fault(components)
    trip = shut_off.trip if shut_off is not None else None
    worked_with = trip.si if trip is not None else d.TRIP_GUESS.si * lockup
    overshoot = None
    if shut_off is not None and closing is not None:
        overshoot = credit.credited_overshoot(basis, worked_with, closing)
    needs = [need_at_datum(basis, need) for need in station.needs]
    alarm = station.alarm
    reset = None
    if shut_off is not None and shut_off.resets == "by itself" and shut_off.dead_band is not None and trip is not None:
        reset = trip.si - shut_off.dead_band.si
    return LadderInputs(
        duty=reducer.duty.pressure.si,
        lockup=lockup,
        highest_normal_adds=tol.highest_normal_adds(basis, reducer, lockup),
        lowest_normal_takes=takes,
        gap=tol.gap(basis).si,
        trip=None if trip is None else trip.si,
        trip_tolerances=() if shut_off is None else tol.trip_tolerances(basis, shut_off, worked_with),
        gauge_label=tol.GAUGE,
        gauge_offset_cancels=station.tolerances.same_gauge,
        overshoot=overshoot,
        normal_limit=None if normal is None else normal.normal_at_datum,
        fault_limit=None if fault is None else fault.fault_at_datum,
        needed=max(needs, default=None),
        alarm=None if alarm is None else alarm.pressure.si,
        alarm_error=0.0 if alarm is None else (alarm.error or d.ALARM_ERROR.value()).si,
        reset=reset,
        has_shut_off=shut_off is not None,
    )


def need_at_datum(basis: Basis, need: Need) -> float:
    """Return the station outlet at peak that leaves a critical point its pressure. [Pa at datum]

    Notes
    -----
    P = need + friction + ρ g (z_point − z_datum) (design handbook 2.4).
    """
    friction = 0.0 if need.friction is None else need.friction.si
    return need.pressure.si + friction + basis.head(need.level)


def _with_limits(basis: Basis, ladder: Ladder) -> Ladder:
    components = limits.component_limits(basis.station, basis.density)
    return replace(
        ladder,
        components=components,
        weakest_normal=limits.weakest_normal(components),
        weakest_fault=limits.weakest_fault(components),
    )


def _with_failures(basis: Basis, ladder: Ladder, closing: float) -> Ladder:
    trip = ladder.inputs.trip
    if trip is None:
        return ladder
    upper_edge = chosen(ladder, basis.station.stacking).trip_upper_edge
    assert upper_edge is not None
    limit = ladder.inputs.fault_limit
    slowest = None
    if limit is not None:
        slowest = credit.slowest_uncovered(basis, trip=trip, closing_time=closing, room=limit - upper_edge)
    peaks = credit.failure_peaks(basis, trip=trip, upper_edge=upper_edge, closing_time=closing, fault_limit=limit)
    return replace(ladder, peaks=peaks, covers_slower_than=slowest)


def _lowest_normal_takes(
    basis: Basis, reducer: Reducer, lockup: float
) -> tuple[tuple[Contribution, ...], float | None]:
    repeat, drift = tol.reducer_moves(reducer, lockup)
    steady = peak_answer(basis)
    if steady is None or reducer.senses not in steady.taps:
        return (repeat, drift), None
    sensed = steady.taps[reducer.senses]
    droop = reducer.duty.pressure.si - sensed
    takes = [Contribution(tol.DROOP, max(droop, 0.0), "twin, peak flow and lowest inlet")]
    shut_off = basis.layout.shut_off
    if shut_off is not None and basis.layout.position(shut_off.id) > basis.layout.position(reducer.senses):
        reading = steady.valves.get(shut_off.id)
        if reading is not None:
            loss = reading.inlet_pressure - reading.outlet_pressure
            takes.append(Contribution(tol.SHUT_OFF_LOSS, max(loss, 0.0), "twin, peak flow"))
    return (*takes, repeat, drift), droop


def peak_answer(basis: Basis) -> Steady | None:
    """Return the twin's answer at peak flow and lowest inlet, or None where it has none."""
    try:
        return basis.twin.steady("peak", "lowest")
    except (NotConverged, InputError):
        return None
