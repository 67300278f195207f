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
from steadyhead.design.proved import correction_of, with_proof
from steadyhead.design.thermal import highest_heated
from steadyhead.errors import InputError, NotConverged
from steadyhead.records.ladder import Contribution, FailurePeak, Ladder, LadderInputs, Stacking
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.protection import Protection
from steadyhead.records.station import Need
from steadyhead.records.steady import Steady
from steadyhead.records.values import Value

_ROUNDS = 12
_SETTLED_PA = 50.0


@dataclass(frozen=True, slots=True)
class Rungs:
    """A ladder with what its checks need beside it.

    Parameters
    ----------
    ladder
        Both stackings, failures and limits.
    lockup
        Of the reducer that leads at zero flow, with provenance. The ladder takes the duty where that is
        higher. [Pa at datum]
    closing
        Closing time used; None without a shut-off. [s]
    droop
        Duty less the sensed pressure at peak flow and lowest inlet; None: the twin has no answer. [Pa]
    worked_trip
        Trip for which overshoot and shares of the trip were taken: the chosen one where it lies in the
        window, else the middle of the window. None without a shut-off. [Pa at datum]
    proof
        Protection proof whose overshoot stands in the ladder; None: that of the lumped zone does.
    correction
        What the proof adds to the overshoot of the lumped zone at every trip; None: nothing is proved. [Pa]
    """

    ladder: Ladder
    lockup: Value
    closing: Value | None
    droop: float | None
    worked_trip: float | None
    proof: Protection | None = None
    correction: float | None = None

    @property
    def looked_at(self) -> float | None:
        """The chosen trip, wherever it lies, else that of the window; None: no shut-off. [Pa at datum]"""
        return self.worked_trip if self.ladder.inputs.trip is None else self.ladder.inputs.trip


def rungs(
    basis: Basis, *, full: bool = True, proof: Protection | None = None, correction: float | None = None
) -> Rungs:
    """Return the ladder of a station whose layout is covered.

    The overshoot depends on the trip. The window is worked out for the chosen trip; where that lies outside,
    for the middle of the window, so that a trip set to the middle lies inside when the file is read again.

    Parameters
    ----------
    basis
        The station with its twin.
    full
        False leaves out the twin's peak case and the failures that are not credited: enough for the window.
    proof
        Protection proof of this way. At the trip it was run with its overshoot replaces the lumped one; at
        others the lumped one is moved by the same amount.
    correction
        That amount, where it is known already. [Pa]
    """
    reducer = basis.worker
    leads, lockup = _leader(basis, reducer)
    shut_off = basis.layout.shut_off
    closing = None if shut_off is None else closing_time(basis, shut_off)
    highest = max(lockup.si, leads.duty.pressure.si)
    takes, droop = _lowest_normal_takes(basis, reducer, highest) if full else ((), None)
    base = _base(basis, reducer, leads, highest, takes)
    ladder, worked = stack(base), None
    if shut_off is not None and closing is not None:
        if correction is None and proof is not None:
            correction = correction_of(proof, credit.credited_overshoot(basis, proof.trip, closing.si))
        ladder, worked = _with_window(basis, base, shut_off, closing.si, correction)
    ladder = _with_limits(basis, ladder)
    if full and closing is not None:
        ladder = _with_failures(basis, ladder, closing.si, proof)
    if full:
        ladder = replace(ladder, heated=highest_heated(basis, ladder.highest_normal))
        ladder = replace(
            ladder, common_causes=common_causes(basis), not_covered=not_covered(basis, ladder, proof)
        )
    return Rungs(ladder, lockup, closing, droop, worked, proof, correction)


def _leader(basis: Basis, reducer: Reducer) -> tuple[Reducer, Value]:
    """Return which reducer leads at zero flow, of all ways in service, with its lock-up."""
    own, other = basis.twin.lockup(reducer.id), basis.leading
    if other is not None and max(other.lockup.si, other.reducer.duty.pressure.si) > max(
        own.si, reducer.duty.pressure.si
    ):
        return other.reducer, other.lockup
    return reducer, own


def _base(
    basis: Basis, reducer: Reducer, leads: Reducer, lockup: float, takes: tuple[Contribution, ...]
) -> LadderInputs:
    """Return every rung that does not depend on where the trip lies."""
    station, shut_off = basis.station, basis.layout.shut_off
    components = limits.component_limits(station, basis.density)
    normal, fault = limits.weakest_normal(components), limits.weakest_fault(components)
    trip = shut_off.trip if shut_off is not None else None
    alarm = station.alarm
    reset = None
    if shut_off is not None and shut_off.resets == "by itself" and trip and shut_off.dead_band:
        reset = trip.si - shut_off.dead_band.si
    relief = min(basis.reliefs, key=lambda one: one.crack.si, default=None)
    return LadderInputs(
        duty=reducer.duty.pressure.si,
        lockup=lockup,
        highest_normal_adds=tol.highest_normal_adds(basis, leads, lockup),
        lowest_normal_takes=takes,
        gap=tol.gap(basis).si,
        trip=None if trip is None else trip.si,
        trip_tolerances=(),
        gauge_label=tol.GAUGE,
        gauge_offset_cancels=station.tolerances.same_gauge,
        normal_limit=None if normal is None else normal.normal_at_datum,
        fault_limit=None if fault is None else fault.fault_at_datum,
        needed=max((need_at_datum(basis, need) for need in station.needs), default=None),
        alarm=None if alarm is None else alarm.pressure.si,
        alarm_error=0.0 if alarm is None else (alarm.error or d.ALARM_ERROR.value()).si,
        reset=reset,
        relief_crack=None if relief is None else relief.crack.si,
        relief_error=0.0 if relief is None else tol.relief_error(relief).si,
        has_shut_off=shut_off is not None,
    )


