"""A reducer with air in its chamber between two mains, reckoned step by step from the laws alone.

Written apart from the engine: explicit steps for stem, water and sensing line, characteristics without
friction tables, sections without storage. Slow and plain; an oracle for one thing only.
"""

from __future__ import annotations

from math import log, pi, sqrt

G, DENSITY, ATMOSPHERE = 9.81, 999.7, 101325.0
WEIGHT = DENSITY * G
AREA = pi * 0.15**2 / 4.0
WAVE = 1150.0


def kv(value: float) -> float:
    return value / 3600.0 / sqrt(1e5 * DENSITY / 1000.0)


def root(value: float) -> float:
    return sqrt(abs(value)) * (1.0 if value >= 0.0 else -1.0)


def friction(flow: float) -> float:
    """Return the fall of head over a metre of main, Churchill 1977. [1]"""
    reynolds = max(abs(flow) * 0.15 / (AREA * 1.31e-6), 1.0)
    a = (2.457 * log(1.0 / ((7.0 / reynolds) ** 0.9 + 0.27 * 1e-4 / 0.15))) ** 16
    b = (37530.0 / reynolds) ** 16
    factor = 8.0 * ((8.0 / reynolds) ** 12 + (a + b) ** -1.5) ** (1.0 / 12.0)
    return float(factor * flow * abs(flow) / (2.0 * G * 0.15 * AREA**2))


class Main:
    """One main on a fixed grid."""

    def __init__(self, length: float, step: float, head: float, flow: float) -> None:
        self.reach = WAVE * step
        count = round(length / self.reach)
        fall = friction(flow) * self.reach
        self.head = [head - place * fall for place in range(count + 1)]
        self.flow = [flow] * (count + 1)
        self.b = WAVE / (G * AREA)

    def plus(self, place: int) -> float:
        q = self.flow[place]
        return self.head[place] + self.b * q - friction(q) * self.reach

    def minus(self, place: int) -> float:
        q = self.flow[place]
        return self.head[place] - self.b * q + friction(q) * self.reach

    def inside(self) -> tuple[list[float], list[float]]:
        last = len(self.head) - 1
        plus = [self.plus(place - 1) for place in range(1, last)]
        minus = [self.minus(place + 1) for place in range(1, last)]
        heads = [0.5 * (p + m) for p, m in zip(plus, minus, strict=True)]
        flows = [(p - m) / (2.0 * self.b) for p, m in zip(plus, minus, strict=True)]
        return heads, flows


def swings(
    *, air: float, before: float, after: float, until: float, start: dict[str, float], reaches: int = 100
) -> tuple[list[float], list[float]]:
    """Return (time [s], pressure behind the station [Pa]) for a demand that changes in 1 s from 1 s on.

    Parameters
    ----------
    start
        flow, lift, chamber, middle, outlet of the steady state.
    """
    step = 500.0 / WAVE / reaches
    stroke, diaphragm, dead, exponent = 0.025, 0.01745, 1e-4, 1.2
    feed, pilot, band, lock, lag = kv(0.06), kv(0.12), 0.8e5, 4.5e5, 0.05
    flow = start["flow"]
    up = Main(500.0, step, 9e5 / WEIGHT, flow)
    losses = 1.0 / kv(894.0) ** 2 + 1.0 / kv(300.0) ** 2
    behind = 1.0 / kv(170.0) ** 2 + 1.0 / kv(894.0) ** 2
    down = Main(800.0, step, (start["outlet"] - flow**2 / kv(894.0) ** 2) / WEIGHT, flow)
    stem, sense = start["lift"] * stroke, start["middle"]
    water = dead + diaphragm * (stroke - stem) - air
    constant = (start["chamber"] + ATMOSPHERE) * air**exponent
    times, traced = [], []
    for number in range(round(until / step)):
        now = (number + 1) * step
        k_zone = kv(before + (after - before) * min(max(now - 1.0, 0.0), 1.0))
        heads_up, flows_up = up.inside()
        heads_down, flows_down = down.inside()
        plus, minus = up.plus(len(up.head) - 2), down.minus(1)
        share = stem / stroke
        opening = share * sqrt(2.0 / (1.0 + share * share))
        k = kv(170.0) * max(opening, 1e-5)
        resistance = 1.0 / k**2 + losses + behind
        # plus − B q − (minus + B q) = R q|q|/(ρ g)
        drop = (plus - minus) * WEIGHT
        half = (up.b + down.b) * WEIGHT / 2.0
        flow = drop / (half + sqrt(half * half + resistance * abs(drop)))
        head_in, head_out = plus - up.b * flow, minus + down.b * flow
        inlet = head_in * WEIGHT - losses * flow * abs(flow)
        middle = head_out * WEIGHT + behind * flow * abs(flow)
        sense += step * (middle - sense) / lag
        y = min(max((lock - sense) / band, 0.0), 1.0)
        volume = max(dead + diaphragm * (stroke - stem) - water, 1e-3 * air)
        chamber = constant * volume**-exponent - ATMOSPHERE
        balance = middle + (0.45 - 0.15 * share) * (inlet - middle) - (5e3 + 8e3 * share)
        stem = min(max(stem + step * diaphragm * (balance - chamber) / 2e4, 0.0), stroke)
        water += step * (feed * root(inlet - chamber) - y * pilot * root(chamber - middle))
        plus_end = down.plus(len(down.head) - 2)
        ends = down.b * k_zone**2 * WEIGHT
        out = 0.5 * (-ends + sqrt(ends * ends + 4.0 * k_zone**2 * WEIGHT * max(plus_end, 0.0)))
        first = (9e5 / WEIGHT - up.minus(1)) / up.b
        up.head = [9e5 / WEIGHT, *heads_up, head_in]
        up.flow = [first, *flows_up, flow]
        down.head = [head_out, *heads_down, plus_end - down.b * out]
        down.flow = [flow, *flows_down, out]
        times.append(now)
        traced.append(middle - flow * abs(flow) / kv(170.0) ** 2)
    return times, traced
