"""Over random stations with hidden true values the plan's bands hold about 95 % of what the gauges show.

One visit gives many readings, and one day's supply is in most of them: visits count, not readings. A question
falls through where so few of its visits would lie inside by chance once in `CHANCE` if `LEAST_BY_KEY` did.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from scipy.stats import binom

from steadyhead.records.station import Station
from steadyhead.visits.numbers import work_out
from tests.visits.random_stations import CHAINS, random_chain, random_station
from tests.visits.truth import Truth

FULL = 200
HIDDEN = 5  # true stations behind each stated one
LOWEST, HIGHEST = 0.93, 0.97  # of all readings
BELOW, ABOVE = 0.40, 0.07  # times 1/√n: what a small share of the campaign may stray beyond these
LEAST_BY_KEY = 0.92
CHANCE = 1e-7
FLAT = 0.10
MANY = 100

Seen = Mapping[str, Mapping[tuple[int, int], list[bool]]]


def chain(rng: np.random.Generator, number: int) -> dict[str, Any]:
    """Return the data of a random chain, one kind after the other."""
    return random_chain(rng, CHAINS[number % len(CHAINS)])


def one_of_four(rng: np.random.Generator, number: int) -> dict[str, Any]:
    """Return the data of a random station of the four plain layouts."""
    return random_station(rng)


def run(
    seed: int, n: int, make: Callable[[np.random.Generator, int], dict[str, Any]] = one_of_four
) -> dict[str, Any]:
    """Return the share of true readings inside the bands, pooled and by key, and the bands' widths."""
    seen: dict[str, dict[tuple[int, int], list[bool]]] = defaultdict(lambda: defaultdict(list))
    widths: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for number in range(n):
        data = make(np.random.default_rng([seed, number, 1]), number)
        plan = work_out(Station.model_validate(data), "first")
        for hidden in range(HIDDEN):
            shown = Truth(data, plan, np.random.default_rng([seed, number, 2, hidden])).go()
            for key in shown.keys() & plan.bands.keys():
                band = plan.bands[key]
                seen[group(key)][number, hidden].append(band.low <= shown[key] <= band.high)
        for key, band in plan.bands.items():
            if key.split(".")[-1] in ("T0", "T1", "T2", "T2a", "T2b", "T3") and abs(band.nominal) > 1.0:
                widths[group(key)].append((band.high - band.low, 2.0 * FLAT * band.nominal))
    return _coverage(seen, n) | _widths(widths)


def group(key: str) -> str:
    """Return the key without the name of the valve or the number of the flow point."""
    parts = key.split(".")
    if parts[0] == "turns":
        return "turns"
    return f"flow.{parts[2]}" if parts[0] == "flow" else key


def _coverage(seen: Seen, n: int) -> dict[str, Any]:
    by_station: dict[int, list[bool]] = defaultdict(list)
    for visits in seen.values():
        for (number, _), found in visits.items():
            by_station[number] += found
    every = [one for found in by_station.values() for one in found]
    share = float(np.mean(every))
    by_key = {key: float(np.mean(np.concatenate(list(seen[key].values())))) for key in sorted(seen)}
    low, high = (BELOW / n**0.5, ABOVE / n**0.5) if n < MANY else (0.0, 0.0)
    fallen = [key for key in by_key if by_key[key] < fewest(len(seen[key]))]
    return {
        "held": bool(LOWEST - low <= share <= HIGHEST + high and not fallen),
        "readings": len(every),
        "inside": share,
        "spread of that share from station to station": float(
            np.std([np.mean(f) for f in by_station.values()])
        ),
        "lowest of any key": min(by_key.values()),
        "keys below 90 %": ", ".join(key for key in by_key if by_key[key] < 0.90) or "none",
        "keys that fell through": ", ".join(fallen) or "none",
        "inside by key": by_key,
        "visits by key": {key: len(seen[key]) for key in by_key},
    }


def fewest(visits: int) -> float:
    """Return the least share of so many visits that chance alone leaves inside."""
    return float(binom.ppf(CHANCE, visits, LEAST_BY_KEY)) / visits


def _widths(widths: Mapping[str, list[tuple[float, float]]]) -> dict[str, Any]:
    own, flat = np.array([pair for group in widths.values() for pair in group]).T
    outlet = [pair for key, group in widths.items() if key.endswith("T3") for pair in group]
    return {
        "mean width of the bands, bar": float(own.mean() / 1e5),
        "mean width of a flat ±10 % band, bar": float(flat.mean() / 1e5),
        "mean width at T3, bar": float(np.mean([pair[0] for pair in outlet]) / 1e5),
        "mean width of a flat ±10 % band at T3, bar": float(np.mean([pair[1] for pair in outlet]) / 1e5),
        "mean width by key, bar": {
            key: float(np.mean([pair[0] for pair in group]) / 1e5) for key, group in sorted(widths.items())
        },
    }
