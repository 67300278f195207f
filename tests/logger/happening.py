"""True events of a station (design handbook 6.5): they are no defects of its data and must not be called so.

Each function changes the water in place and notes what happened; times and sizes are drawn.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tests.logger.truth import BAR, DAY, HOUR, Array, Happened, Water, outlet_of, travel_of

Rng = np.random.Generator


def _inside(rng: Rng, water: Water, seconds: float) -> tuple[float, float, Array]:
    start = float(rng.uniform(water.t[0] + 0.1 * DAY, max(water.t[-1] - seconds, water.t[0] + 0.2 * DAY)))
    return start, start + seconds, (water.t >= start) & (water.t < start + seconds)


def _again(water: Water, at: Array, swing: Array | float = 0.0) -> None:
    """Work out outlet and travel once more where inlet or flow changed."""
    new = outlet_of(water.place, water.flow, water.inlet, water.step)
    water.outlet[at] = (new + swing)[at]
    water.travel[at] = travel_of(water.place, water.flow, water.inlet, water.outlet)[at]


def _note(water: Water, kind: str, start: float, end: float, size: float, channel: str = "") -> None:
    water.happened.append(Happened(kind, channel, start, end, size))


def surge(rng: Rng, water: Water) -> None:
    """A pressure wave from upstream: high in the inlet, a part of it in the outlet, gone in seconds."""
    length = float(rng.uniform(10.0, 60.0))
    start, _, _ = _inside(rng, water, HOUR)
    first = int(np.searchsorted(water.t, start))
    n = max(1, int(length / water.step))
    high = rng.choice([-1.0, 1.0]) * rng.uniform(0.8, 3.0) * BAR
    decay = np.exp(-np.arange(n) / max(n / 3.0, 1.0)) * np.cos(np.arange(n) * 0.7)
    at = slice(first, first + n)
    water.inlet[at] += high * decay[: water.inlet[at].size]
    water.outlet[at] += rng.uniform(0.1, 0.4) * high * decay[: water.outlet[at].size]
    _note(water, "surge", start, start + length, high, "inlet pressure")


def burst(rng: Rng, water: Water) -> None:
    """A pipe breaks in the zone: flow jumps and stays, inlet and outlet sag, until it is shut off."""
    start, end, at = _inside(rng, water, float(rng.uniform(1.0, 20.0)) * HOUR)
    extra = rng.uniform(0.5, 2.0) * water.place.mean_flow
    before = water.flow.copy()
    water.flow[at] += extra
    water.inlet[at] -= water.place.friction * ((water.flow**2 - before**2) / water.place.mean_flow**2)[at]
    _again(water, at)
    _note(water, "burst", start, end, extra)


def short_draw(rng: Rng, water: Water) -> None:
    """A hydrant runs for some minutes: one or two samples of flow, answered by pressure and travel."""
    start, end, at = _inside(rng, water, float(rng.uniform(3.0, 12.0)) * 60.0)
    before = water.flow.copy()
    extra = rng.uniform(0.8, 2.0) * water.place.mean_flow
    water.flow[at] += extra
    water.inlet[at] -= water.place.friction * ((water.flow**2 - before**2) / water.place.mean_flow**2)[at]
    _again(water, at)
    _note(water, "short draw", start, end, extra)


def supply_loss(rng: Rng, water: Water) -> None:
    """The supply fails: the inlet falls below need, outlet and flow follow, then all return."""
    start, end, at = _inside(rng, water, float(rng.uniform(0.5, 5.0)) * HOUR)
    low = rng.uniform(0.3, 1.5) * BAR
    uneven = 1.0 + 0.05 * np.sin(water.t / 700.0) + 0.02 * np.sin(water.t / 97.0)
    ramp = np.clip(np.minimum(water.t - start, end - water.t) / 600.0, 0.0, 1.0)
    usual = water.outlet.copy()
    water.inlet[at] = ((1.0 - ramp) * water.inlet + ramp * low * uneven)[at]
    share = np.clip((water.inlet - 0.1 * BAR) / usual, 0.0, 1.0)
    water.flow[at] *= (share**0.5)[at]
    _again(water, at)
    water.outlet[at] = np.minimum(water.outlet, water.inlet - 0.05 * BAR)[at]
    _note(water, "supply loss", start, end, low)


def trip(rng: Rng, water: Water) -> None:
    """The reducer runs open, the shut-off closes, the zone drains, hours later somebody restores it."""
    hours = float(rng.uniform(1.0, 5.0))
    start, end, at = _inside(rng, water, hours * HOUR)
    peak = water.place.lockup + rng.uniform(0.8, 1.3) * BAR
    rise = at & (water.t < start + 900.0)
    shut = at & (water.t >= start + 900.0)
    share = np.clip((water.t - start) / 900.0, 0.0, 1.0)
    water.outlet[rise] += (share * (peak - water.outlet))[rise]
    water.travel[rise] += (share * 0.4)[rise]
    rest = rng.uniform(0.2, 1.0) * BAR
    gone = (water.t - start - 900.0) / rng.uniform(120.0, 1200.0)
    water.outlet[shut] = (rest + (peak - rest) * np.exp(-np.clip(gone, 0.0, 60.0)))[shut]
    water.inlet[shut] += (water.place.friction * (water.flow / water.place.mean_flow) ** 2)[shut]
    water.flow[shut], water.travel[shut], water.closed[shut] = 0.0, 1.0, 1.0
    if rng.random() < 0.4:  # reset too early: shut again within a minute or two
        once = shut & (water.t > start + 0.6 * hours * HOUR) & (water.t < start + 0.6 * hours * HOUR + 240.0)
        water.closed[once], water.outlet[once] = 0.0, peak
        water.flow[once] = 3.0 * water.place.mean_flow
    filling = (water.t >= end) & (water.t < end + 1500.0)
    part = np.clip((water.t - end) / 1500.0, 0.0, 1.0)
    water.flow[filling] += (3.0 * water.place.mean_flow * (1.0 - part))[filling]
    water.outlet[filling] = (rest + part * (water.outlet - rest))[filling]
    _note(water, "trip", start, end + 1500.0, peak, "outlet pressure")


def night_creep(rng: Rng, water: Water) -> None:
    """The seat leaks: at the lowest flow the outlet climbs, night after night a little more."""
    start = float(water.t[0] + rng.uniform(0.1, 0.5) * (water.t[-1] - water.t[0]))
    calm = np.clip(1.0 - water.flow / (1.6 * water.place.night_share * water.place.mean_flow), 0.0, 1.0)
    growth = np.clip((water.t - start) / (water.t[-1] - start), 0.0, 1.0)
    size = rng.uniform(0.15, 0.6) * BAR
    water.outlet += size * growth * calm
    rise = size * float(np.max((growth * calm)[-round(DAY / water.step) :]))
    _note(water, "night creep", start, float(water.t[-1]), rise, "outlet pressure")


def hunting(rng: Rng, water: Water) -> None:
    """The reducer swings in a band of flow; sampled slowly it looks like noise."""
    start, end, at = _inside(rng, water, float(rng.uniform(0.3, 0.9)) * float(water.t[-1] - water.t[0]))
    low = rng.uniform(0.3, 0.9) * water.place.mean_flow
    at &= (water.flow > low) & (water.flow < 1.5 * low)
    size = rng.uniform(0.1, 0.4) * BAR
    swing = 0.5 * size * np.sin(2.0 * np.pi * water.t / rng.uniform(6.0, 40.0))
    water.outlet[at] += swing[at]
    water.inlet[at] -= 0.1 * swing[at]
    water.travel[at] = np.clip(water.travel + 0.02 * swing / BAR, 0.0, 1.0)[at]
    _note(water, "hunting", start, end, size, "outlet pressure")


def strainer(rng: Rng, water: Water) -> None:
    """The strainer blinds: the inlet behind it sags at the peaks, each day more."""
    start = float(water.t[0] + rng.uniform(0.1, 0.5) * (water.t[-1] - water.t[0]))
    growth = np.clip((water.t - start) / (water.t[-1] - start), 0.0, 1.0)
    size = rng.uniform(0.2, 0.8) * BAR
    head = np.maximum(water.inlet - water.place.lockup, 0.5 * BAR)
    asked = size * growth**2 * (water.flow / water.place.mean_flow) ** 2
    water.inlet -= head * (1.0 - np.exp(-asked / head))
    _again(water, growth > 0.0)
    ratio = 1.0 + size / water.place.friction
    _note(water, "strainer blinding", start, float(water.t[-1]), ratio, "inlet pressure")


def set_change(rng: Rng, water: Water) -> None:
    """Somebody turns the reducer's screw: the outlet steps and stays."""
    start, _, _ = _inside(rng, water, 1.5 * DAY)
    size = rng.choice([-1.0, 1.0]) * rng.uniform(0.15, 1.05) * BAR
    water.outlet[water.t >= start] += size
    _note(water, "set change", start, float(water.t[-1]), size, "outlet pressure")


