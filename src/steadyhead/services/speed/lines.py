"""A station between two mains by the method of lines: a yardstick written apart from the engine.

Staggered finite volumes in place (pressures in the middle of cells, flows at their faces), time by the
three-stage Radau IIA method of `scipy.integrate`, which damps what it cannot follow and amplifies no wave.
scipy is asked for here alone, and only by who measures or tests. Nothing of the engine is used: no
characteristics, no table of friction factors, no search of a node, no step of its own. Left out:
gas and separation (pressures must stay above atmosphere), choking, reverse demand.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import pi, sqrt
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from scipy.sparse import lil_matrix

Array = NDArray[np.float64]
DENSITY, VISCOSITY, GRAVITY = 999.7, 1.31e-6, 9.81
WEIGHT = DENSITY * GRAVITY
Method = Literal["Radau", "BDF", "LSODA"]
LONGEST_STEP = 0.05
"""Of the integrator. [s]"""
SMOOTH = 5.0  # below this difference the root is replaced by a cubic [Pa]


def k_of(kv: float) -> float:
    """Return Q/√Δp in SI of a Kv."""
    return kv / 3600.0 / sqrt(1e5 * DENSITY / 1000.0)


@dataclass(frozen=True)
class Main:
    """A level main: length, bore, wave speed, roughness [m, m/s]."""

    length: float
    bore: float
    wave: float
    rough: float

    @property
    def area(self) -> float:
        """Bore area. [m²]"""
        return pi * self.bore**2 / 4.0

    def slope(self, flow: Any) -> Any:
        """Return the head lost per metre at a flow: Darcy with Churchill 1977. [1]"""
        reynolds = np.maximum(np.abs(flow) * self.bore / (self.area * VISCOSITY), 1.0)
        first = (2.457 * np.log(1.0 / ((7.0 / reynolds) ** 0.9 + 0.27 * self.rough / self.bore))) ** 16
        factor = 8.0 * ((8.0 / reynolds) ** 12 + (first + (37530.0 / reynolds) ** 16) ** -1.5) ** (1.0 / 12.0)
        return factor * flow * np.abs(flow) / (2.0 * GRAVITY * self.bore * self.area**2)


@dataclass(frozen=True)
class Pair:
    """A reducer and a shut-off of one size between two mains; pressures in Pa gauge, lengths in m.

    With `kv_needle` above 0 line pressure drives the shut-off through it; else it takes `close_time`.
    """

    up: Main
    down: Main
    supply: float
    is_reducer_first: bool
    kv_before: tuple[float, ...]
    kv_after: float
    kv: float
    stroke: float
    diaphragm: float
    seat_ratio: float
    flow_force: float
    spring: tuple[float, float]
    shut_off_spring: tuple[float, float]
    kv_feed: float
    kv_pilot: float
    closing: float
    band: float
    lag: float
    trip: float
    trip_lag: float
    close_time: float
    kv_needle: float
    volumes: tuple[float, float, float]
    stiffness: float


@dataclass(frozen=True)
class Event:
    """What happens: demand Kv by time, straight between its points; when the pilot sticks open."""

    demand: tuple[tuple[float, float], ...]
    sticks_at: float = np.inf

    def kv(self, time: float) -> float:
        """Return the Kv of the consumers."""
        return float(np.interp(time, *np.array(self.demand).T))


def root(difference: Any) -> Any:
    """Return the signed root, a cubic of the same value and slope where the difference is next to nothing."""
    small = np.abs(difference) < SMOOTH
    plain = np.sign(difference) * np.sqrt(np.abs(difference))
    smooth = difference * (5.0 - (difference / SMOOTH) ** 2) / (4.0 * SMOOTH**0.5)
    return np.where(small, smooth, plain)


class Lines:
    """The equations of one station and event on `cells` volumes per main.

    Order of the unknowns: flow and head of every cell of the supply main from the reservoir, its last flow;
    pressures of the three sections; stem; two sensing lines; share of lift of the shut-off; flows and heads
    of the consumer main.
    """

    def __init__(self, station: Pair, event: Event, cells: int) -> None:
        self.station, self.event, self.cells = station, event, cells
        self.mid = 2 * cells + 1
        self.first = self.mid + 7
        self.size = self.first + 2 * cells
        self.up_reach = station.up.length / cells
        self.down_reach = station.down.length / (cells - 0.5)
        self.k_up = sum(k_of(kv) ** -2 for kv in station.kv_before)
        self.tripped_at = np.inf

    @property
    def has_tripped(self) -> bool:
        """Whether the shut-off is on its way, or shut."""
        return self.tripped_at < np.inf

    def closing(self, lift: float, inlet: float, outlet: float) -> float:
        """Return how fast the shut-off moves. [share of lift per second]"""
        s = self.station
        if not self.has_tripped or lift <= 0.0:
            return 0.0
        if s.kv_needle == 0.0:
            return -1.0 / s.close_time
        driven = max(inlet - self.chamber(lift, inlet, outlet, s.shut_off_spring), 0.0)
        return -k_of(s.kv_needle) * sqrt(driven) / (s.diaphragm * s.stroke)

    def valve(self, lift: float) -> float:
        """Return k of either valve: flat disc with the loss of the body."""
        share = lift * sqrt(2.0 / (1.0 + lift * lift))
        return k_of(self.station.kv) * max(share, 1e-5)

    def pilot(self, time: float, sensed: float) -> float:
        """Return the opening of the pilot."""
        if time >= self.event.sticks_at:
            return 1.0
        return float(np.clip((self.station.closing - sensed) / self.station.band, 0.0, 1.0))

    def chamber(self, lift: float, inlet: float, outlet: float, spring: tuple[float, float]) -> float:
        """Return the pressure above the diaphragm that balances the stem."""
        share = self.station.seat_ratio - self.station.flow_force * lift
        return outlet + share * (inlet - outlet) - (spring[0] + spring[1] * lift)

    def circuit(self, stem: float, inlet: float, outlet: float, opening: float) -> tuple[float, float, float]:
        """Return (feed, bleed [m³/s], speed of the stem [m/s]); a chamber on a stop takes nothing."""
        s = self.station
        feed_k, bleed_k = k_of(s.kv_feed), k_of(s.kv_pilot) * opening
        held = self.chamber(min(max(stem / s.stroke, 0.0), 1.0), inlet, outlet, s.spring)
        feed, bleed = feed_k * float(root(inlet - held)), bleed_k * float(root(held - outlet))
        speed = (bleed - feed) / s.diaphragm
        if not ((stem <= 0.0 and speed < 0.0) or (stem >= s.stroke and speed > 0.0)):
            return feed, bleed, speed
        through = feed_k * bleed_k / sqrt(feed_k**2 + bleed_k**2) * float(root(inlet - outlet))
        return through, through, 0.0

    def rates(self, time: float, unknown: Array) -> Array:
        """Return how fast every unknown changes."""
        s, m, first = self.station, self.mid, self.first
        p_in, p_mid, p_out, stem, sensed, felt, shut = unknown[m:first]
        out = np.empty_like(unknown)
        inlet, outlet = (p_in, p_mid) if s.is_reducer_first else (p_mid, p_out)
        lift = min(max(stem / s.stroke, 0.0), 1.0)
        feed, bleed, speed = self.circuit(stem, inlet, outlet, self.pilot(time, sensed))
        openings = self.valve(lift), self.valve(min(max(shut, 0.0), 1.0))
        upper, lower = openings if s.is_reducer_first else openings[::-1]
        through = float(upper * root(p_in - p_mid)), float(lower * root(p_mid - p_out))
        flow_up, flow_down = unknown[m - 1], unknown[first]
        gain = (
            (flow_up - through[0] - feed, through[0] + bleed - through[1], through[1] - flow_down)
            if s.is_reducer_first
            else (flow_up - through[0], through[0] - feed - through[1], through[1] + bleed - flow_down)
        )
        out[m : m + 3] = np.array(gain) * s.stiffness / np.array(s.volumes)
        out[m + 3] = speed
        out[m + 4] = ((p_mid if s.is_reducer_first else p_out) - sensed) / s.lag
        out[m + 5] = (p_out - felt) / s.trip_lag
        ends = (p_mid, p_out) if s.is_reducer_first else (p_in, p_mid)
        out[m + 6] = self.closing(shut, *ends)
        at_station = p_in + flow_up * abs(flow_up) * self.k_up
        out[:m] = self._supply_main(unknown[:m:2], unknown[1:m:2], at_station / WEIGHT)
        leaving = p_out - flow_down * abs(flow_down) / k_of(s.kv_after) ** 2
        out[first:] = self._consumer_main(time, unknown[first::2], unknown[first + 1 :: 2], leaving / WEIGHT)
        return out

    def _supply_main(self, flow: Array, head: Array, at_station: float) -> Array:
        main, reach = self.station.up, self.up_reach
        ends = np.concatenate(([self.station.supply / WEIGHT], head, [at_station]))
        span = np.full(flow.size, reach)
        span[[0, -1]] = 0.5 * reach
        out = np.empty(flow.size + head.size)
        out[::2] = GRAVITY * main.area * ((ends[:-1] - ends[1:]) / span - main.slope(flow))
        out[1::2] = main.wave**2 / (GRAVITY * main.area) * (flow[:-1] - flow[1:]) / reach
        return out

    def _consumer_main(self, time: float, flow: Array, head: Array, at_station: float) -> Array:
        main, reach = self.station.down, self.down_reach
        ends = np.concatenate(([at_station], head))
        span = np.full(flow.size, reach)
        span[0] = 0.5 * reach
        width = np.full(head.size, reach)
        width[-1] = 0.5 * reach
        drawn = k_of(self.event.kv(time)) * float(root(head[-1] * WEIGHT))
        onward = np.concatenate((flow[1:], [drawn]))
        out = np.empty(flow.size + head.size)
        out[::2] = GRAVITY * main.area * ((ends[:-1] - ends[1:]) / span - main.slope(flow))
        out[1::2] = main.wave**2 / (GRAVITY * main.area) * (flow - onward) / width
        return out

    def pattern(self) -> Any:
        """Return which unknown acts on which rate: neighbours in the mains, everything in the station."""
        found = lil_matrix((self.size, self.size))
        for step in (-2, -1, 0, 1, 2):
            found.setdiag(1.0, step)
        span = slice(self.mid - 2, self.first + 2)
        found[span, span] = 1.0
        return found.tocsc()

    def band(self) -> dict[str, int]:
        """Return how far from the diagonal rates hang on unknowns, as the banded solvers want it."""
        wide = self.first + 2 - (self.mid - 2) - 1
        return {"lband": wide, "uband": wide}

    def at_rest(self) -> Array:
        """Return the steady state, found by two nested searches for flow and lift."""
        s = self.station

        def pressures(flow: float) -> tuple[float, float, float]:
            drop = WEIGHT * s.up.length * s.up.slope(flow) + flow * flow * self.k_up
            end = (flow / k_of(self.event.kv(0.0))) ** 2
            leave = end + WEIGHT * s.down.length * s.down.slope(flow)
            p_out = leave + (flow / k_of(s.kv_after)) ** 2
            p_in = s.supply - drop
            loss = (flow / self.valve(1.0)) ** 2
            return float(p_in), float(p_out + loss if s.is_reducer_first else p_in - loss), float(p_out)

        def sides(flow: float) -> tuple[float, float]:
            p_in, p_mid, p_out = pressures(flow)
            return (p_in, p_mid) if s.is_reducer_first else (p_mid, p_out)

        def bleeding(flow: float, lift: float) -> tuple[float, float]:
            inlet, outlet = sides(flow)
            held = self.chamber(lift, inlet, outlet, s.spring)
            open_by = self.pilot(0.0, outlet)
            return (
                k_of(s.kv_feed) * float(root(inlet - held)),
                k_of(s.kv_pilot) * open_by * float(root(held - outlet)),
            )

        def lift_for(flow: float) -> float:
            inlet, outlet = sides(flow)

            def short(lift: float) -> float:
                carried = self.valve(lift) * sqrt(inlet - outlet) + bleeding(flow, lift)[0]
                return carried - flow

            return float(brentq(short, 0.0, 1.0, xtol=1e-15, rtol=1e-14))

        def unbalanced(flow: float) -> float:
            feed, bleed = bleeding(flow, lift_for(flow))
            return feed - bleed

        flow = self._flow(unbalanced)
        return self._laid(flow, lift_for(flow), pressures(flow))

    def _flow(self, unbalanced: Any) -> float:
        """Return the flow at which the chamber takes nothing."""
        known: list[tuple[float, float]] = []
        for flow in np.linspace(1e-4, 0.06, 241):
            try:
                known.append((float(flow), unbalanced(float(flow))))
            except ValueError:  # more than the valve can pass at full lift
                break
        pair = next((a, b) for a, b in pairwise(known) if a[1] * b[1] <= 0.0)
        return float(brentq(unbalanced, pair[0][0], pair[1][0], xtol=1e-16, rtol=1e-14))

    def _laid(self, flow: float, lift: float, pressures: tuple[float, float, float]) -> Array:
        s, n, m, first = self.station, self.cells, self.mid, self.first
        out = np.empty(self.size)
        out[:m:2] = flow
        places = (np.arange(n) + 0.5) * self.up_reach
        out[1:m:2] = s.supply / WEIGHT - s.up.slope(flow) * places
        sensed = pressures[1] if s.is_reducer_first else pressures[2]
        out[m:first] = *pressures, lift * s.stroke, sensed, pressures[2], 1.0
        out[first::2] = flow
        start = (pressures[2] - (flow / k_of(s.kv_after)) ** 2) / WEIGHT
        out[first + 1 :: 2] = start - s.down.slope(flow) * (np.arange(n) + 0.5) * self.down_reach
        return out


@dataclass(frozen=True)
class Found:
    """Pressures [Pa], flow into the station [m³/s], lifts by time; when the shut-off tripped [s]."""

    inlet: Array
    outlet: Array
    flow: Array
    lift: Array
    shut_off: Array
    tripped_at: float


def integrate(
    station: Pair,
    event: Event,
    times: Array,
    *,
    cells: int = 60,
    accuracy: float = 1e-6,
    method: Method = "Radau",
) -> Found:
    """Return the station at `times`, from rest at 0; the trip is located, not stepped over.

    Parameters
    ----------
    station, event, times
        Times from 0, rising. [s]
    cells, accuracy
        Of each main; relative error asked of the integrator.
    method
        Of `scipy.integrate.solve_ivp`. Only Radau is free of ripple of its own: BDF above its second order
        amplifies waves.
    """
    lines = Lines(station, event, cells)
    state = lines.at_rest()
    corners = [t for t, _ in event.demand if t > 0.0] + [event.sticks_at]
    stops = sorted({t for t in corners if t < times[-1]} | {float(times[-1])})
    options = {
        **(lines.band() if method == "LSODA" else {"jac_sparsity": lines.pattern()}),
        "rtol": accuracy, "atol": accuracy * np.where(np.abs(state) > 0.0, np.abs(state), 1.0),
        "method": method, "dense_output": True, "max_step": LONGEST_STEP,
    }  # fmt: skip

    def trips(time: float, unknown: Array) -> float:
        return float(unknown[lines.mid + 5] - station.trip)

    trips.terminal, trips.direction = True, 1.0  # type: ignore[attr-defined]
    now, parts = 0.0, []
    while now < times[-1]:
        watched = None if lines.has_tripped else trips
        # BDF subtracts rows of a table that it has not filled yet: whatever lay in that memory may warn.
        with np.errstate(invalid="ignore"):
            done = solve_ivp(lines.rates, (now, stops[0]), state, events=watched, **options)
        if done.status < 0:
            raise RuntimeError(done.message)
        before, now, state = now, float(done.t[-1]), done.y[:, -1]
        inside = times[(times >= before) & (times < now)]
        parts += [done.sol(inside)] if inside.size else []
        if done.status == 1:
            lines.tripped_at = now
            stops = sorted({*stops, min(now + station.close_time, float(times[-1]))})
        stops = [stop for stop in stops if stop > now]
    joined = np.concatenate([*parts, state[:, None]], axis=1)
    m = lines.mid
    lift, shut = joined[m + 3] / station.stroke, joined[m + 6]
    return Found(joined[m], joined[m + 2], joined[m - 1], lift, shut, lines.tripped_at)
