"""What happens at a station in service: demand, inlet, outlet, travel, shut-off, at any rate.

Own numbers; the shapes follow the physics handbook: the inlet falls with the square of the flow below a
supply that pumps step, the outlet droops with flow and lags behind its direction, the travel gives the Kv
that flow and pressure drop ask for. Pressures in Pa gauge, flow in m³/s, travel as a fraction, time in s
since 1970.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy.signal import lfilter

BAR = 1e5
HOUR = 3600.0
DAY = 86_400.0
CUBIC_METRE_AN_HOUR = 1.0 / HOUR
MONDAY = 1_798_416_000.0
"""Monday 28 December 2026, 00:00 UTC. [s]"""

Array = np.ndarray


@dataclass(frozen=True, slots=True)
class Place:
    """One invented station: what its water does on an ordinary day."""

    lockup: float
    """Outlet at no flow. [Pa]"""
    droop: float
    """Fall of the outlet from no flow to the mean flow. [Pa]"""
    hysteresis: float
    """Outlet with rising flow below outlet with falling flow. [Pa]"""
    supply_effect: float
    """Change of the outlet with the inlet. [Pa/Pa]"""
    supply: float
    """Supply far upstream with the pumps standing. [Pa]"""
    pump_step: float
    """What a running pump adds. [Pa]"""
    friction: float
    """Loss of the supply main at the mean flow. [Pa]"""
    mean_flow: float
    """Mean flow. [m³/s]"""
    night_share: float
    """Lowest flow of an ordinary night over the mean."""
    kv_full: float
    """Kv of the reducer fully open. [m³/h at 1 bar]"""
    restless: float
    """Standard deviation of the demand's short swings, as a share of the flow."""


@dataclass(slots=True)
class Water:
    """True values at the stamps `t`; every array has the length of `t`."""

    place: Place
    t: Array
    step: float
    inlet: Array
    outlet: Array
    flow: Array
    travel: Array
    closed: Array
    happened: list[Happened] = field(default_factory=list)
    middle: Array | None = None
    """Between shut-off and reducer; None: no gauge there. [Pa]"""


@dataclass(frozen=True, slots=True)
class Happened:
    """A true event of the station, or a defect of its data, with its truth.

    `channel` is a quantity, or empty for the whole station; `start` and `end` in s since 1970; `magnitude`
    in SI as the kind says.
    """

    kind: str
    channel: str
    start: float
    end: float
    magnitude: float | None = None


def place(rng: np.random.Generator) -> Place:
    """Return a random station."""
    lockup = rng.uniform(2.5, 6.0) * BAR
    mean = float(np.exp(rng.uniform(np.log(8.0), np.log(200.0)))) * CUBIC_METRE_AN_HOUR
    head = rng.uniform(2.5, 7.0) * BAR
    return Place(
        lockup=lockup,
        droop=rng.uniform(0.01, 0.25) * BAR,
        hysteresis=rng.uniform(0.0, 0.04) * BAR,
        supply_effect=rng.uniform(-0.005, 0.03),
        supply=lockup + head,
        pump_step=rng.uniform(0.2, 0.7) * BAR,
        friction=rng.uniform(0.03, 0.12) * head,
        mean_flow=mean,
        night_share=rng.uniform(0.15, 0.6),
        kv_full=mean * HOUR / np.sqrt(head / BAR) * rng.uniform(4.0, 12.0),
        restless=rng.uniform(0.02, 0.10),
    )


def wander(rng: np.random.Generator, n: int, step: float, memory: float) -> Array:
    """Return a stationary noise of unit deviation whose correlation falls to 1/e within `memory` seconds."""
    keep = float(np.exp(-step / memory))
    made = lfilter([np.sqrt(1.0 - keep**2)], [1.0, -keep], rng.standard_normal(n + 200))
    return np.asarray(made[200:])