def supply_change(rng: Rng, water: Water) -> None:
    """The network upstream is switched: the inlet steps and stays, also by about one atmosphere."""
    start, _, _ = _inside(rng, water, 1.5 * DAY)
    size = rng.choice([-1.0, 1.0]) * rng.uniform(0.3, 1.1) * BAR
    at = water.t >= start
    water.inlet[at] += size
    _again(water, at)
    _note(water, "supply change", start, float(water.t[-1]), size, "inlet pressure")


def demand_change(rng: Rng, water: Water) -> None:
    """A large user comes or goes: the flow steps by a factor and stays."""
    start, _, _ = _inside(rng, water, 2.5 * DAY)
    factor = float(rng.choice([0.5, 0.6, 0.7, 1.5, 1.8, 2.0]))
    at = water.t >= start
    before = water.flow.copy()
    water.flow[at] *= factor
    water.inlet[at] -= water.place.friction * ((water.flow**2 - before**2) / water.place.mean_flow**2)[at]
    _again(water, at)
    _note(water, "demand change", start, float(water.t[-1]), factor, "flow")


def still_nights(rng: Rng, water: Water) -> None:
    """A small zone draws nothing at night: flow exactly zero, outlet at lock-up, for hours."""
    hour = (water.t % DAY) / HOUR
    at = (hour > 1.0) & (hour < 4.5)
    water.flow[at] = 0.0
    _again(water, at)
    _note(water, "still nights", float(water.t[0]), float(water.t[-1]), 0.0, "flow")


