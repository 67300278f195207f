"""Droop and lock-up of service against those as left: falls and rises, never levels."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, hypot, sqrt

import numpy as np

from steadyhead.watch.counting import counted
from steadyhead.watch.defects.saying import bar
from steadyhead.watch.defects.series import Floats
from steadyhead.watch.measures.day import Days, measured, with_flow
from steadyhead.watch.measures.defaults import LEAST_NIGHTS
from steadyhead.watch.measures.droop import FEW, SPREAD, sen
from steadyhead.watch.measures.grid import GRAIN
from steadyhead.watch.measures.levels import BY_CLOCK, Levelled, by_clock, levelled
from steadyhead.watch.measures.lockup import LAST
from steadyhead.watch.measures.measure import Measure, Measured

OF_95 = SPREAD / 1.96
"""Half-width of 90 % over that of 95 %, normal law. Analytic."""
ENOUGH = 0.5
"""Share of the flows as left (by their roots) that service must have met. Own estimate."""


@dataclass(frozen=True, slots=True)
class Stood:
    """A fall or rise of the outlet as left: value, half-width of 95 % [Pa], flows it belongs to [m³/s].

    flows: of a droop from which to which; of a rise the duty flow, twice.
    """

    value: float
    within: float
    flows: tuple[float, float]


@dataclass(frozen=True, slots=True)
class AsLeft:
    """What the chosen baseline says of the reducer: its day in words, since when [s since 1970], the reducer.

    droop, rise: droop of the flow test and rise from duty flow to lock-up; None: not fitted.
    """

    day: str
    since: float
    reducer: str
    droop: Stood | None = None
    rise: Stood | None = None


@dataclass(frozen=True, slots=True)
class DroopAsLeft:
    """Droop over that as left; the flows held against each other [m³/s] and the fall as left there. [Pa]

    None: not held.
    """

    measured: Measured
    flows: tuple[float, float] | None = None
    then: float | None = None


def after(days: Days, as_left: AsLeft) -> Days:
    """Return the last `LAST` whole days after a baseline: what changed late in a long record shows."""
    return Days(tuple(d for d in days.days if d.start >= as_left.since)[-LAST:])


def droop_as_left(days: Days, as_left: AsLeft, found: Levelled | None = None) -> DroopAsLeft:
    """Return how much more the outlet falls in service than it fell as left, over the same flows. [Pa]

    Method (design handbook 6.4, droop curve against the flow test as left): fall of the fitted line of the
    outlet on the root of flow over the flows of that test that service has met, each day's own level taken
    out; where it met a part of them, the fall as left is shared out by the roots. The last whole days after
    the baseline count. low, high: both uncertainties, 90 %. found: levels of those days, where they are
    known already.
    """
    since = after(days, as_left)
    found, stood = found or levelled(since), as_left.droop
    if (why := _lacks(since, as_left, stood, "droop", found)) or stood is None:
        return DroopAsLeft(_none(days, Measure.DROOP_AS_LEFT, f"The droop is not held: {why}."))
    first, last = stood.flows
    inside = [p for p in found.points if 0.9 * first <= p.flow <= 1.1 * last]
    root = np.sqrt([p.flow for p in inside])
    share = float(root[-1] - root[0]) / (last**0.5 - first**0.5) if len(inside) >= FEW else 0.0
    if share < ENOUGH:
        why = (
            f"too little of the flows of its test on {as_left.day}, {_flow(first)} to {_flow(last)}, was met"
        )
        return DroopAsLeft(_none(since, Measure.DROOP_AS_LEFT, f"The droop is not held: {why} often enough."))
    outlet = np.array([p.outlet for p in inside])
    fall, low, high = (-one * float(root[-1] - root[0]) for one in sen(root, outlet))
    then, sure = share * stood.value, hypot(share * stood.within * OF_95, GRAIN)
    more = fall - then
    value = (more, more - hypot(fall - high, sure), more + hypot(low - fall, sure))
    words = (
        f"From {_flow(inside[0].flow)} to {_flow(inside[-1].flow)} the outlet falls by {bar(fall)}; "
        f"as left on {as_left.day} by {bar(then)}{_told_apart(value)}."
    )
    assumed = [
        "outlet on a line over the root of flow", "each day's own level taken out",
        "gauge of the flow test and logger keep one scale",
    ]  # fmt: skip
    if share < 0.95:
        assumed.append(f"{100.0 * share:.0f} % of the flows of the test met, its fall shared by the roots")
    one = measured(since, Measure.DROOP_AS_LEFT, "Pa", words, value, tuple(assumed), n_valid=with_flow(since))
    return DroopAsLeft(one, (inside[0].flow, inside[-1].flow), then)


def _told_apart(value: tuple[float, float, float]) -> str:
    if value[1] > 0.0:
        return f", {bar(value[0])} more now"
    return f", {bar(-value[0])} less now" if value[2] < 0.0 else ": the readings do not tell them apart"


def lockup_as_left(days: Days, as_left: AsLeft, found: Levelled | None = None) -> Measured:
    """Return the rise from the duty flow to the lowest flow of the nights, less that to lock-up as left. [Pa]

    Each night is held against its own day at the duty flow. At some flow a sound reducer stands below its
    lock-up: the value is then negative, and a leak smaller than the lock-up rise is not seen. Above it the
    reducer closes worse than it did, or something else lifts the zone. Nights without flow take no part:
    backfeed and warming look the same there. low, high: of the nights' median (order statistics) and of the
    baseline, 90 %. found: as in `droop_as_left`.
    """
    since = after(days, as_left)
    found, stood = found or levelled(since), as_left.rise
    code, not_held = Measure.LOCKUP_AS_LEFT, "The rise at the lowest flow is not held:"
    if (why := _lacks(since, as_left, stood, "lock-up rise", found)) or stood is None:
        return _none(days, code, f"{not_held} {why}.")
    duty = stood.flows[0]
    nights = [(d, d.night) for d in since.days if d.night is not None and d.night.flow > 0.0][-LAST:]
    pairs = [(night.outlet, found.at(duty, d)) for d, night in nights]
    over = np.sort([outlet - at for outlet, at in pairs if at is not None]) - stood.value
    if over.size < LEAST_NIGHTS.si:
        few = f"{counted(len(nights), 'night')} with flow; without it backfeed and warming look the same"
        why = few if len(nights) < LEAST_NIGHTS.si else f"its duty flow, {_flow(duty)}, was not met"
        return _none(since, code, f"{not_held} {why}.")
    if (apart := by_clock(since, found)) > BY_CLOCK:
        why = (
            f"at equal flow the outlets of the hours lie {bar(apart)} apart, as where a clock moves the pilot"
        )
        return _none(since, code, f"{not_held} {why}.")
    low, now, high = around_middle(over)
    sure = hypot(stood.within * OF_95, GRAIN)
    value = (now, now - hypot(now - low, sure), now + hypot(high - now, sure))
    rise = now + stood.value
    stands = f"{bar(abs(rise))} {'over' if rise >= 0.0 else 'below'} that at {_flow(duty)}"
    words = (
        f"At the lowest flow of {counted(int(over.size), 'night')} the outlet stands {stands}; the lock-up "
        f"as left on {as_left.day} stood {bar(stood.value)} over it: {_beside(value)}, above it in "
        f"{int(np.count_nonzero(over > 0.0))} of {over.size}."
    )
    assumed = (
        "at some flow the outlet stands below lock-up; a smaller leak is not seen",
        "nothing else lifts the zone at night",
        "gauge of the run and logger keep one scale",
    )
    return measured(since, code, "Pa", words, value, assumed, n_valid=with_flow(since))


def _beside(value: tuple[float, float, float]) -> str:
    if value[1] > 0.0:
        return f"{bar(value[0])} above that lock-up"
    return f"{bar(-value[0])} below that lock-up" if value[2] < 0.0 else "about at that lock-up"


def around_middle(ordered: Floats) -> tuple[float, float, float]:
    """Return the median of ordered values between two of them that hold it in 90 % (order statistics)."""
    n = int(ordered.size)
    reach = 0.5 * SPREAD * sqrt(n)
    low, high = max(floor(0.5 * n - reach), 0), min(ceil(0.5 * n + reach), n) - 1
    return float(ordered[low]), float(np.median(ordered)), float(ordered[high])


def _lacks(since: Days, as_left: AsLeft, stood: Stood | None, name: str, found: Levelled) -> str:
    if stood is None:
        return f"the baseline of {as_left.day} has no {name} of {as_left.reducer}"
    if not since.days:
        return f"the station was left on {as_left.day}, after these data"
    return "" if len(found.points) >= FEW else "too few flows were met"


def _none(days: Days, code: Measure, words: str) -> Measured:
    return measured(days, code, "Pa", words, n_valid=with_flow(days))


def _flow(si: float) -> str:
    return f"{1e3 * si:.2f} L/s"
