"""One failure in one situation, run up to its trip once and from there with as many needles as are asked."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from math import isnan, nan
from typing import Any, Literal

from steadyhead.errors import InputError, NotConverged
from steadyhead.records.ladder import ComponentLimit
from steadyhead.records.protection import (
    SIDES,
    CaseWorth,
    Closing,
    Failure,
    Inlet,
    Low,
    ProofCase,
    Side,
    SidePeak,
    Verdict,
)
from steadyhead.surge import defaults as d
from steadyhead.surge import proof_defaults as pd
from steadyhead.surge.along import distances
from steadyhead.surge.entry import mains_of
from steadyhead.surge.from_station import Drafted, mains_stated
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.metrics import stored
from steadyhead.surge.peaks import SIDES as SIDES_OF_MAINS
from steadyhead.surge.peaks import broken_at, fallen, judged, judged_place, shut_at, until_shut
from steadyhead.surge.plan import DirectReducerRow, ReducerRow, Section, ShutOffRow
from steadyhead.surge.plant import STATION, Grid, Plant, compile_plan
from steadyhead.surge.running import Runner
from steadyhead.surge.schedule import Held, Schedule
from steadyhead.surge.starting import start, steady_rest
from steadyhead.surge.state import State
from steadyhead.surge.validity import validity
from steadyhead.work import Cancel, never_cancel

T0 = d.EVENT_AT.si
QUIET_LOOKS = 10
"""Looks in a row without change after which a failure that stays below the trip is at rest."""
Places = dict[str, list[str]]
"""Names of sections and mains of each side; mains by the side of their pipes."""


@dataclass(frozen=True, slots=True)
class Setting:
    """A shut-off as set: trip [Pa], k of its needle [m³/(s·√Pa)], closing time of a timed one [s]."""

    trip: float
    needle: float
    close_time: float

    def faster(self, times: float) -> Setting:
        """Return the same trip with a stroke so many times as fast."""
        return replace(self, needle=self.needle * times, close_time=self.close_time / times)


@dataclass(frozen=True)
class Situation:
    """A way in one situation, ready to be failed; `mains`: through how many its lumped zone is entered."""

    drafted: Drafted
    plant: Plant
    lifts: dict[str, float]
    begin: Callable[[Schedule], State]
    inlet: Inlet
    flow: Literal["night", "average", "peak"]
    shut_off: str
    mains: int = 0


def situation(
    drafted: Drafted, inlet: Inlet, flow: Literal["night", "average", "peak"], shut_off: str
) -> Situation:
    """Return a drafted way at rest, its arrays made once for all failures and needles.

    Raises
    ------
    InputError, NotConverged
        The plan has no steady state.
    """
    plant = compile_plan(drafted.plan)
    rest = steady_rest(plant)

    def begin(schedule: Schedule) -> State:
        return start(plant, schedule, rest)

    mains = mains_of(drafted.plan)
    return Situation(drafted, plant, dict(rest.lifts), begin, inlet, flow, shut_off, mains)


def standing(here: Situation, side: str) -> float:
    """Return the highest pressure of a side's mains before anything happens. [Pa at datum]"""
    return _highest(here.plant, here.begin(Schedule(())))[side]


def inputs_of(here: Situation, failure: Failure) -> Schedule:
    """Return the input that makes a reducer fail after a second of calm."""
    row = next(part for part in here.drafted.plan.station if part.id == failure.reducer)
    if failure.kind == "pilot stuck" and isinstance(row, ReducerRow):
        return Schedule((Held(row.id, "stuck pilot", ((0.0, nan), (T0, 1.0))),))
    if failure.kind == "diaphragm torn" and isinstance(row, ReducerRow):
        torn = d.TORN_OVER_FEED.si * row.feed
        return Schedule((Held(row.id, "tear", ((0.0, 0.0), (T0, torn))),))
    within = failure.within if failure.within is not None else pd.SUDDENLY.si
    speed = max(1.0 - here.lifts.get(failure.reducer, 0.0), 0.0) / within
    return Schedule((Held(failure.reducer, "runaway", ((0.0, 0.0), (T0, speed))),))


@dataclass
class Watched:
    """A run under way: its state, and how much water plant and mains held at its start. [m³]"""

    state: State
    stored: float
    runner: Runner | None = None

    def copy(self) -> Watched:
        """Return an independent copy."""
        return replace(self, state=self.state.copy(), runner=None)


