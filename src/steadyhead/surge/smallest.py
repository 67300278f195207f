"""The smallest event that trips a shut-off, and the slowest that still does, found by halving."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import sqrt

from steadyhead.errors import InputError, NotConverged
from steadyhead.records.surge import SmallestTrip
from steadyhead.surge import defaults as d
from steadyhead.surge.demand_events import Trial
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.plan import Plan, ShutOffRow
from steadyhead.surge.plant import Plant, compile_plan
from steadyhead.surge.running import advance
from steadyhead.work import Cancel, never_cancel


class Stopped(Exception):
    """Somebody stopped the search."""


@dataclass
class _Search:
    """Runs of one event, each until a shut-off trips or nothing more is to come."""

    plant: Plant
    trial: Trial
    cancel: Cancel
    first: str = ""

    def trips(self, change: float, within: float) -> bool:
        """Return whether a change of flow within a time trips a shut-off; False where it cannot begin."""
        if self.cancel():
            raise Stopped
        try:
            schedule, state = self.trial.begin(change, within)(self.plant)
        except (InputError, NotConverged):
            return False
        rows = {name: row for name, row in self.plant.rows.items() if self.plant.kinds[row] == at.SHUT_OFF}
        until = self.trial.over(within) + d.TRIP_WATCHED.si
        steps = max(round(d.TRIP_LOOKED_AT.si / self.plant.step), 1)
        while state.time < until:
            advance(self.plant, state, schedule, steps, stride=steps)
            for name, row in rows.items():
                if state.row_state[row][at.TRIPS] > 0.0:
                    self.first = name
                    return True
        return False


def smallest_trip(plan: Plan, trial: Trial, cancel: Cancel = never_cancel) -> SmallestTrip | None:
    """Return the smallest change of flow that trips, and the slowest of the stated size; edges to 2 %.

    A larger and a faster change is taken to trip where a smaller or a slower one does; where waves come back
    just then, one in between may not. None: no shut-off has a trip.

    Parameters
    ----------
    plan
        Of the run as stated.
    trial
        The event.
    cancel
        See `steadyhead.work`.

    Raises
    ------
    Stopped
        Somebody stopped it.
    """
    if not any(isinstance(part, ShutOffRow) and part.trip < d.NO_TRIP for part in plan.parts):
        return None
    search = _Search(compile_plan(plan), trial, cancel)
    trips = search.trips(trial.change, trial.within)
    fastest = min(d.FASTEST_TRIED.si, trial.within)
    if trips:
        least: float | None = _edge(lambda size: search.trips(size, trial.within), trial.change, 0.0)
    elif search.trips(trial.most, trial.within):
        least = _edge(lambda size: search.trips(size, trial.within), trial.most, trial.change)
    else:
        least = None
    slowest, is_any = _slowest(search, trial, fastest, trips=trips)
    return SmallestTrip(
        shut_off=search.first,
        change=trial.change,
        within=trial.within,
        trips=trips,
        least=least,
        most=trial.most,
        slowest=slowest,
        fastest=fastest,
        is_any_time=is_any,
    )


def _slowest(search: _Search, trial: Trial, fastest: float, *, trips: bool) -> tuple[float | None, bool]:
    """Return the longest time in which the stated change trips [s], and whether it trips in any."""

    def within(time: float) -> bool:
        return search.trips(trial.change, time)

    if not trips:
        if fastest >= trial.within or not within(fastest):
            return None, False
        return _edge(within, fastest, trial.within), False
    slow = trial.within
    while slow < d.SLOWEST_TRIED.si:
        longer = min(4.0 * slow, d.SLOWEST_TRIED.si)
        if not within(longer):
            return _edge(within, slow, longer), False
        slow = longer
    return slow, True


def _edge(trips: Callable[[float], bool], yes: float, no: float) -> float:
    """Return the value nearest to `no` that still trips, to 2 % of itself.

    Examples
    --------
    >>> round(_edge(lambda size: size >= 3.0, 8.0, 0.0), 1)
    3.0
    """
    while abs(yes - no) > d.EDGE_WITHIN.si * abs(yes):
        middle = 0.5 * (yes + no)
        if yes * no > 0.0 and max(yes / no, no / yes) > 2.0:
            middle = sqrt(yes * no) * (1.0 if yes > 0.0 else -1.0)
        if trips(middle):
            yes = middle
        else:
            no = middle
    return yes
