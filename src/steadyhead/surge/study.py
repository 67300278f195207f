"""Run one event, once and with its step halved, and read off what it came to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import isnan, nan
from typing import Any

from steadyhead.findings import Finding
from steadyhead.records.ladder import ComponentLimit
from steadyhead.records.surge import (
    MainExtremes,
    SectionPeak,
    ShutOffTimes,
    SurgeLimit,
    SurgeRun,
    SurgeTrace,
    Verdict,
)
from steadyhead.surge import defaults as d
from steadyhead.surge.along import kept as heads_kept
from steadyhead.surge.along import largest_cavity, profiles
from steadyhead.surge.doubts import findings_of, otherwise
from steadyhead.surge.ensemble import Threads
from steadyhead.surge.entry import mains_of
from steadyhead.surge.events import Study
from steadyhead.surge.from_station import Drafted, halved, mains_stated
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.metrics import Extremes, extremes, mass_error, settling, stored, swing, tail_mean
from steadyhead.surge.peaks import SIDES, broken_at, fallen, judged, shut_at, side_of, until_shut
from steadyhead.surge.plan import DirectReducerRow, Plan, ReducerRow, Section, ShutOffRow
from steadyhead.surge.plant import Plant, compile_plan
from steadyhead.surge.running import Trace
from steadyhead.surge.smallest import Stopped, smallest_trip
from steadyhead.surge.state import State
from steadyhead.surge.together import named
from steadyhead.surge.watching import all_shut_since, watch
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

BEHIND = ("consumer", "outlet")
WEIGHT: dict[Verdict, int] = {"inside": 0, "no verdict": 1, "no main": 2, "over": 3}
"""Which verdict of two runs of an event is told."""


@dataclass(frozen=True)
class _Ran:
    """A run as it ended; `judged`: highest pressures at datum before a cavity fell in, by place. [Pa]

    until_shut: the same until the last way stood shut after a trip.
    along, begun_along: highest heads by pipe and node until then, and before the event. [m]
    fell_in: the last look before a cavity fell in; None: none did. [s]
    """

    plant: Plant
    state: State
    trace: Trace
    mass_error: float
    judged: Mapping[str, float]
    until_shut: Mapping[str, float]
    begun: Mapping[str, float]
    until: float
    along: Any
    begun_along: Any
    fell_in: float | None


def run_study(
    study: Study,
    limits: Iterable[ComponentLimit] = (),
    *,
    way: str = "",
    checks_grid: bool = True,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
) -> SurgeRun | None:
    """Return what an event comes to; None where it was cancelled.

    Limits of validity are those of the engine: full pipes, no air, walls known by their wave speed. Every
    figure has a finding where it is in doubt.

    Parameters
    ----------
    study
        From `steadyhead.surge.events.studies`.
    limits
        What the components bear in a fault, at datum.
    way
        Name of the way through the station, where there are several.
    checks_grid
        Whether it is run with its step halved too, and read from that; without, what the grid does is not
        known (NaN).
    progress, cancel
        See `steadyhead.work`.
    """
    known, plan = tuple(limits), study.drafted.plan
    coarse = _advanced(study, plan, no_progress, cancel) if checks_grid else None
    plans = [one for one in (plan, study.other_end) if one is not None]
    found = _both(study, [halved(one) if checks_grid else one for one in plans], progress, cancel)
    if found is None or (checks_grid and coarse is None):
        return None
    change = nan if coarse is None else _grid_change(coarse, found[0])
    judged_ = [_judged(one, study.drafted, known) for one in found]
    told = tuple(_worse(each) for each in zip(*judged_, strict=True))
    ran, _ = max(zip(found, judged_, strict=True), key=lambda one: _used(one[1]))
    differs = _beside_usual(study, told, known, way, cancel)
    if differs is None:
        return None
    run = replace(_read(study, ran, change, told, way, differs), mains_behind=_ends_of(plans))
    return _with_trial(study, findings_of(study, run, ran.plant), cancel)


def _both(study: Study, plans: Sequence[Plan], progress: Progress, cancel: Cancel) -> list[_Ran] | None:
    """Return the runs of an event at both ends of the band of mains, on threads; None: it was cancelled."""
    told = (progress, *(no_progress for _ in plans[1:]))

    def one(number: int) -> _Ran | None:
        return _advanced(study, plans[number], told[number], cancel)

    found = [ran for ran in Threads().map(one, range(len(plans))) if ran is not None]
    return found if len(found) == len(plans) else None


def _ends_of(plans: Sequence[Plan]) -> tuple[int, int]:
    found = [mains_of(plan) for plan in plans]
    return min(found), max(found)


def _used(limits: Sequence[SurgeLimit]) -> tuple[bool, bool, float]:
    """Return what ranks a run among those of an event: limits passed, by the wave thrown back, share used."""
    new = [one for one in limits if one.begun_at_datum <= one.limit_at_datum]
    shares = [one.sees_at_datum / one.limit_at_datum for one in limits if one.limit_at_datum > 0.0]
    passes = any(one.verdict == "over" for one in new)
    return passes, any(one.is_rebound_over for one in new), max(shares, default=0.0)


def _worse(ends: Sequence[SurgeLimit]) -> SurgeLimit:
    """Return what a limit sees at the worse of both ends, rise and wave thrown back each for itself."""
    by_rise = max(ends, key=lambda one: one.peak_at_datum)
    thrown = [one for one in ends if one.rebound_at_datum is not None]
    by_wave = max(thrown, key=lambda one: one.rebound_at_datum or 0.0, default=by_rise)
    verdict = max((one.verdict for one in ends), key=WEIGHT.__getitem__)
    worse = replace(by_rise, verdict=verdict, rebound_at_datum=by_wave.rebound_at_datum)
    if not worse.is_rebound_over:
        return worse
    least = min((one.sees_at_datum for one in ends if one is not by_wave), default=None)
    return replace(worse, mains=by_wave.mains, rebound_least_at_datum=least)


def _beside_usual(
    study: Study,
    quiet: tuple[SurgeLimit, ...],
    limits: tuple[ComponentLimit, ...],
    way: str,
    cancel: Cancel,
) -> tuple[Finding, ...] | None:
    """Return where a run with every value at its default differs by more than the room left to a limit.

    Read as long as swings of the reducer that hunts have not grown threefold. None: it was cancelled.
    """
    if study.usual is None or not limits:
        return ()
    usual = _advanced(replace(study, until=study.usual_until), study.usual, no_progress, cancel)
    if usual is None:
        return None
    pairs = zip(quiet, _judged(usual, study.drafted, limits), strict=True)
    return tuple(otherwise(named(study.name, way), pairs))


def _with_trial(study: Study, run: SurgeRun, cancel: Cancel) -> SurgeRun | None:
    if study.trial is None:
        return run
    try:
        return replace(run, smallest=smallest_trip(study.drafted.plan, study.trial, cancel))
    except Stopped:
        return None


def _advanced(study: Study, plan: Plan, progress: Progress, cancel: Cancel) -> _Ran | None:
    plant = compile_plan(plan)
    schedule, state = study.begin(plant)
    before, begun = stored(plant, state), judged(plant, state)
    begun_along = heads_kept(state.highest)
    looks = _Looks(begun_along, state.time)
    ended = watch(plant, state, schedule, study.until, decided=looks.take, progress=progress, cancel=cancel)
    if ended is None:
        return None
    error, fell_in = mass_error(plant, state, before), looks.time if looks.has_fallen_in else None
    return _Ran(
        plant,
        state,
        ended.trace,
        error,
        judged(plant, state),
        until_shut(plant, state),
        begun,
        state.time,
        looks.along,
        begun_along,
        fell_in,
    )


class _Looks:
    """What stood along the mains of each side at the last look before a cavity that is felt there fell in."""

    def __init__(self, along: Any, time: float) -> None:
        self.along, self.time, self.has_fallen_in = along, time, False

    def take(self, plant: Plant, state: State) -> bool:
        """Take a look; ends the run where every shut-off has been shut for as long as an event is watched."""
        ended = fallen(state)
        self.has_fallen_in = bool(ended)
        if not ended:
            self.along, self.time = heads_kept(state.highest), state.time
        else:
            for grid in plant.grids:
                if grid.pipe.side not in ended:
                    self.along[grid.place][:] = state.highest[grid.place]
        return state.time > all_shut_since(plant, state) + d.WATCHED_FOR.si


def _at_datum(plant: Plant, state: State, side: str) -> tuple[float, float]:
    """Return highest and lowest head of a side as pressures at datum, from which levels count. [Pa]"""
    high = max(float(max(state.highest[g.place][: g.reaches + 1])) for g in plant.mains(side))
    low = min(float(min(state.lowest[g.place][: g.reaches + 1])) for g in plant.side(side))
    return high * plant.weight, low * plant.weight


def _grid_change(coarse: _Ran, fine: _Ran) -> float:
    """Return the largest change of a highest or lowest pressure over the highest of that side. [1]"""
    worst = 0.0
    for side in ("supply", "consumer"):
        scale = max(abs(fine.judged[side]), 1e5)
        worst = max(worst, abs(fine.judged[side] - coarse.judged[side]) / scale)
        a, b = extremes(fine.plant, fine.state, side), extremes(coarse.plant, coarse.state, side)
        if not (a.is_separated or b.is_separated):
            worst = max(worst, abs(a.lowest - b.lowest) / scale)
    return worst


def _read(
    study: Study,
    ran: _Ran,
    grid_change: float,
    limits: tuple[SurgeLimit, ...],
    way: str,
    differs: tuple[Finding, ...],
) -> SurgeRun:
    plant, drafted = ran.plant, study.drafted
    outlet = outlet_section(drafted)
    trace = _trace(ran, drafted)
    values = trace.pressures[outlet]
    supply, consumer = (_main(ran, side) for side in ("supply", "consumer"))
    size, period = swing(trace.time, values)
    has_main = drafted.model.station.supply.main is not None
    travel = sum(grid.pipe.length / grid.pipe.wave_speed for grid in plant.side("supply"))
    return SurgeRun(
        event=study.name,
        happens=study.happens,
        way=way,
        inlet_case=drafted.case.inlet,
        flow_case="" if study.trial is not None and study.trial.event.before else drafted.case.flow,
        event_at=study.event_at,
        until=ran.until,
        step=plant.step,
        nodes=plant.node_count,
        grid_change=grid_change,
        mass_error=ran.mass_error,
        supply=supply,
        consumer=consumer,
        sections=tuple(_section(ran, part) for part in drafted.rows.sections),
        shut_offs=tuple(_times(ran, p.id) for p in drafted.plan.parts if isinstance(p, ShutOffRow)),
        trip_pressures={
            p.id: p.trip for p in drafted.plan.parts if isinstance(p, ShutOffRow) and p.trip < 1e12
        },
        limits=limits,
        outlet=outlet,
        outlet_before=float(values[0]),
        outlet_end=float(tail_mean(values, d.END_SHARE.si)),
        settled=settling(trace.time, values),
        swing=float(size),
        period=period,
        wave_return=2.0 * travel if has_main else None,
        findings=differs,
        trace=trace,
        group=study.event,
        is_uncredited=study.is_uncredited,
        fell_in=ran.fell_in,
        broken_at=broken_at(ran.state),
        fallen=tuple(side for side in SIDES if side in fallen(ran.state)),
        mains=mains_of(plant.plan),
        untold=untold_of(drafted),
        profiles=profiles(plant, ran.begun_along, ran.along, ran.state.lowest),
    )


def outlet_section(drafted: Drafted) -> str:
    """Return the last section of the station: where it feeds its consumers."""
    return drafted.rows.sections[-1].id


def _main(ran: _Ran, side: str) -> MainExtremes:
    found: Extremes = extremes(ran.plant, ran.state, side)
    high, low = _at_datum(ran.plant, ran.state, side)
    parted = largest_cavity(ran.plant, ran.state.most_gas, side) if found.is_separated else None
    return MainExtremes(
        highest=found.highest,
        lowest=found.lowest,
        highest_at_datum=high,
        lowest_at_datum=low,
        judged_at_datum=ran.judged[side],
        most_gas=found.most_gas,
        is_separated=found.is_separated,
        parted_at=parted,
    )


def _section(ran: _Ran, part: Section) -> SectionPeak:
    node = ran.state.node_state[ran.plant.nodes[part.id]]
    return SectionPeak(
        part.id,
        float(node[at.HIGHEST]),
        float(node[at.LOWEST_SEEN]),
        float(node[at.T_HIGHEST]),
        ran.judged[part.id],
    )


def _times(ran: _Ran, name: str) -> ShutOffTimes:
    row = ran.state.row_state[ran.plant.rows[name]]

    def moment(column: int) -> float | None:
        return None if isnan(row[column]) else float(row[column])

    return ShutOffTimes(name, int(row[at.TRIPS]), moment(at.T_TRIP), moment(at.T_SWITCH), moment(at.T_CLOSED))


def _judged(ran: _Ran, drafted: Drafted, limits: tuple[ComponentLimit, ...]) -> tuple[SurgeLimit, ...]:
    """Return limits beside what they see, by the rule of the protection proof.

    Behind a shut-off that trips and shuts the rise until it stands shut is judged, and the wave thrown back
    apart from it; a side on which a cavity fell in has no verdict, nor what hangs on a main not stated.
    """
    places, ended = places_of(drafted), fallen(ran.state)
    stated, ahead = mains_stated(drafted), ahead_of(drafted)
    is_shut = shut_at(ran.state) is not None
    found = []
    for one in limits:
        names, limit = places[one.side], one.fault_at_datum
        if limit is None or not names:
            continue
        behind = [name for name in names if is_shut and side_of(ran.plant, name) == "consumer"]
        peak = max(ran.until_shut[name] if name in behind else ran.judged[name] for name in names)
        begun = max(ran.begun[name] for name in names)
        has_fallen = any(side_of(ran.plant, name) in ended for name in names)
        verdict: Verdict = "over" if peak > limit else "no verdict" if has_fallen else "inside"
        waves = behind if "consumer" in stated else []
        rebound = max((ran.judged[name] for name in waves), default=None)
        is_ahead = "supply" not in stated and not ahead.isdisjoint(names)
        is_behind = "consumer" not in stated and bool(behind) and one.side in BEHIND and verdict != "over"
        if begun <= limit and (is_ahead or is_behind):
            verdict = "no main"
        known = SurgeLimit(one.component, one.side, one.level, limit, peak, begun, verdict, rebound)
        found.append(replace(known, mains=mains_of(ran.plant.plan)))
    return tuple(found)


def ahead_of(drafted: Drafted) -> frozenset[str]:
    """Return the places that see the surge in the supply main: its own, and those before a shut-off."""
    found = {"supply", *places_of(drafted)["inlet"]}
    for parts in drafted.plan.ways:
        shut_off = next((n for n, part in enumerate(parts) if isinstance(part, ShutOffRow)), 0)
        found |= {part.id for part in parts[:shut_off] if isinstance(part, Section)}
    return frozenset(found)


def untold_of(drafted: Drafted) -> frozenset[str]:
    """Return the places whose highest pressure is that of a stub in the place of a main not stated."""
    stated = mains_stated(drafted)
    ahead = frozenset() if "supply" in stated else ahead_of(drafted)
    return ahead if "consumer" in stated else ahead | {"consumer"}


def places_of(drafted: Drafted) -> dict[str, list[str]]:
    """Return the sections and mains of each side of a limit."""
    found: dict[str, dict[str, None]] = {"inlet": {"supply": None}, "between": {}, "outlet": {}}
    for parts in drafted.plan.ways:
        valves = [n for n, p in enumerate(parts) if isinstance(p, ReducerRow | DirectReducerRow | ShutOffRow)]
        for place, part in enumerate(parts):
            if isinstance(part, Section) and valves:
                side = "inlet" if place < valves[0] else "outlet" if place > valves[-1] else "between"
                found[side][part.id] = None
    return {**{side: list(names) for side, names in found.items()}, "consumer": ["consumer"]}


def _trace(ran: _Ran, drafted: Drafted) -> SurgeTrace:
    trace, plant = ran.trace, ran.plant
    weight = plant.weight

    def plain(values: Sequence[float], rise: float = 0.0) -> tuple[float, ...]:
        return tuple(value + rise for value in values)

    end = drafted.consumers
    pressures = {"T0": plain(trace.node(plant.inlet_node))}
    pressures |= {part.id: plain(trace.pressure(part.id)) for part in drafted.rows.sections}
    pressures |= {"T4": plain(trace.node(0)), "consumers": plain(trace.joint(end.id), weight * end.level)}
    drawn = [sum(each) for each in zip(*(trace.draw(joint) for joint in drafted.drawing), strict=True)]
    valves = [p.id for p in drafted.plan.parts if isinstance(p, ReducerRow | DirectReducerRow | ShutOffRow)]
    return SurgeTrace(
        time=plain(trace.time),
        pressures=pressures,
        flows={"inlet": plain(trace.inflow), "consumers": plain(drawn)},
        lifts={name: plain(trace.lift(name)) for name in valves},
    )
