"""Ordinary stations in figures, for the campaign of slips: bar, L/s, mm and m, by the ranges of the trade."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from typing import Any

BAR_PER_PSI = 0.0689475729
FT = 0.3048
LS_PER_GPM = 0.0630902
HEAD = 0.0981  # bar per m

SIZES = (
    15,
    20,
    25,
    32,
    40,
    50,
    65,
    80,
    100,
    125,
    150,
    200,
    250,
    300,
    400,
    500,
    600,
    800,
    1000,
    1200,
    1400,
    1600,
)
INCHES = {
    25: "1",
    32: "1 1/4",
    40: "1 1/2",
    50: "2",
    65: "2 1/2",
    80: "3",
    100: "4",
    125: "5",
    150: "6",
    200: "8",
    250: "10",
    300: "12",
    400: "16",
    500: "20",
    600: "24",
    800: "32",
    1000: "40",
    1200: "48",
    1400: "56",
    1600: "64",
    15: "1/2",
    20: "3/4",
}
SPRINGS = (
    (0.2, 2),
    (0.5, 3.5),
    (1, 6),
    (1.5, 7),
    (2, 8),
    (2, 12),
    (3, 9),
    (4, 16),
    (5, 20),
    (8, 30),
    (15, 60),
    (30, 120),
)
SPANS = (2.5, 4, 6, 10, 16, 25, 40, 60, 100, 160, 250)
RATINGS = (6, 7.5, 8, 10, 12.5, 16, 20, 25, 40, 63, 100, 160)


@dataclass
class Draft:
    """One station in figures, before it is written: bar, L/s, m, mm."""

    kind: str
    datum: float
    static: float
    night_in: float
    typical: float
    minimum: float
    duty: float
    night: float
    average: float
    peak: float
    valve: int
    pipe: int
    lowest: float
    highest: float
    need: float
    residence_h: float
    material: str = "PVC-U"
    fire: float | None = None
    layout: str = "up"
    rise: float = 0.2
    trip: float = 0.0
    between_duty: float = 0.0
    limits: list[tuple[str, float, float, float]] = field(default_factory=list)
    main_m: float = 800.0
    zero: bool = False


@dataclass(frozen=True)
class Style:
    """How this person writes: units and care."""

    pressure: str = "bar"
    flow: str = "L/s"
    length: str = "m"
    inches: bool = False
    sparse: float = 0.2


METRIC = (
    Style(sparse=0.1),
    Style(sparse=0.1),
    Style(flow="m³/h", sparse=0.1),
    Style(flow="m³/h", sparse=0.4),
    Style(sparse=0.25),
    Style(sparse=0.0),
)
US = Style("psi", "gpm", "ft", inches=True, sparse=0.1)


def inlet_pressures(rng: random.Random, duty: float, ratio: float) -> dict[str, Any]:
    static = duty * ratio + rng.uniform(0.3, 1.2)
    night = static * rng.uniform(0.92, 0.99)
    typical = night * rng.uniform(0.85, 0.98)
    minimum = max(duty + 0.5, typical * rng.uniform(0.68, 0.95))
    return {
        "static": static,
        "night_in": night,
        "typical": max(typical, minimum),
        "minimum": minimum,
        "duty": duty,
    }


def sizes_for(rng: random.Random, peak: float) -> tuple[int, int]:
    """Valve for 1 to 4.8 m/s at peak, mostly 1.6 to 3.3; pipe for 0.8 to 2.2 m/s (handbook 2.3)."""
    speed = min(4.8, max(1.0, 2.3 * 2.718 ** rng.gauss(0.0, 0.35)))
    valve = nearest_size(peak, speed)
    return valve, max(valve, nearest_size(peak, rng.uniform(0.8, 2.2)))


def nearest_size(peak: float, speed: float) -> int:
    bore = (4 * peak / 1000 / (3.1416 * speed)) ** 0.5 * 1000
    return min(SIZES, key=lambda size: abs(size - bore))


def atmosphere_bar(level_m: float) -> float:
    """Return the pressure of the air at a level, near enough for a reading. [bar]"""
    return float(1.013 * (1.0 - 2.26e-5 * level_m) ** 5.26)


def utility(rng: random.Random) -> Draft:
    duty = rng.uniform(2.5, 6.0)
    average = 10 ** rng.uniform(0.2, 1.6)
    peak = average * rng.uniform(1.8, 3.2)
    valve, pipe = sizes_for(rng, peak)
    need = rng.uniform(1.2, 2.2)
    datum = rng.choice((rng.uniform(2, 90), rng.uniform(60, 400), rng.uniform(300, 900)))
    drop = rng.uniform(4, 40)
    rise = max(-3.0, (duty - need - rng.uniform(0.5, 1.2)) / HEAD * rng.uniform(0.5, 1.0))
    draft = Draft(
        kind="utility chamber",
        datum=datum,
        **inlet_pressures(rng, duty, rng.uniform(1.4, 3.2)),
        night=average * rng.uniform(0.08, 0.45),
        average=average,
        peak=peak,
        valve=valve,
        pipe=pipe,
        lowest=datum - drop,
        highest=datum + rise,
        need=need,
        residence_h=10 ** rng.uniform(0.3, 1.4),
        material=rng.choice(("PVC-U", "PE100", "ductile iron", "grey iron", "asbestos cement")),
        fire=peak * rng.uniform(1.2, 2.2) if rng.random() < 0.4 else None,
        layout=rng.choice(("up", "up", "down", "alone", "two")),
        rise=rng.uniform(0.1, 0.35),
        main_m=rng.uniform(80, 4000),
    )
    return with_limits(rng, draft)


def plant_room(rng: random.Random) -> Draft:
    duty = rng.uniform(2.8, 5.5)
    average = 10 ** rng.uniform(-0.8, 0.3)
    peak = average * rng.uniform(3, 9)
    valve, pipe = sizes_for(rng, peak)
    datum = rng.choice((0.0, 0.0, rng.uniform(5, 200)))
    need = rng.uniform(1.0, 1.5)
    draft = Draft(
        kind="building plant room",
        datum=datum,
        **inlet_pressures(rng, duty, rng.uniform(1.3, 2.8)),
        night=rng.choice((0.0, average * 0.05)),
        average=average,
        peak=peak,
        valve=valve,
        pipe=pipe,
        lowest=datum + rng.uniform(-3, 6),
        highest=datum + (duty - need - 0.4) / HEAD * rng.uniform(0.6, 1.0),
        need=need,
        residence_h=10 ** rng.uniform(-0.6, 0.5),
        material=rng.choice(("steel", "copper")),
        layout=rng.choice(("up", "down", "alone")),
        rise=rng.uniform(0.1, 0.3),
        main_m=rng.uniform(5, 60),
        zero=True,
    )
    return with_limits(rng, draft)


def irrigation(rng: random.Random) -> Draft:
    duty = rng.uniform(3.0, 6.0)
    average = 10 ** rng.uniform(1.0, 2.0)
    peak = average * rng.uniform(1.6, 3.0)
    valve, pipe = sizes_for(rng, peak)
    datum = rng.uniform(50, 1200)
    need = rng.uniform(1.5, 3.0)
    draft = Draft(
        kind="irrigation",
        datum=datum,
        **inlet_pressures(rng, duty, rng.uniform(1.6, 3.4)),
        night=average * rng.uniform(0.02, 0.2),
        average=average,
        peak=peak,
        valve=valve,
        pipe=pipe,
        lowest=datum - rng.uniform(2, 30),
        highest=datum + max(0.0, (duty - need - 0.8) / HEAD * rng.uniform(0.2, 0.9)),
        need=need,
        residence_h=10 ** rng.uniform(0.2, 1.0),
        layout=rng.choice(("two", "up", "alone")),
        rise=rng.uniform(0.1, 0.3),
        main_m=rng.uniform(200, 5000),
        zero=True,
    )
    return with_limits(rng, draft)


def industrial(rng: random.Random) -> Draft:
    duty = rng.uniform(3.0, 7.0)
    average = 10 ** rng.uniform(0.2, 1.5)
    peak = average * rng.uniform(1.3, 3.0)
    valve, pipe = sizes_for(rng, peak)
    datum = rng.uniform(2, 300)
    draft = Draft(
        kind="industrial",
        datum=datum,
        **inlet_pressures(rng, duty, rng.uniform(1.3, 2.6)),
        night=average * rng.uniform(0.05, 0.8),
        average=average,
        peak=peak,
        valve=valve,
        pipe=pipe,
        lowest=datum - rng.uniform(0, 6),
        highest=datum + rng.uniform(2, 14),
        need=max(0.8, duty - rng.uniform(1.6, 2.4)),
        residence_h=10 ** rng.uniform(-0.7, 0.6),
        material="steel",
        layout=rng.choice(("alone", "up", "down")),
        rise=rng.uniform(0.1, 0.3),
        main_m=rng.uniform(30, 900),
        zero=rng.random() < 0.5,
    )
    return with_limits(rng, draft)


def with_limits(rng: random.Random, draft: Draft, most: int = 4) -> Draft:
    """Add trip and component limits that leave room above them."""
    step = max(draft.duty * rng.uniform(0.15, 0.3), rng.uniform(0.7, 1.4))
    draft.trip = draft.duty + draft.rise + step
    draft.between_duty = (draft.minimum * draft.duty) ** 0.5
    names = ["distribution main", "service pipes", "old spur", "house fittings", "hydrants", "heat exchanger"]
    rng.shuffle(names)
    for name in names[: rng.randint(1, most)]:
        level = rng.uniform(draft.lowest, draft.lowest + 0.6 * (draft.highest - draft.lowest))
        if rng.random() < 0.4:
            level = draft.lowest
        least = draft.trip + rng.uniform(0.3, 1.2) + (draft.datum - level) * HEAD
        fault = next(rating for rating in RATINGS if rating >= least)
        normal = fault if rng.random() < 0.5 else max(r for r in (*RATINGS, 1, 2, 3, 4, 5) if r <= fault)
        draft.limits.append((name, normal, fault, level))
    return draft