class FailureRun:
    """A failure that has been run until just before the trip; `finish` goes on from there with any needle."""

    def __init__(
        self, here: Situation, failure: Failure, setting: Setting, cancel: Cancel = never_cancel
    ) -> None:
        self.here, self.failure, self.setting, self.cancel = here, failure, setting, cancel
        self.schedule = inputs_of(here, failure)
        self.plant = here.plant
        self.row = self.plant.rows[here.shut_off]
        self.ahead = _ahead(here)
        self.stated = mains_stated(here.drafted)
        self.unknown = frozenset() if "supply" in self.stated else self.ahead
        state = here.begin(self.schedule)
        _set(self.plant, state, here.shut_off, setting)
        self.begun = _highest(self.plant, state)
        self.now = Watched(state, stored(self.plant, state))
        self.was_cancelled = False
        self.trips = self._to_trip()

    def _to_trip(self) -> bool:
        """Run until the look in which it trips, and keep the state of the look before; False: it does not."""
        fails_until = T0 + (self.failure.within or pd.SUDDENLY.si)
        before, quiet, patient = -1.0, 0, self._ends_above_trip()
        while self.now.state.time < T0 + pd.LONGEST_WATCHED.si and broken_at(self.now.state) is None:
            if self.cancel():
                self.was_cancelled = True
                return False
            kept = self.now.copy()
            self._look(self.now, pd.LOOKED_AT.si)
            if self.now.state.row_state[self.row][at.TRIPPED] > 0.0:
                self.now = kept
                return True
            felt = float(self.now.state.row_state[self.row][at.SENSE])
            quiet = quiet + 1 if abs(felt - before) < pd.AT_REST.si else 0
            before = felt
            if quiet >= QUIET_LOOKS and self.now.state.time > fails_until and not patient:
                return False
        return False

    def _ends_above_trip(self) -> bool:
        """Return whether the failed station, left alone, comes to rest above the trip."""
        lasting = tuple(Held(one.name, one.what, ((0.0, one.points[-1][1]),)) for one in self.schedule.inputs)
        if self.failure.kind not in ("pilot stuck", "diaphragm torn"):
            lasting = (Held(self.failure.reducer, "lift", ((0.0, 1.0),)),)
        try:
            rest = steady_rest(self.plant, Schedule(lasting))
        except (InputError, NotConverged):
            return False
        tap = self.plant.row_links[self.row][at.TAP]
        return float(rest.nodes[tap]) > self.setting.trip

    def _look(self, run: Watched, seconds: float) -> None:
        """Advance by so many seconds."""
        run.runner = runner = run.runner or Runner(self.plant, run.state, self.schedule)
        steps = max(round(seconds / self.plant.step), 1)
        while steps > 0:
            now = min(steps, runner.most)
            runner.advance(now, now)
            steps -= now

    def finish(self, setting: Setting | None = None) -> Watched:
        """Return the run gone on until some time after the shut-off is shut, with another needle if given.

        The trip is that of the start. A run of which a figure has left all bounds ends there.
        """
        run = self.now.copy()
        if not self.trips:
            return run
        _set(
            self.plant,
            run.state,
            self.here.shut_off,
            replace(setting or self.setting, trip=self.setting.trip),
        )
        longest = max(2.0 * grid.pipe.length / grid.wave_speed for grid in self.plant.grids)
        after = max(pd.WATCHED_SHUT.si, pd.RETURNS.si * longest)
        give_up = run.state.time + pd.LONGEST_CLOSING.si
        while run.state.time < give_up and not self.cancel() and broken_at(run.state) is None:
            shut = float(run.state.row_state[self.row][at.T_CLOSED])
            if not isnan(shut) and run.state.time >= shut + after:
                break
            self._look(run, pd.LOOKED_AT.si)
        return run

    def column(self, run: Watched) -> tuple[float, Side]:
        """Return how far the main nearest to it is from parting, and its side; above 0: it parts. [Pa]

        A main that the file does not state is a stub in the twin, of which nothing is said.

        Notes
        -----
        Vapour pressure less the lowest pressure; once parted p_a (V_gas/V_parted − 1), which goes on from it.
        """
        found: list[tuple[float, Side]] = []
        water = self.here.drafted.plan.water
        for side, name in (("supply", "inlet"), ("consumer", "consumer")):
            if side not in self.stated:
                continue
            low = _low(self.here, run.state, side)
            left = water.vapour_pressure_abs - water.atmosphere_abs - low.pressure
            parted = water.atmosphere_abs * (low.cavity / d.SEPARATED.si - 1.0)
            found.append((parted if low.is_separated else min(left, 0.0), _side(name)))
        return max(found, default=(-water.atmosphere_abs, "consumer"))

    def times(self, run: Watched) -> tuple[float | None, float | None, float | None]:
        """Return from failure to trip, and from trip to switch and to shut. [s]"""
        row = run.state.row_state[self.row]
        trip, switch, shut = (float(row[column]) for column in (at.T_TRIP, at.T_SWITCH, at.T_CLOSED))
        if isnan(trip):
            return None, None, None
        return trip - T0, None if isnan(switch) else switch - trip, None if isnan(shut) else shut - trip

    def case(self, run: Watched, limits: Iterable[ComponentLimit], closing: Closing) -> ProofCase:
        """Return what a run came to."""
        trip, switch, shut = self.times(run)
        worth = validity(self.plant, run.state, run.stored)
        return ProofCase(
            failure=self.failure,
            inlet=self.here.inlet,
            flow=self.here.flow,
            closing=closing,
            trip_after=trip,
            switch_after=switch,
            shut_after=shut,
            until=run.state.time - T0,
            peaks=tuple(self.peaks(run, tuple(limits))),
            consumers=_low(self.here, run.state, "consumer"),
            supply=_low(self.here, run.state, "supply"),
            has_fallen_in=bool(fallen(run.state) & self.stated),
            worth=CaseWorth(worth.mass_error, worth.adjusted, worth.open_steps, worth.broken_at),
            mains=self.here.mains,
        )

    def peaks(self, run: Watched, limits: tuple[ComponentLimit, ...]) -> list[SidePeak]:
        """Return the highest pressure of each side there is, beside its weakest component."""
        found = []
        state, ended = run.state, fallen(run.state)
        is_broken = broken_at(state) is not None
        at_all = judged(self.plant, state)
        is_shut = shut_at(state) is not None
        rise = until_shut(self.plant, state) if is_shut else at_all
        for side, names in places_of(self.here.drafted).items():
            if not names:
                continue
            is_ahead = names[0] in self.ahead
            seen = at_all if is_ahead else rise
            name = max(names, key=lambda one: seen[one])
            begun = max(self.begun[one] for one in names)
            place, level = self._place(run, name, shut=is_shut and not is_ahead)
            bears = [one for one in limits if one.side == side and one.fault_at_datum is not None]
            weakest = min(bears, key=lambda one: one.fault_at_datum or 0.0, default=None)
            limit = None if weakest is None else weakest.fault_at_datum
            has_fallen = is_broken or ("supply" if is_ahead else "consumer") in ended & self.told(state)
            verdict = _verdict(seen[name], begun, limit, has_fallen)
            if name in self.unknown and verdict in ("inside", "over", "no verdict"):
                verdict = "no main"
            component = "" if weakest is None else weakest.component
            is_thrown_back = is_shut and not is_ahead and "consumer" in self.stated
            rebound = max(at_all[one] for one in names) if is_thrown_back else None
            found.append(
                SidePeak(_side(side), seen[name], rebound, begun, place, level, component, limit, verdict)
            )
        return found

    def told(self, state: State) -> frozenset[str]:
        """Return the sides on which a cavity that falls in takes the verdict away.

        Behind a station whose zone states no main that is one before the shut-off stands shut: what its stub
        does afterwards is nobody's water column.
        """
        shut = shut_at(state)
        is_before = shut is None or 0.0 < float(state.run[at.FELL_CONSUMER]) < shut
        return self.stated | {"consumer"} if is_before else self.stated

    def _place(self, run: Watched, name: str, *, shut: bool) -> tuple[str, float]:
        """Return where the highest of a main, or of a section, stands, in words, and its level. [m]"""
        if name not in SIDES_OF_MAINS:
            return name, self._datum
        grid, node = judged_place(self.plant, run.state, name, shut=shut)
        return _along(self.here, grid, node)

    @property
    def _datum(self) -> float:
        return self.here.drafted.model.station.station.datum.si


