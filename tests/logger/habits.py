"""Ordinary life of a zone that looks like an event: what returns, what passes, what walks slowly.

Each function changes flow or inlet in place; `settle` then works out outlet and travel again. Nothing is
noted: there is nothing to find.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tests.logger.truth import BAR, DAY, HOUR, MONDAY, Water, outlet_of, travel_of, wander

Rng = np.random.Generator


def tanks(rng: Rng, water: Water) -> None:
    """Tanks fill once or twice on most days, at any hour."""
    for day in _days(water):
        for _ in range(int(rng.integers(1, 3))):
            _draw(water, day + HOUR * rng.uniform(0.0, 24.0), rng.uniform(0.6, 1.5) * HOUR, 0.8)


def field_valve(rng: Rng, water: Water) -> None:
    """A field is watered on most evenings."""
    for day in _days(water):
        if rng.random() < 0.7:
            _draw(water, day + HOUR * (22.0 + rng.uniform(-0.2, 0.2)), 3.0 * HOUR, 0.7)


def works(rng: Rng, water: Water) -> None:
    """A works draws in batches all day."""
    at = float(water.t[0])
    while at < water.t[-1]:
        at += rng.exponential(3.0 * HOUR)
        length = rng.uniform(600.0, 4000.0)
        _draw(water, at, length, rng.uniform(0.3, 0.6))
        at += length


def weekends(rng: Rng, water: Water) -> None:
    """The weekend draws much less, or much more."""
    off = ((water.t - MONDAY) // DAY) % 7 >= 5
    water.flow *= np.where(off, float(rng.choice([0.5, 0.6, 1.5])), 1.0)


def holiday(rng: Rng, water: Water) -> None:
    """One day is unlike the others."""
    day = float(rng.choice(_days(water)[2:-2]))
    inside = (water.t >= day) & (water.t < day + DAY)
    water.flow *= np.where(inside, float(rng.choice([0.6, 0.7, 1.4])), 1.0)


def hot_days(rng: Rng, water: Water) -> None:
    """Demand rises over two days and falls again."""
    middle = rng.uniform(water.t[0] + 3.0 * DAY, water.t[-1] - 2.0 * DAY)
    water.flow *= 1.0 + 0.35 * np.exp(-(((water.t - middle) / (1.2 * DAY)) ** 2))


def short_pumping(rng: Rng, water: Water) -> None:
    """The supply's pump starts and stops every quarter or half an hour."""
    period = rng.uniform(900.0, 3000.0)
    water.inlet += 0.4 * BAR * (((water.t + 300.0 * np.sin(water.t / 9000.0)) % period) < 0.5 * period)


def restless_outlet(rng: Rng, water: Water) -> None:
    """The outlet's sensor sits in a turbulent place."""
    water.outlet += 0.03 * BAR * wander(rng, water.t.size, water.step, 20.0)


def _days(water: Water) -> np.ndarray:
    first = float(water.t[0] // DAY * DAY)
    return first + DAY * np.arange(int((water.t[-1] - first) / DAY) + 1)


def _draw(water: Water, start: float, length: float, size: float) -> None:
    water.flow[(water.t >= start) & (water.t < start + length)] += size * water.place.mean_flow


HABITS: dict[str, Callable[[Rng, Water], None]] = {
    made.__name__.replace("_", " "): made
    for made in (
        tanks, field_valve, works, weekends, holiday, hot_days, short_pumping, restless_outlet,
    )
}  # fmt: skip


def live(name: str, rng: Rng, water: Water) -> None:
    """Let a habit run through the record, with what it does to inlet, outlet and travel."""
    flow, of = water.flow.copy(), water.place
    noise = water.outlet - outlet_of(of, flow, water.inlet, water.step)
    HABITS[name](rng, water)
    water.inlet -= of.friction * (water.flow**2 - flow**2) / of.mean_flow**2
    kept = water.outlet if name == "restless outlet" else None
    water.outlet = outlet_of(of, water.flow, water.inlet, water.step) + noise if kept is None else kept
    water.travel = travel_of(of, water.flow, water.inlet, water.outlet)