def thermal_rise(rng: Rng, water: Water) -> None:
    """The zone is shut off from users by day for some days; its water warms in the sun and cools again."""
    first = float(water.t[0] // DAY * DAY) + DAY * float(rng.integers(2, 4))
    days = int(rng.integers(2, 4))
    size = rng.uniform(0.5, 2.5) * BAR
    for k in range(days):
        start, end = first + (k + 9.0 / 24.0) * DAY, first + (k + 19.0 / 24.0) * DAY
        at = (water.t >= start) & (water.t < end)
        water.inlet[at] += (water.place.friction * (water.flow / water.place.mean_flow) ** 2)[at]
        water.flow[at] = 0.0
        hump = np.sin(np.pi * np.clip((water.t - start) / (end - start), 0.0, 1.0)) ** 2
        _again(water, at, (size if k == 0 else size * rng.uniform(0.8, 0.99)) * hump)
        water.travel[at] = 0.0
    _note(water, "thermal rise", first + 9.0 * HOUR, first + (days - 1) * DAY + 19.0 * HOUR, size)


def backfeed(rng: Rng, water: Water) -> None:
    """Another source feeds the zone: the reducer shuts, no flow, the outlet stands above its lock-up."""
    day = float(water.t[0] // DAY * DAY) + DAY * float(rng.integers(2, 5))
    start = day + float(rng.uniform(7.0, 12.0)) * HOUR
    end = start + float(rng.uniform(2.0, 9.0)) * HOUR
    at = (water.t >= start) & (water.t < end)
    rise = rng.uniform(0.3, 1.2) * BAR
    level = water.place.lockup + rise
    demand = water.flow / water.place.mean_flow
    water.inlet[at] += (water.place.friction * demand**2)[at]
    water.outlet[at] = (level - 0.05 * rise * demand)[at]
    water.flow[at], water.travel[at] = 0.0, 0.0
    _note(water, "backfeed", start, end, rise, "outlet pressure")


def _through_shut_off(water: Water, times: Array) -> None:
    k = water.place.restless * BAR / water.place.mean_flow**2  # any number of the station: 0.02 to 0.10 bar
    loss = k * times * water.flow**2
    water.middle = water.inlet - loss
    new = outlet_of(water.place, water.flow, water.middle, water.step)  # wide open it passes the loss on
    water.outlet += np.minimum(new - outlet_of(water.place, water.flow, water.inlet, water.step), 0.0)


def sound_shut_off(rng: Rng, water: Water) -> None:
    """A gauge between the valves, and nothing the matter with the shut-off."""
    _through_shut_off(water, np.ones(water.t.size))


def shut_off_left_partly_shut(rng: Rng, water: Water) -> None:
    """Somebody has moved the shut-off and left it not fully open."""
    start, _, _ = _inside(rng, water, 3.0 * DAY)
    start = max(start, float(water.t[0]) + 3.0 * DAY)
    factor = float(rng.uniform(3.0, 10.0))
    _through_shut_off(water, np.where(water.t >= start, factor, 1.0))
    _note(water, "shut-off partly shut", start, float(water.t[-1]), factor)


def shut_off_sinks(rng: Rng, water: Water) -> None:
    """The shut-off's disc sinks into the water, day by day."""
    start = float(water.t[0] + rng.uniform(0.0, 0.3) * (water.t[-1] - water.t[0]))
    growth = np.clip((water.t - start) / (water.t[-1] - start), 0.0, 1.0)
    factor = float(rng.uniform(4.0, 10.0))
    _through_shut_off(water, 1.0 + (factor - 1.0) * growth)
    _note(water, "shut-off resistance", start, float(water.t[-1]), factor)


def outlet_raised(rng: Rng, water: Water) -> None:
    """The reducer hangs open: the outlet goes up at once, sags with the flow, and comes back at once."""
    start, end, at = _inside(rng, water, float(rng.uniform(0.5, 8.0)) * HOUR)
    size = rng.uniform(0.3, 1.0) * BAR
    before, usual = water.flow.copy(), water.outlet.copy()
    first = max(float(before[min(int(np.searchsorted(water.t, start)), before.size - 1)]), 1e-9)
    sag = rng.uniform(0.0, 0.3) * np.clip(before / first - 1.0, -1.0, 2.0)
    came = np.clip((water.t - start) / rng.uniform(30.0, 300.0), 0.0, 1.0)
    rise = size * came * np.clip(1.0 - sag, 0.4, 1.3)
    water.flow[at] *= np.sqrt(np.maximum(usual + rise, 0.0) / usual)[at]  # a higher pressure draws more
    water.inlet[at] -= water.place.friction * ((water.flow**2 - before**2) / water.place.mean_flow**2)[at]
    water.outlet[at] = np.minimum(usual + rise, water.inlet - 0.05 * BAR)[at]
    water.travel[at] = travel_of(water.place, water.flow, water.inlet, water.outlet)[at]
    _note(water, "outlet raised", start, end, size, "outlet pressure")


EVENTS: dict[str, Callable[[Rng, Water], None]] = {
    made.__name__.replace("_", " "): made
    for made in (
        surge, burst, short_draw, supply_loss, trip, night_creep, hunting, strainer, set_change,
        supply_change, demand_change, still_nights, thermal_rise, backfeed, sound_shut_off,
        shut_off_left_partly_shut, shut_off_sinks,
    )
}  # fmt: skip
"""All true events by name."""

LATER: dict[str, Callable[[Rng, Water], None]] = {"outlet raised": outlet_raised}
"""Events that came later, by name: whatever is drawn among the others is drawn as before."""