def _side(name: str) -> Side:
    return next(side for side in SIDES if side == name)


def _verdict(peak: float, begun: float, limit: float | None, has_fallen_in: bool) -> Verdict:
    if limit is None:
        return "no limit"
    if begun > limit:
        return "over before"
    if peak > limit:
        return "over"
    return "no verdict" if has_fallen_in else "inside"


def places_of(drafted: Drafted) -> Places:
    """Return the sections and mains of each side of a limit, in the order of `SIDES`."""
    parts = drafted.plan.station
    valves = [n for n, p in enumerate(parts) if isinstance(p, ReducerRow | DirectReducerRow | ShutOffRow)]
    named = [(n, p.id) for n, p in enumerate(parts) if isinstance(p, Section)]
    return {
        "consumer": ["consumer"],
        "outlet": [name for n, name in named if n > valves[-1]],
        "between": [name for n, name in named if valves[0] < n < valves[-1]],
        "inlet": ["supply", *(name for n, name in named if n < valves[0])],
    }


def _set(plant: Plant, state: State, name: str, setting: Setting) -> None:
    state.set_value(plant, name, at.TRIP, setting.trip)
    state.set_value(plant, name, at.CLOSE_NEEDLE, setting.needle)
    state.set_value(plant, name, at.CLOSE_TIME, setting.close_time)


