"""How far the pressure shoots past the trip: the zone as one elastic volume, the shut-off closing in time."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import inf, sqrt

# Rosenbrock pair of order 2(3): L-stable, so that a stiff zone and a ramp of minutes need few steps.
# d = 1/(2 + √2) and 6 + √2: L.F. Shampine, M.W. Reichelt, SIAM J. Sci. Comput. 18(1), 1997 (from memory).
_D = 1.0 / (2.0 + sqrt(2.0))
_E32 = 6.0 + sqrt(2.0)
_SMOOTH_PA = 200.0
_LONGER_S = 60.0
TOLERANCE_PA = 0.3
"""Local error of one step [Pa] at a supply of 3 bar, growing with it."""
_TOLERANCE_AT_PA = 3e5
MOST_STEPS = 100_000


@dataclass(frozen=True, slots=True)
class ZoneCase:
    """A reducer going fully open into a zone of one pressure, with a shut-off that closes.

    Parameters
    ----------
    supply_pressure
        In front of the station, at datum. [Pa]
    supply_loss
        Everything that resists but reducer and shut-off, Δp = loss · Q². [Pa/(m³/s)²]
    reducer_full
        k of the reducer fully open, Q = k √Δp. [m³/(s·√Pa)]
    shut_off_full
        k of the shut-off standing open; inf: none. [m³/(s·√Pa)]
    start_pressure
        Outlet before the failure, at datum. [Pa]
    demand
        Draw-off at the start. [m³/s]
    exponent
        n of demand ∝ pressureⁿ. [1]
    head
        ρ g (level of consumers − datum). [Pa]
    compliance
        V β of the zone. [m³/Pa]
    within
        Time in which the reducer goes from its working point to fully open. [s]
    trip
        trip_pressure at datum. [Pa]
    dead_time, closing_time
        From the trip to the first movement, and of the stroke in this failure. [s]
    relief_full
        k of the relief valves wide open; 0: none counts. [m³/(s·√Pa)]
    relief_crack, relief_wide
        Pressures at datum at which they start to lift and stand wide open. [Pa]
    """

    supply_pressure: float
    supply_loss: float
    reducer_full: float
    shut_off_full: float
    start_pressure: float
    demand: float
    exponent: float
    head: float
    compliance: float
    within: float
    trip: float
    dead_time: float
    closing_time: float
    relief_full: float = 0.0
    relief_crack: float = inf
    relief_wide: float = inf


@dataclass(frozen=True, slots=True)
class ZoneRun:
    """What came of it: times from the start of the failure [s], pressures at datum [Pa]."""

    trips: bool
    trip_time: float
    peak: float
    overshoot: float
    failure_flow: float
    steps: int


def run(case: ZoneCase, tolerance: float = TOLERANCE_PA) -> ZoneRun:
    """Return peak and overshoot of one failure.

    One pressure for the whole zone: no waves, no air. The reducer's flow coefficient rises
    linearly in `within`, the shut-off's falls linearly in `closing_time`; neither chokes: on the safe side.

    Parameters
    ----------
    case
        The failure.
    tolerance
        Local error of a step. [Pa]

    Returns
    -------
    ZoneRun
        `overshoot` is 0 and `trips` False where the pressure does not pass the trip by 200 Pa; `peak` is then
        what a reducer left open gives.

    Notes
    -----
    V β dP/dt = Q_in − Q_demand, Q_in = √((P_s − P)/(R + 1/k_r² + 1/k_s²)), Q_demand = Q₀ (p/p₀)ⁿ
    (design handbook 2.4a, own derivation); relief valves let off k l √P, l from 0 at crack to 1 wide open.
    """
    return _cached(case, tolerance)


@lru_cache(maxsize=256)
def _cached(case: ZoneCase, tolerance: float) -> ZoneRun:
    zone = _Zone(case)
    tolerance *= max(1.0, case.supply_pressure / _TOLERANCE_AT_PA)
    open_end = zone.settled()
    if open_end <= case.trip + _SMOOTH_PA:
        return ZoneRun(
            False, inf, max(open_end, case.start_pressure), 0.0, zone.inflow(open_end, case.within), 0
        )
    trip_time, pressure, steps = _rise_to_trip(zone, case, tolerance)
    zone.tripped_at = trip_time
    flow = zone.inflow(pressure, trip_time)
    peak, more = _close(zone, case, trip_time, pressure, tolerance)
    peak = min(peak, max(case.supply_pressure, case.start_pressure))
    return ZoneRun(True, trip_time, peak, peak - case.trip, flow, steps + more)


class _Zone:
    """Right-hand side dP/dt with its two derivatives."""

    def __init__(self, case: ZoneCase) -> None:
        self.case = case
        self.tripped_at = inf
        self.start_k = _working_point(case)
        self.reach = max(case.start_pressure - case.head, 1.0)

    def reducer(self, time: float) -> tuple[float, float]:
        """k of the reducer and its rate of change."""
        case = self.case
        if time >= case.within:
            return case.reducer_full, 0.0
        rate = (case.reducer_full - self.start_k) / case.within
        return self.start_k + rate * time, rate

    def shut_off(self, time: float) -> tuple[float, float]:
        """k of the shut-off and its rate of change."""
        case = self.case
        begin = self.tripped_at + case.dead_time
        if time <= begin or case.shut_off_full == inf:
            return case.shut_off_full, 0.0
        if time >= begin + case.closing_time:
            return 0.0, 0.0
        return case.shut_off_full * (
            1.0 - (time - begin) / case.closing_time
        ), -case.shut_off_full / case.closing_time

    def inflow(self, pressure: float, time: float) -> float:
        """Flow through the station. [m³/s]"""
        conductance, _ = self._conductance(time)
        return conductance * _root(self.case.supply_pressure - pressure)[0]

    def _conductance(self, time: float) -> tuple[float, float]:
        reducer, reducer_rate = self.reducer(time)
        shut_off, shut_off_rate = self.shut_off(time)
        if reducer <= 0.0:
            return 0.0, reducer_rate
        if shut_off <= 0.0:
            return 0.0, 0.0
        share = 1.0 / sqrt(1.0 + reducer**2 * (self.case.supply_loss + shut_off**-2))
        conductance = share * reducer
        rate = share**3 * reducer_rate
        if shut_off_rate:
            rate += (conductance / shut_off) ** 3 * shut_off_rate
        return conductance, rate

    def slope(self, time: float, pressure: float) -> tuple[float, float, float]:
        """dP/dt, its derivative by pressure, and by time."""
        case = self.case
        conductance, rate = self._conductance(time)
        root, steep = _root(case.supply_pressure - pressure)
        inflow = conductance * root
        draw, draw_steep = self.draw(pressure)
        by_pressure = -conductance * steep - draw_steep
        return (inflow - draw) / case.compliance, by_pressure / case.compliance, rate * root / case.compliance

    def draw(self, pressure: float) -> tuple[float, float]:
        """Demand and what relief valves let off at a pressure, and the derivative of both."""
        draw, steep = self.demand(pressure)
        case = self.case
        if case.relief_full <= 0.0 or pressure <= case.relief_crack:
            return draw, steep
        lift = min((pressure - case.relief_crack) / (case.relief_wide - case.relief_crack), 1.0)
        root = sqrt(max(pressure, 1.0))
        opening = 0.0 if lift >= 1.0 else 1.0 / (case.relief_wide - case.relief_crack)
        return (
            draw + case.relief_full * lift * root,
            steep + case.relief_full * (opening * root + 0.5 * lift / root),
        )

    def demand(self, pressure: float) -> tuple[float, float]:
        """Demand at a pressure and its derivative."""
        case = self.case
        reach = pressure - case.head
        if case.demand <= 0.0 or reach <= 0.0:
            return 0.0, 0.0
        draw = case.demand * float((reach / self.reach) ** case.exponent)
        return draw, case.exponent * draw / reach

    def settled(self) -> float:
        """Return where the pressure rests with the reducer fully open and the shut-off standing open."""
        low, high = self.case.start_pressure, self.case.supply_pressure
        if high <= low:
            return low
        time = self.case.within
        for _ in range(80):
            middle = 0.5 * (low + high)
            if self.inflow(middle, time) > self.draw(middle)[0]:
                low = middle
            else:
                high = middle
        return low


def _working_point(case: ZoneCase) -> float:
    """Return k of the reducer before the failure: what passes the demand, at most fully open."""
    difference = case.supply_pressure - case.start_pressure
    if difference <= 0.0:
        return case.reducer_full
    together = case.demand / sqrt(difference)
    rest = 1.0 - together**2 * (case.supply_loss + case.shut_off_full**-2)
    return min(together / sqrt(rest), case.reducer_full) if rest > 0.0 else case.reducer_full


def _root(difference: float) -> tuple[float, float]:
    """√Δp either way and its derivative, straightened around zero."""
    size = abs(difference)
    if size < _SMOOTH_PA:
        return difference / sqrt(_SMOOTH_PA), 1.0 / sqrt(_SMOOTH_PA)
    root = sqrt(size)
    return (root if difference > 0.0 else -root), 0.5 / root


def _step(
    zone: _Zone, time: float, pressure: float, step: float, first: tuple[float, float, float]
) -> tuple[float, float]:
    """Return the pressure after one step, and its local error. [Pa]"""
    f0, by_pressure, by_time = first
    weight = 1.0 / (1.0 - step * _D * by_pressure)
    k1 = weight * (f0 + step * _D * by_time)
    f1 = zone.slope(time + 0.5 * step, pressure + 0.5 * step * k1)[0]
    k2 = weight * (f1 - k1) + k1
    new = pressure + step * k2
    f2 = zone.slope(time + step, new)[0]
    k3 = weight * (f2 - _E32 * (k2 - f1) - 2.0 * (k1 - f0) + step * _D * by_time)
    return new, abs(step / 6.0 * (k1 - 2.0 * k2 + k3))


def _walk(
    zone: _Zone, start: float, end: float, pressure: float, tolerance: float, until: float
) -> tuple[list[tuple[float, float, float]], int]:
    """Return (time, pressure, slope) at each accepted step from start to end, ended early above `until`."""
    slope = zone.slope(start, pressure)
    path = [(start, pressure, slope[0])]
    if end <= start:
        return path, 0
    time, steps = start, 0
    step = min(end - start, 0.01 * max(end - start, 1.0))
    while time < end and steps < MOST_STEPS:
        step = min(step, end - time)
        new, error = _step(zone, time, pressure, step, slope)
        steps += 1
        if error <= tolerance or step < 1e-9:
            time = end if step >= end - time else time + step
            pressure = new
            slope = zone.slope(time, pressure)
            path.append((time, pressure, slope[0]))
            if pressure > until:
                break
        step *= min(4.0, max(0.2, 0.8 * (tolerance / error) ** (1.0 / 3.0))) if error > 0.0 else 4.0
    return path, steps


def _rise_to_trip(zone: _Zone, case: ZoneCase, tolerance: float) -> tuple[float, float, int]:
    """Return when the trip is reached, the pressure then, and the steps taken."""
    pressure, time, steps = case.start_pressure, 0.0, 0
    if pressure >= case.trip:
        return 0.0, pressure, 0
    end = case.within
    while steps < MOST_STEPS:
        path, more = _walk(zone, time, end, pressure, tolerance, case.trip)
        steps += more
        time, pressure, _ = path[-1]
        if pressure >= case.trip:
            return _crossing(path[-2], path[-1], case.trip), case.trip, steps
        end = 2.0 * time + _LONGER_S
    return time, pressure, steps


def _close(zone: _Zone, case: ZoneCase, time: float, pressure: float, tolerance: float) -> tuple[float, int]:
    """Return the highest pressure from the trip to fully shut, and the steps taken."""
    shut = time + case.dead_time + case.closing_time
    stops = sorted({time + case.dead_time, shut, *([case.within] if time < case.within < shut else [])})
    peak, steps = pressure, 0
    for stop in stops:
        path, more = _walk(zone, time, stop, pressure, tolerance, inf)
        steps += more
        peak = max(peak, _highest(path))
        time, pressure, _ = path[-1]
    return peak, steps


def _crossing(before: tuple[float, float, float], after: tuple[float, float, float], level: float) -> float:
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if _between(before, after, middle) < level:
            low = middle
        else:
            high = middle
    return before[0] + high * (after[0] - before[0])


def _highest(path: list[tuple[float, float, float]]) -> float:
    best = max(point[1] for point in path)
    for before, after in pairwise(path):
        if before[2] > 0.0 >= after[2]:
            best = max(best, *(_between(before, after, share / 20) for share in range(1, 20)))
    return best


def _between(before: tuple[float, float, float], after: tuple[float, float, float], share: float) -> float:
    """Return the pressure inside a step: the cubic through both ends and both slopes."""
    span = after[0] - before[0]
    s, left = share, 1.0 - share
    return (
        (1.0 + 2.0 * s) * left**2 * before[1]
        + s * left**2 * span * before[2]
        + s**2 * (3.0 - 2.0 * s) * after[1]
        - s**2 * left * span * after[2]
    )
