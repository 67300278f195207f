"""Invented station files for the campaign of slips: ordinary ones to plant slips in, unusual right ones.

Ranges are those of the trade (handbook 2.1 to 2.5, 9.1 and 10.1). This module was written before the
detector and knows nothing of its expectations; change it for realism, never to please the detector.
Figures are bar, L/s, mm and m until they are written as people write them.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

BAR_PER_PSI = 0.0689475729
FT = 0.3048
LS_PER_GPM = 0.0630902
HEAD = 0.0981  # bar per m

SIZES = (15, 20, 25, 32, 40, 50, 65, 80, 100, 125, 150, 200, 250, 300, 400, 500, 600, 800, 1000, 1200, 1400, 1600)
INCHES = {25: "1", 32: "1 1/4", 40: "1 1/2", 50: "2", 65: "2 1/2", 80: "3", 100: "4", 125: "5", 150: "6", 200: "8",
          250: "10", 300: "12", 400: "16", 500: "20", 600: "24", 800: "32", 1000: "40", 1200: "48", 1400: "56", 1600: "64", 15: "1/2", 20: "3/4"}  # fmt: skip
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


def ordinary(rng: random.Random, style: Style | None = None) -> tuple[dict[str, Any], Style]:
    """Return an ordinary station as plain data, with the style it is written in."""
    chosen = style or rng.choice([*METRIC, *METRIC, US, US, US])
    draft = rng.choice((_utility, _utility, _utility, _plant_room, _irrigation, _industrial))(rng)
    return written(draft, chosen, rng), chosen


# ── ordinary stations ────────────────────────────────────────────────────────────────────────────


def _pressures(rng: random.Random, duty: float, ratio: float) -> dict[str, float]:
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


def _sizes(rng: random.Random, peak: float) -> tuple[int, int]:
    """Valve for 1 to 4.8 m/s at peak, mostly 1.6 to 3.3; pipe for 0.8 to 2.2 m/s (handbook 2.3)."""
    speed = min(4.8, max(1.0, 2.3 * 2.718 ** rng.gauss(0.0, 0.35)))
    valve = _nearest(peak, speed)
    return valve, max(valve, _nearest(peak, rng.uniform(0.8, 2.2)))


def _able(draft: Draft) -> None:
    """Enlarge the valve, and the pipe with it, until it passes the peak at the lowest inlet (handbook 2.3)."""
    inlet = draft.minimum
    if draft.layout == "two":
        inlet = (draft.minimum * draft.duty) ** 0.5
    needed = draft.peak * 3.6 / max(0.3, inlet - draft.duty) ** 0.5
    while 150 * (draft.valve / 100) ** 2 * 0.85 < needed and draft.valve < SIZES[-1]:
        draft.valve = SIZES[SIZES.index(draft.valve) + 1]
    draft.pipe = max(draft.pipe, draft.valve)


def _nearest(peak: float, speed: float) -> int:
    bore = (4 * peak / 1000 / (3.1416 * speed)) ** 0.5 * 1000
    return min(SIZES, key=lambda size: abs(size - bore))


def _main(draft: Draft) -> int:
    """Return a bore of supply main that does not eat more than the fall from night to peak, by friction."""
    room = max(0.3, draft.night_in - draft.minimum) * 1e5
    for size in SIZES[SIZES.index(draft.pipe) :]:
        speed = draft.peak / 1000 / (3.1416 / 4 * (size / 1000) ** 2)
        if 0.02 * draft.main_m / (size / 1000) * 500 * speed**2 <= room:
            return size
    return SIZES[-1]


def _utility(rng: random.Random) -> Draft:
    duty = rng.uniform(2.5, 6.0)
    average = 10 ** rng.uniform(0.2, 1.6)
    peak = average * rng.uniform(1.8, 3.2)
    valve, pipe = _sizes(rng, peak)
    need = rng.uniform(1.2, 2.2)
    datum = rng.choice((rng.uniform(2, 90), rng.uniform(60, 400), rng.uniform(300, 900)))
    drop = rng.uniform(4, 40)
    rise = max(-3.0, (duty - need - rng.uniform(0.5, 1.2)) / HEAD * rng.uniform(0.5, 1.0))
    draft = Draft(
        kind="utility chamber",
        datum=datum,
        **_pressures(rng, duty, rng.uniform(1.4, 3.2)),
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
    return _limits(rng, draft)


def _plant_room(rng: random.Random) -> Draft:
    duty = rng.uniform(2.8, 5.5)
    average = 10 ** rng.uniform(-0.8, 0.3)
    peak = average * rng.uniform(3, 9)
    valve, pipe = _sizes(rng, peak)
    datum = rng.choice((0.0, 0.0, rng.uniform(5, 200)))
    need = rng.uniform(1.0, 1.5)
    draft = Draft(
        kind="building plant room",
        datum=datum,
        **_pressures(rng, duty, rng.uniform(1.3, 2.8)),
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
    return _limits(rng, draft)


def _irrigation(rng: random.Random) -> Draft:
    duty = rng.uniform(3.0, 6.0)
    average = 10 ** rng.uniform(1.0, 2.0)
    peak = average * rng.uniform(1.6, 3.0)
    valve, pipe = _sizes(rng, peak)
    datum = rng.uniform(50, 1200)
    need = rng.uniform(1.5, 3.0)
    draft = Draft(
        kind="irrigation",
        datum=datum,
        **_pressures(rng, duty, rng.uniform(1.6, 3.4)),
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
    return _limits(rng, draft)


def _industrial(rng: random.Random) -> Draft:
    duty = rng.uniform(3.0, 7.0)
    average = 10 ** rng.uniform(0.2, 1.5)
    peak = average * rng.uniform(1.3, 3.0)
    valve, pipe = _sizes(rng, peak)
    datum = rng.uniform(2, 300)
    draft = Draft(
        kind="industrial",
        datum=datum,
        **_pressures(rng, duty, rng.uniform(1.3, 2.6)),
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
    return _limits(rng, draft)


def _limits(rng: random.Random, draft: Draft, most: int = 4) -> Draft:
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


# ── unusual, and right ───────────────────────────────────────────────────────────────────────────


def high_rise(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """A booster of 18 to 25 bar at the foot of a tower; zones up to 200 m above."""
    zone_floor = rng.uniform(30, 150)
    zone_top = zone_floor + rng.uniform(20, 45)
    need = rng.uniform(1.0, 1.5)
    duty = zone_top * HEAD + need + rng.uniform(0.4, 0.8)
    static = max(duty + rng.uniform(1.0, 4.0), rng.uniform(18, 25))
    draft = Draft("building plant room", rng.choice((0.0, rng.uniform(0, 60))), static, static * 0.99, static * 0.97,
                  static * rng.uniform(0.88, 0.95), duty, 0.0, rng.uniform(0.2, 1.2), rng.uniform(1.5, 4.0), 50, 65,
                  0, 0, need, rng.uniform(0.3, 2.0), "steel", layout=rng.choice(("up", "alone", "down")), main_m=20.0,
                  zero=True, fire=rng.choice((None, 20.0)))  # fmt: skip
    draft.lowest, draft.highest = draft.datum + zone_floor, draft.datum + zone_top
    draft.minimum = max(draft.minimum, duty + 0.5)
    draft.typical = max(draft.typical, draft.minimum)
    return _done(rng, draft, rng.choice((Style(), US)))


def gravity(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """A spring or tank a few metres above: 1.5 to 3 bar in, 0.8 to 1.5 bar out."""
    static = rng.uniform(1.5, 3.2)
    duty = static * rng.uniform(0.45, 0.75)
    average = 10 ** rng.uniform(-0.5, 0.9)
    draft = Draft("utility chamber", rng.uniform(10, 1800), static, static * 0.99, static * 0.95,
                  static * rng.uniform(0.82, 0.94), duty, average * 0.2, average, average * 2.5, 0, 0, 0, 0,
                  rng.uniform(0.3, 0.6), rng.uniform(3, 40), rng.choice(("PE100", "PVC-U", "grey iron")),
                  layout=rng.choice(("alone", "up")), rise=0.08, main_m=rng.uniform(200, 6000))  # fmt: skip
    draft.valve, draft.pipe = _sizes(rng, draft.peak)
    draft.lowest, draft.highest = draft.datum - rng.uniform(2, 15), draft.datum + duty * rng.uniform(0.5, 3)
    return _done(rng, draft, Style(sparse=0.4))


def mine(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """A column in a shaft: 60 to 100 bar in, levels far below the sea or the bank."""
    static = rng.uniform(60, 100)
    duty = rng.uniform(8, 30)
    average = rng.uniform(4, 30)
    draft = Draft("industrial", rng.uniform(-1100, -400), static, static * 0.99, static * 0.97,
                  static * rng.uniform(0.86, 0.94), duty, average * 0.5, average, average * 2, 0, 0, 0, 0,
                  rng.uniform(4, 7), rng.uniform(0.3, 3), "steel", layout=rng.choice(("two", "up", "alone")),
                  rise=rng.uniform(0.3, 0.8), main_m=rng.uniform(600, 2000))  # fmt: skip
    draft.valve, draft.pipe = _sizes(rng, draft.peak)
    draft.lowest = draft.datum - rng.uniform(0, 120)
    draft.highest = draft.datum + min(60.0, (duty - draft.need - 0.5) / HEAD * rng.uniform(0, 0.6))
    return _done(rng, draft, rng.choice((Style(), Style("MPa"), Style("kPa"), Style(flow="m³/h"))))


def big_irrigation(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """A main canal head: hundreds to thousands of litres a second."""
    average = rng.uniform(150, 900)
    duty = rng.uniform(2.5, 6)
    draft = Draft("irrigation", rng.uniform(5, 1500), *_four(rng, duty * rng.uniform(1.3, 2.2) + 0.6), duty, average * 0.05,
                  average, average * rng.uniform(1.5, 2.5), 0, 0, 0, 0, rng.uniform(1.5, 2), rng.uniform(1, 8),
                  rng.choice(("GRP", "steel")), layout=rng.choice(("alone", "two")), main_m=rng.uniform(500, 12000),
                  zero=True)  # fmt: skip
    draft.valve, draft.pipe = _sizes(rng, draft.peak)
    draft.lowest, draft.highest = draft.datum - rng.uniform(5, 40), draft.datum + rng.uniform(-5, 6)
    return _done(rng, draft, rng.choice((Style(), Style(flow="m³/h"), US, Style(flow="Ml/d"))))


def tiny(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """One flat, a drinking fountain, a laboratory: hundredths of a litre a second."""
    average = 10 ** rng.uniform(-2.5, -1)
    duty = rng.uniform(1.5, 4)
    draft = Draft("building plant room", rng.choice((0.0, rng.uniform(-12, 80))), *_four(rng, duty * rng.uniform(1.2, 2.5) + 0.6),
                  duty, 0.0, average, rng.uniform(0.15, 0.6), rng.choice((15, 20, 25)), 25, 0, 0, rng.uniform(0.5, 1.0),
                  rng.uniform(0.05, 3), "copper", layout=rng.choice(("alone", "up")), rise=rng.uniform(0.1, 0.5), main_m=8.0,
                  zero=True)  # fmt: skip
    draft.lowest, draft.highest = (
        draft.datum,
        draft.datum + (duty - draft.need - 0.3) / HEAD * rng.uniform(0.1, 0.9),
    )
    return _done(rng, draft, rng.choice((Style(), Style(flow="L/min"), US)))


def below_the_sea(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """A polder or a deep valley: all levels negative."""
    data, style = ordinary(rng, rng.choice((Style(), Style(flow="m³/h"))))
    shift = _number(data["station"]["datum"]) + rng.choice((rng.uniform(1, 6), rng.uniform(200, 420)))
    for holder, key in _levels(data):
        holder[key] = f"{_number(holder[key]) - shift:.1f} m"
    return data, style


def us_file(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """An ordinary station in US units."""
    return ordinary(rng, US)


def mixed_units(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """Pressures and flows in the odder units of the trade."""
    return ordinary(
        rng,
        Style(
            rng.choice(("kPa", "m head", "MPa", "psi", "bar")),
            rng.choice(("m³/h", "m³/d", "L/min", "Ml/d", "L/s")),
            "m",
        ),
    )


def oversized(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """Demand has fallen to a third since it was built; the duty flow may still be the old one."""
    data, style = ordinary(rng)
    _scale_flows(data, rng.uniform(0.25, 0.5), duty_too=rng.random() < 0.5)
    return data, style


def hard_worked(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """Demand has grown by half since it was built."""
    data, style = ordinary(rng)
    _scale_flows(data, rng.uniform(1.2, 1.5), duty_too=rng.random() < 0.5)
    return data, style


def leaky(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """Old iron, most of the night flow leaks."""
    draft = _utility(rng)
    draft.night = draft.average * rng.uniform(0.6, 0.9)
    draft.peak = draft.average * rng.uniform(1.2, 1.6)
    draft.valve, draft.pipe = _sizes(rng, draft.peak)
    return written(draft, rng.choice(METRIC), rng), METRIC[0]


def fire_main(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """Nothing flows for years, then everything at once."""
    draft = _plant_room(rng)
    draft.kind = "fire main"
    draft.night, draft.average, draft.peak = 0.0, rng.uniform(0.01, 0.1), rng.uniform(0.5, 2)
    draft.fire = rng.uniform(20, 60)
    draft.valve, draft.pipe = 100, rng.choice((100, 150))
    style = rng.choice((Style(), US))
    return written(draft, style, rng), style


def wide_steps(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """A coarse old station: trip two bar and more above the duty, lock-up rise near one bar."""
    draft = rng.choice((_utility, _industrial))(rng)
    draft.rise = rng.uniform(0.3, 0.9)
    draft.trip = draft.duty + draft.rise + rng.uniform(1.0, 2.5)
    draft.limits = [(n, max(a, 16), max(b, 16), z) for n, a, b, z in draft.limits]
    return written(draft, METRIC[0], rng), METRIC[0]


def narrow_supply(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """The supply stands only a little above the duty, or swings by half between day and night."""
    draft = _utility(rng)
    draft.minimum = draft.duty + rng.uniform(0.4, 0.7)
    draft.typical = draft.minimum + rng.uniform(0.1, 2.0)
    draft.night_in = draft.typical + rng.uniform(0.05, 2.0)
    draft.static = draft.night_in + rng.uniform(0.05, 3.0)
    style = rng.choice(METRIC)
    return written(draft, style, rng), style


def absolute_logger(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """Inlet pressures read by absolute loggers and labelled so; the static one is often worked out as gauge."""
    data, style = ordinary(rng, METRIC[0])
    for key in ("min", "typical", "night", *(["static"] if rng.random() < 0.5 else [])):
        if key in data["supply"]:
            level = _number(data["station"]["datum"])
            data["supply"][key] = f"{_number(data['supply'][key]) + atmosphere_bar(level):.2f} bar a"
    return data, style


def strong_pipes(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """Everything rated PN 16 to 40 behind a low duty."""
    draft = rng.choice((_utility, _industrial))(rng)
    rating = rng.choice((16, 25, 40))
    draft.limits = [(n, rating, rating * rng.choice((1, 1, 1.2)), z) for n, _, _, z in draft.limits]
    draft.material = rng.choice(("ductile iron", "steel"))
    style = rng.choice((*METRIC, US))
    return written(draft, style, rng), style


def hillside(rng: random.Random) -> tuple[dict[str, Any], Style]:
    """A zone that runs 80 to 140 m down the hill under strong pipes."""
    draft = _utility(rng)
    draft.lowest = draft.datum - rng.uniform(80, 140)
    draft.highest = draft.datum + rng.uniform(-20, 5)
    draft.limits = []
    style = rng.choice((METRIC[0], US))
    return written(_limits(rng, draft), style, rng), style


def atmosphere_bar(level_m: float) -> float:
    """Return the pressure of the air at a level, near enough for a reading. [bar]"""
    return 1.013 * (1.0 - 2.26e-5 * level_m) ** 5.26


UNUSUAL: tuple[Callable[[random.Random], tuple[dict[str, Any], Style]], ...] = (
    high_rise, gravity, mine, big_irrigation, tiny, below_the_sea, us_file, mixed_units, oversized, hard_worked, leaky,
    fire_main, wide_steps, narrow_supply, absolute_logger, strong_pipes, hillside,
)  # fmt: skip


NAMED = (high_rise, gravity, mine, big_irrigation, tiny, below_the_sea, us_file)
"""The kinds the task names; they come twice as often as those added to be hard."""


def unusual(rng: random.Random) -> tuple[str, dict[str, Any]]:
    """Return an unusual but right station, with the name of its kind."""
    make = rng.choice([*UNUSUAL, *NAMED])
    return make.__name__, make(rng)[0]


def _four(rng: random.Random, static: float) -> tuple[float, float, float, float]:
    night = static * rng.uniform(0.95, 0.99)
    typical = night * rng.uniform(0.9, 0.98)
    return static, night, typical, typical * rng.uniform(0.85, 0.95)


def _above_duty(draft: Draft) -> None:
    """Lift inlet pressures to what the valve needs over its duty (handbook 2.3: 0.5 bar)."""
    draft.minimum = max(draft.minimum, draft.duty + 0.5)
    draft.typical = max(draft.typical, draft.minimum)
    draft.night_in = max(draft.night_in, draft.typical)
    draft.static = max(draft.static, draft.night_in)


def _done(rng: random.Random, draft: Draft, style: Style) -> tuple[dict[str, Any], Style]:
    if draft.static > 4:
        _above_duty(draft)
    return written(_limits(rng, draft), style, rng), style


def _scale_flows(data: dict[str, Any], share: float, *, duty_too: bool) -> None:
    flows = [(data["demand"], key) for key in ("night", "average", "peak")]
    if duty_too:
        flows += [(part["duty"], "flow") for part in data["line"] if part["part"] == "reducer"]
    for holder, key in flows:
        number, _, unit = holder[key].partition(" ")
        holder[key] = f"{_plain(f'{float(number) * share:.2g}')} {unit}"


def _number(text: str) -> float:
    return float(text.split(" ")[0])


def _levels(data: dict[str, Any]) -> list[tuple[dict[str, Any], str]]:
    found = [(data["station"], "datum")]
    found += [(data["zone"], key) for key in ("level", "lowest", "highest") if key in data["zone"]]
    found += [(need, "level") for need in data.get("needs", [])]
    return found + [(limit, "level") for limit in data.get("limits", [])]


# ── written as people write ──────────────────────────────────────────────────────────────────────


def written(draft: Draft, style: Style, rng: random.Random) -> dict[str, Any]:
    """Return the plain data of a station file, rounded and shortened as people do."""
    _able(draft)

    def p(value: float) -> str:
        return pressure_text(value, style.pressure, rng)

    def q(value: float) -> str:
        return flow_text(value, style.flow)

    def z(value: float) -> str:
        if style.length == "ft":
            return f"{value / FT:.0f} ft"
        return f"{value:.{rng.choice((0, 1))}f} m"

    def keep() -> bool:
        return rng.random() > style.sparse

    zone: dict[str, Any] = {
        "material": draft.material,
        "lowest": z(draft.lowest),
        "highest": z(draft.highest),
    }
    if keep():
        zone["level"] = z(draft.lowest + (draft.highest - draft.lowest) * rng.uniform(0.3, 0.7))
    volume = draft.average * draft.residence_h * 3.6
    if keep():
        zone["volume"] = f"{volume / 0.003785:.2g} gal" if style.inches else f"{volume:.2g} m³"
        zone["volume"] = _plain(zone["volume"])
    supply: dict[str, Any] = {"min": p(draft.minimum), "typical": p(draft.typical), "static": p(draft.static)}
    if keep():
        supply["night"] = p(draft.night_in)
    if keep():
        length = f"{draft.main_m / FT:.0f} ft" if style.length == "ft" else f"{draft.main_m:.0f} m"
        main = _main(draft)
        bore = f"{main / 25.4:.1f} in" if style.inches else f"{main * rng.uniform(0.96, 1.04):.0f} mm"
        supply["main"] = {
            "length": length,
            "bore": bore,
            "material": "ductile iron" if main >= 80 else "copper",
        }
    demand: dict[str, Any] = {"night": q(draft.night), "average": q(draft.average), "peak": q(draft.peak)}
    if draft.fire:
        demand["fire"] = q(draft.fire)
    demand["zero_possible"] = "yes" if draft.zero else "no"
    data: dict[str, Any] = {
        "format": "steadyhead/station/1",
        "station": {"id": "INV-1", "name": "Invented", "kind": draft.kind, "datum": z(draft.datum)},
        "water": {"temperature": "52 °F" if style.inches else "11 °C"},
        "supply": supply,
        "demand": demand,
        "zone": zone,
        "limits": [_limit(limit, p, z, keep) for limit in draft.limits],
        "line": _line(draft, style, p, q, rng, keep),
    }
    if keep():
        need = {"at": "highest point", "pressure": p(draft.need), "level": z(draft.highest)}
        if keep():
            need["friction"] = p(rng.uniform(0.05, 0.3) * min(1.0, draft.duty / 3))
        data["needs"] = [need]
    if draft.layout == "two":
        between = next(r for r in RATINGS if r >= draft.static * 1.05)
        data["limits"].append({"component": "section between", "normal": p(between), "fault": p(between),
                               "level": z(draft.datum), "side": "between"})  # fmt: skip
    if keep():
        top = draft.trip if draft.layout in ("up", "down") else draft.duty + draft.rise + max(0.9, 0.2 * draft.duty)
        low = draft.duty + draft.rise
        data["alarm"] = {"pressure": p(low + (top - low) * rng.uniform(0.35, 0.65))}
        if keep():
            data["alarm"]["delay"] = "60 s"
    if keep():
        aim = max(draft.trip, draft.duty) * 1.3
        data["gauges"] = [{"id": "TG-1", "span": p(next(s for s in SPANS if s >= aim)), "accuracy": "0.6 %",
                           "for_setting": "yes"}]  # fmt: skip
        if keep():
            data["gauges"].append({"id": "TG-2", "span": p(next(s for s in SPANS if s >= draft.static * 1.2)),
                                   "accuracy": "1 %"})  # fmt: skip
    return data


def _limit(
    limit: tuple[str, float, float, float], p: Any, z: Any, keep: Callable[[], bool]
) -> dict[str, Any]:
    name, normal, fault, level = limit
    found = {"component": name, "fault": p(fault), "level": z(level), "source": "pipe class"}
    if keep():
        found["normal"] = p(normal)
    return found


def _line(
    draft: Draft, style: Style, p: Any, q: Any, rng: random.Random, keep: Callable[[], bool]
) -> list[dict[str, Any]]:
    def size(mm: int) -> str:
        return f"{INCHES[mm]} in" if style.inches else f"DN {mm}"

    def springs(value: float) -> dict[str, str]:
        fits = [s for s in SPRINGS if s[0] <= value * 0.8 and s[1] >= value * 1.25]
        low, high = rng.choice(fits) if fits else (value * 0.4, value * 2)
        return {"spring_low": p(low), "spring_high": p(high), "raises": "clockwise"}

    def reducer(name: str, duty: float, senses: str) -> dict[str, Any]:
        part: dict[str, Any] = {
            "part": "reducer", "id": name, "size": size(draft.valve), "senses": senses, "pilot": springs(duty),
            "duty": {"pressure": p(duty), "flow": q(max(draft.night, draft.average) * rng.uniform(0.5, 1.1))},
        }  # fmt: skip
        if keep():
            part["lockup"] = p(duty + draft.rise)
        if rng.random() < 0.3:
            part["factory"] = {"pressure": p(duty), "date": "2026-03-01", "sealed": "yes"}
        return part

    def shut_off(senses: str) -> dict[str, Any]:
        part: dict[str, Any] = {
            "part": "shut_off", "id": "SO", "size": size(draft.pipe), "trip": p(draft.trip), "senses": senses,
            "pilot": springs(draft.trip),
        }  # fmt: skip
        if keep():
            part["dead_band"] = p(draft.trip * rng.uniform(0.08, 0.14))
        if keep():
            part["closing"] = {"time": "6 s", "flow": q(max(0.05, draft.peak * 0.02))}
        if rng.random() < 0.3:
            part["factory"] = {"pressure": p(draft.trip), "date": "2026-03-01", "sealed": "yes"}
        return part

    tap = [{"part": "tap", "id": name} for name in ("T0", "T1", "T2", "T3", "T4")]
    iv1, iv2 = ({"part": "isolating_valve", "id": name, "size": size(draft.pipe)} for name in ("IV1", "IV2"))
    middle = {
        "alone": [reducer("RV", draft.duty, "T3")],
        "up": [shut_off("T3"), tap[2], reducer("RV", draft.duty, "T3")],
        "down": [reducer("RV", draft.duty, "T2"), tap[2], shut_off("T3")],
        "two": [reducer("RV1", draft.between_duty, "T2"), tap[2], reducer("RV2", draft.duty, "T3")],
    }[draft.layout]
    drain = {"part": "drain", "id": "TD", "size": size(max(25, SIZES[max(0, SIZES.index(draft.valve) - 1)]))}
    return [tap[0], iv1, tap[1], *middle, tap[3], drain, iv2, tap[4]]


def pressure_text(bar: float, unit: str, rng: random.Random) -> str:
    """Return a pressure as people write it in this unit."""
    if unit == "psi":
        psi = bar / BAR_PER_PSI
        return f"{psi:.0f} psi" if psi >= 12 else f"{psi:.1f} psi"
    if unit == "kPa":
        return f"{_plain(f'{bar * 100:.3g}')} kPa"
    if unit == "MPa":
        return f"{bar / 10:.3g} MPa"
    if unit == "m head":
        return f"{_plain(f'{bar * 10.197:.3g}')} m head"
    if bar < 1:
        return f"{bar:.2f} bar"
    if bar >= 20:
        return f"{bar:.0f} bar"
    return f"{bar:.{rng.choice((1, 1, 2))}f} bar"


def flow_text(litres: float, unit: str) -> str:
    """Return a flow as people write it in this unit, two or three figures."""
    factor = {"L/s": 1.0, "m³/h": 3.6, "gpm": 1 / LS_PER_GPM, "L/min": 60.0, "m³/d": 86.4, "Ml/d": 0.0864}[
        unit
    ]
    value = litres * factor
    figures = 2 if value < 10 or value >= 100 else 3
    return f"{_plain(f'{value:.{figures}g}')} {unit}"


def _plain(text: str) -> str:
    """Write 1.2e+03 as 1200."""
    head, _, tail = text.partition(" ")
    return f"{float(head):.10g}{' ' + tail if tail else ''}"
