"""The logger's view of the water: error, noise, resolution, statistic, and visits with a gauge."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from tests.logger.truth import BAR, CUBIC_METRE_AN_HOUR, DAY, HOUR, Array, Happened, Water


@dataclass(slots=True)
class Trace:
    """One recorded channel: stamps in s since 1970 UTC as stored, values in SI as stored (NaN = missing)."""

    quantity: str
    statistic: str
    t: Array
    v: Array
    resolution: float
    hold: str = "linear"


@dataclass(slots=True)
class Seen:
    """What the desk has: channels, visits, what it knows of the station; beside it the truth."""

    traces: dict[str, Trace]
    visits: list[dict[str, float | None]]
    lockup: float
    inlet_about: float
    flow_about: float
    step: float
    zone: str = "UTC"
    flow_unit: str = "m³/h"
    happened: list[Happened] = field(default_factory=list)


def round_to(v: Array, step: float) -> Array:
    """Return values on a grid of `step`."""
    return np.asarray(np.round(v / step) * step)


def flow_seen(rng: np.random.Generator, water: Water) -> Trace:
    """Return the flow as a mean over the interval, in pulses or with a fine resolution."""
    noisy = np.maximum(water.flow * (1.0 + 0.01 * rng.standard_normal(water.t.size)), 0.0)
    noisy[water.flow == 0.0] = 0.0
    if rng.random() < 0.5 and water.step >= 300.0:
        pulse = float(rng.choice([0.01, 0.1])) * (1.0 if water.place.mean_flow * HOUR > 20.0 else 0.1)
        volume = np.cumsum(noisy * water.step)
        v = np.diff(np.floor(volume / pulse), prepend=0.0) * pulse / water.step
        v[0] = v[1]
        return Trace("flow", "mean", water.t.copy(), v, pulse / water.step)
    return Trace("flow", "mean", water.t.copy(), round_to(noisy, 0.01 * CUBIC_METRE_AN_HOUR), 0.01 / HOUR)


def pressure_seen(rng: np.random.Generator, water: Water, quantity: str, statistic: str = "spot") -> Trace:
    """Return a pressure with its gauge's constant error, its noise and its resolution."""
    true = water.inlet if quantity == "inlet pressure" else water.outlet
    noise = rng.uniform(0.002, 0.015) * BAR
    resolution = float(rng.choice([0.001, 0.001, 0.005, 0.01, 6894.757e-6])) * BAR
    v = true + rng.normal(0.0, 0.012) * BAR + noise * rng.standard_normal(water.t.size)
    if statistic in ("minimum", "maximum"):
        sign = 1.0 if statistic == "maximum" else -1.0
        v = v + sign * np.abs(rng.standard_normal(water.t.size)) * 0.03 * BAR
    return Trace(quantity, statistic, water.t.copy(), round_to(v, resolution), resolution)


def measured(rng: np.random.Generator, water: Water, visits: int = 2) -> Seen:
    """Return what is stored of the water, with `visits` gauge visits spread over the time."""
    traces = {
        "in": pressure_seen(rng, water, "inlet pressure"),
        "out": pressure_seen(rng, water, "outlet pressure"),
        "flow": flow_seen(rng, water),
    }
    if water.middle is not None:
        v = water.middle + 0.004 * BAR * rng.standard_normal(water.t.size)
        traces["mid"] = Trace(
            "pressure between the valves", "spot", water.t.copy(), round_to(v, 0.001 * BAR), 100.0
        )
    if rng.random() < 0.3 and water.step >= 300.0:
        traces["out max"] = pressure_seen(rng, water, "outlet pressure", "maximum")
        traces["out min"] = pressure_seen(rng, water, "outlet pressure", "minimum")
    if rng.random() < 0.7:
        travel = np.clip(water.travel + 0.004 * rng.standard_normal(water.t.size), 0.0, 1.0)
        traces["travel"] = Trace("travel", "spot", water.t.copy(), round_to(travel, 0.001), 0.001)
        traces["closed"] = Trace("shut-off closed", "spot", water.t.copy(), water.closed.copy(), 1.0, "step")
    of = water.place
    return Seen(
        traces=traces,
        visits=[visit(rng, water, number, visits) for number in range(visits)],
        lockup=float(round_to(np.array(of.lockup), 0.1 * BAR)),
        inlet_about=float(round_to(np.array(np.median(water.inlet)), 0.5 * BAR)),
        flow_about=float(np.mean(water.flow) * rng.uniform(0.75, 1.3)),
        step=water.step,
        happened=list(water.happened),
    )


def visit(rng: np.random.Generator, water: Water, number: int, of: int) -> dict[str, float | None]:
    """Return one visit: readings of a good gauge and of the meter, and the logger's clock minus true time."""
    span = float(water.t[-1] - water.t[0])
    when = float(water.t[0] + span * np.clip((number + rng.uniform(0.3, 0.7)) / of, 0.02, 0.98))
    quiet = [h for h in water.happened if h.kind in ("trip", "supply loss", "burst", "short draw", "surge")]
    while any(h.start - HOUR < when < h.end + HOUR for h in quiet):
        when += 0.1 * HOUR
    i = min(int(np.searchsorted(water.t, when)), water.t.size - 1)
    around = slice(max(0, i - int(300.0 / water.step)), i + int(300.0 / water.step) + 1)

    def read(values: Array, error: float, step: float) -> float | None:
        got = float(np.mean(values[around])) + rng.normal(0.0, error)
        return float(round_to(np.array(got), step)) if rng.random() > 0.05 else None

    return {
        "when": when,
        "inlet": read(water.inlet, 0.01 * BAR, 0.01 * BAR),
        "outlet": read(water.outlet, 0.01 * BAR, 0.01 * BAR),
        "flow": read(water.flow, 0.01 * water.place.mean_flow, 0.1 * CUBIC_METRE_AN_HOUR),
        "clock": float(np.round(rng.normal(0.0, 3.0))),
    }


def days_of(seen: Seen) -> float:
    """Return the time covered. [days]"""
    t = seen.traces["in"].t
    return float(t[-1] - t[0]) / DAY