def _highest(plant: Plant, state: State) -> dict[str, float]:
    """Return the highest pressures so far at datum: of each side's mains, and of each section. [Pa]"""
    found = {
        side: plant.weight * max(_most(state.highest, grid) for grid in plant.mains(side))
        for side in ("supply", "consumer")
    }
    return found | {name: float(state.node_state[node][at.HIGHEST]) for name, node in plant.nodes.items()}


def _row(table: Any, grid: Grid) -> Any:
    return table[grid.place][: grid.reaches + 1]


def _most(table: Any, grid: Grid) -> float:
    row = _row(table, grid)
    return max(row) if isinstance(row, list) else float(row.max())


def _ahead(here: Situation) -> frozenset[str]:
    """Return the places that stay with the supply main when the shut-off is shut."""
    parts = here.drafted.plan.station
    at_row = next(n for n, part in enumerate(parts) if part.id == here.shut_off)
    return frozenset(("supply", *(part.id for part in parts[:at_row] if isinstance(part, Section))))


def _along(here: Situation, grid: Grid, node: int) -> tuple[str, float]:
    """Return a node of a main in words a person finds on a plan, and its level. [m]"""
    level = float(here.plant.level[grid.place][node]) + here.drafted.model.station.station.datum.si
    supply = here.drafted.model.station.supply.main
    zone = here.drafted.model.station.zone.main
    is_supply = grid.pipe.side == "supply"
    if (supply if is_supply else zone) is None:
        return ("ahead of the station" if is_supply else "behind the station"), level
    if len(here.plant.mains(grid.pipe.side)) > 1:
        return f"{grid.pipe.id}, {grid.reach * node:.0f} m along", level
    away = grid.reach * (grid.reaches - node if is_supply else node)
    if grid.pipe.above != STATION and not is_supply:
        away += distances(here.drafted.plan)[grid.pipe.above]
    main = "supply main" if is_supply else "consumer main"
    if away < 0.5 * grid.reach:
        return f"{main} at the station", level
    return f"{main}, {away:.0f} m from the station", level


def _low(here: Situation, state: State, side: str) -> Low:
    plant = here.plant
    best: tuple[float, Grid, int] | None = None
    gas = 0.0
    for grid in plant.side(side):
        gas = max(gas, _most(state.most_gas, grid))
        for node, head in enumerate(_row(state.lowest, grid)):
            pressure = (float(head) - float(plant.level[grid.place][node])) * plant.weight
            if best is None or pressure < best[0]:
                best = (pressure, grid, node)
    assert best is not None
    place, level = _along(here, best[1], best[2])
    highest = here.drafted.model.station.zone.highest
    at_highest = None
    if side == "consumer" and highest is not None:
        heads = min(min(_row(state.lowest, grid)) for grid in plant.mains(side))
        risen = highest.si - here.drafted.model.station.station.datum.si
        at_highest = float(heads) * plant.weight - plant.weight * risen
    is_separated = gas > d.SEPARATED.si and side in mains_stated(here.drafted)
    return Low(best[0], place, level, gas, is_separated, at_highest)
