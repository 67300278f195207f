"""What the supply of a station does over a long record, and a strainer that blinds: only the inlet sees it.

Each function changes the water in place. Nothing is noted: a supply is no blinding.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tests.logger.truth import BAR, DAY, HOUR, Array, Water

Rng = np.random.Generator


def clean(water: Water) -> float:
    """Return the resistance of main and clean strainer. [Pa s²/m⁶]"""
    return water.place.friction / water.place.mean_flow**2


def share(water: Water) -> Array:
    """Return the part of the record that is over."""
    return np.asarray((water.t - water.t[0]) / (water.t[-1] - water.t[0]))


def head(water: Water) -> float:
    """Return what the supply has over the outlet. [Pa]"""
    return water.place.supply - water.place.lockup


def at_peaks(rng: Rng, water: Water) -> Array:
    """Return 1 at the hours of the peaks, begun a little early or late each day."""
    day = ((water.t - water.t[0]) // DAY).astype(int)
    early = rng.normal(0.0, 0.2, (int(day.max()) + 1, 2))
    hour = (water.t % DAY) / HOUR
    morning = (hour > 6.2 + early[day, 0]) & (hour < 9.0)
    return np.asarray(morning | ((hour > 17.5 + early[day, 1]) & (hour < 21.0)), dtype=float)


def by_flow(water: Water) -> Array:
    """Return 1 while a second pump runs: on above 1.3 of the mean flow, off below the mean."""
    out, runs = np.zeros(water.t.size), 0.0
    for place, flow in enumerate((water.flow / water.place.mean_flow).tolist()):
        runs = 1.0 if flow > 1.3 else 0.0 if flow < 1.0 else runs
        out[place] = runs
    return out


def steady(rng: Rng, water: Water) -> None:
    """Leave it as it is: pumps by hour."""


def peaks_no_more(rng: Rng, water: Water) -> None:
    """A pump of the peaks is taken out of service amid the record."""
    water.inlet += _some(rng, water) * at_peaks(rng, water) * (share(water) < rng.uniform(0.3, 0.7))


def peaks_sag(rng: Rng, water: Water) -> None:
    """From some day on the supply sags at the hours of the peaks."""
    water.inlet -= _some(rng, water) * at_peaks(rng, water) * (share(water) > rng.uniform(0.3, 0.7))


def pump_wears(rng: Rng, water: Water) -> None:
    """A pump that runs by flow gives less and less."""
    water.inlet += _some(rng, water) * by_flow(water) * (1.0 - share(water))


def season(rng: Rng, water: Water) -> None:
    """The supply stands higher in one half of the year."""
    water.inlet += _some(rng, water) * np.sin(2.0 * np.pi * (share(water) - rng.uniform(0.0, 1.0)))


def hours_moved(rng: Rng, water: Water) -> None:
    """The pumps of the peaks run at other hours from some day on."""
    late = at_peaks(rng, water)
    moved = np.roll(late, round(float(rng.uniform(1.0, 4.0)) * HOUR / water.step))
    water.inlet += _some(rng, water) * np.where(share(water) < rng.uniform(0.3, 0.7), late, moved)


def demand_grows(rng: Rng, water: Water) -> None:
    """The zone draws a third more at the end, and the main costs what it does then."""
    more = 1.0 + float(rng.uniform(0.1, 0.4)) * share(water)
    water.inlet -= clean(water) * water.flow**2 * (more**2 - 1.0)
    water.flow *= more


SUPPLIES: dict[str, Callable[[Rng, Water], None]] = {
    made.__name__.replace("_", " "): made
    for made in (steady, peaks_no_more, peaks_sag, pump_wears, season, hours_moved, demand_grows)
}
"""What a supply does that is no blinding, by name."""


def moved(rng: Rng, water: Water, times: float) -> None:
    """A main is opened or shut on some day: the resistance steps."""
    after = share(water) > rng.uniform(0.3, 0.7)
    water.inlet[after] -= ((times - 1.0) * clean(water) * water.flow**2)[after]


def shared(rng: Rng, water: Water) -> None:
    """Others draw from the line with the hours of the day, ever more."""
    hour = ((water.t % DAY) // HOUR).astype(int)
    usual = np.array([water.flow[hour == h].mean() for h in range(24)])
    pattern = np.interp(water.t % DAY, np.arange(24.0) * HOUR, usual)
    others = float(rng.uniform(0.6, 1.5)) * (1.0 + share(water)) * pattern
    water.inlet -= clean(water) * ((water.flow + others) ** 2 - water.flow**2) / 3.0


def blinds(rng: Rng, water: Water) -> float:
    """The strainer blinds from some day on to the end; return the resistance there over that at first."""
    peak = float(np.quantile(water.flow, 0.95))
    most = 0.5 * head(water) / (clean(water) * peak**2)
    more = min(float(rng.uniform(1.0, 2.5)), max(most, 0.6))
    start = float(rng.uniform(0.3, 0.8))
    growth = np.clip((share(water) - start) / (1.0 - start), 0.0, 1.0)
    water.inlet -= more * clean(water) * growth * water.flow**2
    return 1.0 + more


def _some(rng: Rng, water: Water) -> float:
    return float(rng.uniform(0.3, 0.9)) * BAR