def demand(rng: np.random.Generator, of: Place, t: Array, step: float) -> Array:
    """Return the flow: daily and weekly pattern, season, weather, short swings. [m³/s]"""
    hour = (t % DAY) / HOUR
    weekday = ((t - MONDAY) // DAY) % 7
    late = np.where(weekday >= 5, rng.uniform(0.5, 2.0), 0.0)
    morning, evening = rng.uniform(6.5, 8.0), rng.uniform(17.5, 20.0)
    shape = (
        0.8 / (1.0 + np.exp(-(hour - morning + 1.0 - late) * 2.0)) / (1.0 + np.exp((hour - 22.3) * 2.0))
        + rng.uniform(0.3, 0.9) * np.exp(-(((hour - morning - late) / 1.4) ** 2))
        + rng.uniform(0.2, 0.8) * np.exp(-(((hour - evening) / 2.0) ** 2))
    )
    pattern = of.night_share + shape / max(float(shape.mean()), 1e-9) * (1.0 - of.night_share)
    slow = 0.04 * wander(rng, t.size, step, 2.0 * DAY) + 0.06 * np.sin(2 * np.pi * t / (365.25 * DAY))
    swings = of.restless * (0.7 * wander(rng, t.size, step, 900.0) + 0.7 * wander(rng, t.size, step, 90.0))
    week = np.where(weekday >= 5, rng.uniform(0.9, 1.12), 1.0)
    return np.asarray(of.mean_flow * pattern * week * np.exp(slow + swings))


def pumps(rng: np.random.Generator, t: Array) -> Array:
    """Return 1 where the supply's pump runs, 0 elsewhere: a few starts at about the same hours each day."""
    at: list[float] = []
    usual = np.sort(rng.uniform(0.0, 24.0, size=2 * int(rng.integers(1, 4)))) * HOUR
    first = t[0] // DAY * DAY
    for day in range(int((t[-1] - first) // DAY) + 1):
        at.extend((first + day * DAY + usual + rng.normal(0.0, 900.0, usual.size)).tolist())
    return np.asarray(np.searchsorted(np.sort(at), t) % 2, dtype=float)


def outlet_of(of: Place, flow: Array, inlet: Array, step: float) -> Array:
    """Return the outlet of a sound reducer: droop, hysteresis, supply effect, never above the inlet. [Pa]"""
    span = max(1, int(1800.0 / step))
    smooth = lfilter([1.0 / span], [1.0, -(1.0 - 1.0 / span)], flow - flow[0]) + flow[0]
    turning = np.tanh((flow - smooth) / (0.05 * of.mean_flow))
    held = (
        of.lockup
        - of.droop * np.sqrt(np.maximum(flow, 0.0) / of.mean_flow)
        - 0.5 * of.hysteresis * turning
        + of.supply_effect * (inlet - of.supply)
    )
    wide_open = inlet - (flow * HOUR / of.kv_full) ** 2 * BAR
    return np.asarray(np.minimum(held, wide_open))


def travel_of(of: Place, flow: Array, inlet: Array, outlet: Array) -> Array:
    """Return the opening that flow and pressure drop ask for. [fraction]"""
    drop = np.maximum(inlet - outlet, 0.02 * BAR) / BAR
    return np.asarray(np.clip(flow * HOUR / np.sqrt(drop) / of.kv_full, 0.0, 1.0) ** 0.8)


def water(rng: np.random.Generator, of: Place, start: float, days: float, step: float) -> Water:
    """Return the true water of one station from `start` for `days` at stamps `step` seconds apart."""
    t = start + np.arange(int(days * DAY / step)) * step
    flow = demand(rng, of, t, step)
    supply = (
        of.supply
        + of.pump_step * pumps(rng, t)
        + 0.012 * of.supply * wander(rng, t.size, step, 4.0 * HOUR)
        + 0.002 * of.supply * wander(rng, t.size, step, 120.0)
    )
    inlet = supply - of.friction * (flow / of.mean_flow) ** 2
    outlet = outlet_of(of, flow, inlet, step) + 0.004 * BAR * wander(rng, t.size, step, 200.0)
    return Water(of, t, step, inlet, outlet, flow, travel_of(of, flow, inlet, outlet), np.zeros(t.size))