def _overshoot(basis: Basis, trip: float, closing: float, correction: float | None) -> float | None:
    """Return the overshoot of the credited failures at a trip, moved by what a proof adds. [Pa]"""
    lumped = credit.credited_overshoot(basis, trip, closing)
    return lumped if lumped is None or correction is None else max(lumped + correction, 0.0)


def _with_window(
    basis: Basis, base: LadderInputs, shut_off: ShutOff, closing: float, correction: float | None
) -> tuple[Ladder, float]:
    """Return the ladder with tolerances and overshoot of a trip that fits them, and that trip."""

    def ladder_at(trip: float) -> Ladder:
        moves = tol.trip_tolerances(basis, shut_off, trip)
        return stack(
            replace(base, trip_tolerances=moves, overshoot=_overshoot(basis, trip, closing, correction))
        )

    trip = base.trip if base.trip is not None else d.TRIP_GUESS.si * base.lockup
    ladder = ladder_at(trip)
    stacking = chosen(ladder, basis.station.stacking)
    if stacking.trip_inside:
        return ladder, trip
    for _ in range(_ROUNDS):
        if stacking.highest is None:
            return ladder, trip
        middle = max(0.5 * (stacking.lowest + stacking.highest), base.lockup)
        if abs(middle - trip) < _SETTLED_PA:
            break
        trip = middle
        ladder = ladder_at(trip)
        stacking = chosen(ladder, basis.station.stacking)
    if base.trip is not None:
        ladder = _with_own_edges(ladder, ladder_at(base.trip))
    return ladder, trip


def _with_own_edges(ladder: Ladder, own: Ladder) -> Ladder:
    """Return a ladder whose window is that of another trip, with edges and peak of the chosen one.

    Tolerances may be shares of the trip: those of the window's middle are not those of a trip outside.
    """

    def moved(window: Stacking, at_trip: Stacking) -> Stacking:
        return replace(
            window,
            trip_lower_edge=at_trip.trip_lower_edge,
            trip_upper_edge=at_trip.trip_upper_edge,
            peak=at_trip.peak,
        )

    return replace(
        ladder,
        worst_case=moved(ladder.worst_case, own.worst_case),
        root_sum_square=moved(ladder.root_sum_square, own.root_sum_square),
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


def _with_failures(basis: Basis, ladder: Ladder, closing: float, proof: Protection | None) -> Ladder:
    trip = ladder.inputs.trip
    if trip is None:
        return ladder
    upper_edge = chosen(ladder, basis.station.stacking).trip_upper_edge
    assert upper_edge is not None
    limit = ladder.inputs.fault_limit
    slowest = None
    if limit is not None:
        slowest = credit.slowest_uncovered(basis, trip=trip, closing_time=closing, room=limit - upper_edge)
    peaks = credit.failure_peaks(
        basis, trip=trip, upper_edge=upper_edge, closing_time=closing, fault_limit=limit
    )
    if proof is not None and proof.trip == trip:
        peaks = with_proof(basis, peaks, proof, limit)
    return replace(_with_credited(ladder, peaks, upper_edge), peaks=peaks, covers_slower_than=slowest)


def _with_credited(ladder: Ladder, peaks: tuple[FailurePeak, ...], upper_edge: float) -> Ladder:
    """Return the ladder with the highest credited failure as its peak: one figure for one thing.

    In the other stacking a failure that trips goes as far above that one's edge; where none reaches the edge
    of the trip its tolerance moves nothing.
    """
    highest = max((one.peak for one in peaks if one.credited and one.peak is not None), default=None)
    if highest is None:
        return ladder
    rise = highest - upper_edge

    def moved(stacking: Stacking) -> Stacking:
        edge = stacking.trip_upper_edge
        return replace(stacking, peak=highest if edge is None or rise <= 0.0 else edge + rise)

    return replace(ladder, worst_case=moved(ladder.worst_case), root_sum_square=moved(ladder.root_sum_square))


def _lowest_normal_takes(
    basis: Basis, reducer: Reducer, lockup: float
) -> tuple[tuple[Contribution, ...], float | None]:
    repeat, drift = tol.reducer_moves(reducer, lockup)
    steady = None if basis.is_low_flow else peak_answer(basis)
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
