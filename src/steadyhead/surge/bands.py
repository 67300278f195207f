"""How quiet a reducer is with its real mains, as a band over what of it nobody has measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf

import numpy as np
from numpy.typing import NDArray

from steadyhead.errors import InputError, NotConverged
from steadyhead.hydraulics.cases import inlet_pressure
from steadyhead.laws.compiling import table
from steadyhead.records.stability import Fit, FlowStability, ReducerStability, Spread, UncalibratedValue
from steadyhead.surge import defaults as d
from steadyhead.surge.fitting import Held, fit_of
from steadyhead.surge.from_station import Drafted
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.plan import Consumers, Plan, ReducerRow, Reservoir
from steadyhead.surge.plant import Plant, compile_plan
from steadyhead.surge.quiet import Margins, Point, margins, unstable_roots
from steadyhead.surge.rest import Rest
from steadyhead.surge.rows import Curves, rows_of
from steadyhead.surge.sampling import latin_hypercube, tenths
from steadyhead.surge.schedule import Schedule, Straight
from steadyhead.surge.starting import steady_rest
from steadyhead.surge.uncalibrated import member, uncalibrated
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

GRID = 8
"""Flows between the lowest and the highest at which every member is looked at."""
HALVINGS = 5
LOWEST_SHARE = 0.01
"""Lowest flow looked at, over the peak. [1]"""


@dataclass(frozen=True, slots=True)
class _Members:
    """Members of one reducer, each compiled; the first has every default."""

    reducer: str
    plants: tuple[Plant, ...]
    demand: Mapping[str, float]

    def points(self, factors: Sequence[float], more: float = 0.0) -> list[Point | None]:
        """Return each member at its share of the demand of the draft, with so much more inlet pressure. [Pa]

        None where it has no steady state there, or its stem stands on a stop.
        """
        found: list[Point | None] = []
        for plant, factor in zip(self.plants, factors, strict=True):
            rest = self._rest(plant, factor, more)
            is_moving = rest is not None and 0.0 < rest.pilots[self.reducer] < 1.0
            found.append(Point(plant, rest, self.reducer) if rest is not None and is_moving else None)
        return found

    def hunting(self, factors: Sequence[float]) -> NDArray[np.bool_]:
        """Return which members hunt, each at its own share of the demand."""
        points = self.points(factors)
        there = [point for point in points if point is not None]
        hunts = np.zeros(len(points), dtype=bool)
        if there:
            hunts[[point is not None for point in points]] = unstable_roots(there) > 0
        return hunts

    def some(self, places: Sequence[int]) -> _Members:
        """Return the member with every default, and those at these places behind it."""
        plants = (self.plants[0], *(self.plants[place + 1] for place in places))
        return replace(self, plants=plants)

    def _rest(self, plant: Plant, factor: float, more: float) -> Rest | None:
        inputs = [Straight(name, "demand", ((0.0, factor * k),)) for name, k in self.demand.items()]
        if more != 0.0:
            inputs += [
                Straight(joint.id, "supply pressure", ((0.0, joint.pressure + more),))
                for joint in plant.plan.joints
                if isinstance(joint, Reservoir)
            ]
        try:
            return steady_rest(plant, Schedule(tuple(inputs)))
        except (InputError, NotConverged):
            return None


def stability_band(
    drafted: Drafted,
    row: ReducerRow,
    flows: Mapping[str, float],
    *,
    way: str = "",
    members: int = int(d.MEMBERS.si),
    seed: int = 1,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
) -> ReducerStability | None:
    """Return how quiet a reducer is at some flows, and from which flow on; None where it was cancelled.

    Small disturbances about steady points, no air in the chamber, other stems standing still. Every member
    has other values of what is not calibrated; what the file states keeps to its own ±. Where the file says
    what was seen on site, members are those that agree with it (`steadyhead.surge.fitting`).

    Parameters
    ----------
    drafted
        The way in a situation with flow.
    row
        The reducer.
    flows
        Flows above 0 by name, the highest last. [m³/s]
    members, seed
        How many members of the band, and the seed of their Latin hypercube.
    progress, cancel
        See `steadyhead.work`.

    Notes
    -----
    Quiet: no root of χ(s) in the right half plane (`steadyhead.surge.stability`). The smallest quiet flow is
    halved for between flows looked at in equal steps of its logarithm, to 2 % of it or better.
    """
    bands = uncalibrated(drafted, row)
    now = drafted.before.consumer_flow
    chosen = _chosen(drafted, row, bands, members, seed, progress, cancel)
    if chosen is None:
        return None
    made, bands, fit = chosen
    members = len(made.plants) - 1
    top = max(flows.values())
    low = min(LOWEST_SHARE * top, min(flows.values()))
    steps = np.geomspace(low / now, top / now, GRID)
    whole = GRID + HALVINGS + len(flows)
    hunts = np.zeros((members + 1, GRID), dtype=bool)
    for place, factor in enumerate(steps):
        if cancel():
            return None
        progress(place, whole, "flows")
        hunts[:, place] = made.hunting([float(factor)] * (members + 1))
    quiet = _quiet_from(made, steps, hunts, progress, cancel)
    if quiet is None:
        return None
    looked = [_at_flow(made, name, flow / now, flow) for name, flow in flows.items()]
    progress(whole, whole, "flows")
    edges = tenths(quiet[1:] * now)
    return ReducerStability(
        row.id, way, drafted.case.inlet, tuple(looked), Spread(*edges), low, top, members, seed, bands, fit
    )


def _chosen(
    drafted: Drafted,
    row: ReducerRow,
    bands: tuple[UncalibratedValue, ...],
    members: int,
    seed: int,
    progress: Progress,
    cancel: Cancel,
) -> tuple[_Members, tuple[UncalibratedValue, ...], Fit | None] | None:
    """Return members, their bands, and the fit to what was seen; None where it was cancelled."""
    part = next(one for one in drafted.model.reducers if one.id == row.id)
    if not part.observed:
        shares = latin_hypercube(members, len(bands), seed)
        return _members(drafted, row.id, bands, shares), bands, None
    shares = latin_hypercube(members * int(d.OBSERVED_DRAWN.si), len(bands), seed)
    drawn = _members(drafted, row.id, bands, shares)
    now = drafted.before.consumer_flow

    def points_at(flow: float, more: float, asked: NDArray[np.bool_]) -> list[Point | None]:
        found: list[Point | None] = [None] * len(shares)
        places = [int(place) for place in np.flatnonzero(asked)]
        some = drawn.some(places)
        for place, point in zip(places, some.points([flow / now] * len(some.plants), more)[1:], strict=True):
            found[place] = point
        return found

    inlet = inlet_pressure(drafted.model.station, drafted.case.inlet).si
    held = Held(len(shares), part.lockup, inlet, points_at)
    for number, one in enumerate(sorted(part.observed, key=lambda each: each.flow.si)):
        if cancel():
            return None
        progress(number, 4 * len(part.observed), "observations")
        held.against(one)
    fit, places, fitted = fit_of(held, shares, bands)
    return drawn.some([int(place) for place in places[:members]]), fitted, fit


def _quiet_from(
    made: _Members,
    steps: NDArray[np.float64],
    hunts: NDArray[np.bool_],
    progress: Progress,
    cancel: Cancel,
) -> NDArray[np.float64] | None:
    """Return from which share of the demand on each member is quiet; infinite: hunts at the highest."""
    last = np.array([np.flatnonzero(line)[-1] if line.any() else -1 for line in hunts])
    inside = (last >= 0) & (last < GRID - 1)
    low = np.log(steps[np.maximum(last, 0)])
    high = np.log(steps[np.minimum(last + 1, GRID - 1)])
    for number in range(HALVINGS):
        if cancel():
            return None
        progress(GRID + number, GRID + HALVINGS, "flows")
        middle = 0.5 * (low + high)
        found = made.hunting([float(one) for one in np.exp(middle)])
        low, high = np.where(found, middle, low), np.where(found, high, middle)
    quiet = np.where(inside, np.exp(high), steps[0])
    return np.where(last == GRID - 1, inf, quiet)


def _members(
    drafted: Drafted, reducer: str, bands: Sequence[UncalibratedValue], shares: NDArray[np.float64]
) -> _Members:
    ends = [joint for joint in drafted.plan.joints if isinstance(joint, Consumers)]
    demand = {joint.id: joint.coefficient for joint in ends if joint.coefficient > 0.0}
    plans = [
        drafted.plan,
        *(member(drafted.plan, reducer, bands, [float(u) for u in line]) for line in shares),
    ]
    first = compile_plan(drafted.plan)
    return _Members(reducer, tuple(_reworked(first, plan) for plan in plans), demand)


def _reworked(plant: Plant, plan: Plan) -> Plant:
    """Return a plant with the valves and ends of another plan with the same pipes and layout."""
    rows = table(rows_of(plan, Curves()).values, at.ROW_VALUES)
    return replace(plant, plan=plan, row_values=rows)


def _at_flow(made: _Members, name: str, factor: float, flow: float) -> FlowStability:
    points = made.points([factor] * len(made.plants))
    there = [point for point in points if point is not None]
    found = margins(there) if there else Margins(np.zeros(0, np.int64), np.zeros(0), np.zeros(0))
    lift = points[0].rest.lifts[made.reducer] if points[0] is not None else 0.0
    few = len(there) < 2
    return FlowStability(
        flow_case=name,
        flow=flow,
        lift=lift,
        hunting=0.0 if few else float(np.mean(found.unstable_roots[1:] > 0)),
        gain_margin=Spread(*(tenths(found.gain[1:]) if not few else (inf, inf, inf))),
        phase_margin=Spread(*(tenths(_signed(found)[1:]) if not few else (inf, inf, inf))),
    )


def _signed(found: Margins) -> NDArray[np.float64]:
    """Return phase margins, negative where roots grow; infinite where the loop never passes 1."""
    size = np.where(np.isnan(found.phase), inf, found.phase)
    return np.where(found.unstable_roots > 0, -size, size)
